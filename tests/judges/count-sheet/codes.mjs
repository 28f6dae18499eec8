// Reads the code that is on the screen with a program of its own, where one is installed.
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

// The bytes of the code, or null where nothing here can read one.
export async function readCode(tab) {
  if (spawnSync("zbarimg", ["--version"]).error) return null;
  const folder = mkdtempSync(join(tmpdir(), "code-"));
  const picture = join(folder, "code.png");
  const data = await tab.evaluate(() => document.getElementById("code").toDataURL("image/png").split(",")[1]);
  writeFileSync(picture, Buffer.from(data, "base64"));
  const { stdout } = spawnSync("zbarimg", ["--quiet", "--raw", "--oneshot", "-Sbinary", picture]);
  rmSync(folder, { recursive: true });
  return stdout;
}
