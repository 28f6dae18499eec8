// The bar: sixty counts entered by a finger while the browser is killed twenty times. Nothing that was
// said to be saved may be lost.
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const KILLS = 20, LEAST_PLACES = 60;
const numberAt = (place) => ((place * 7) % 50) + 1;

// Opens the same profile again, and hands over what was acknowledged from now on.
async function start({ executablePath, flags, page }, profile) {
  const port = join(profile, "DevToolsActivePort");
  rmSync(port, { force: true });
  const program = spawn(executablePath, [...flags, "--remote-debugging-port=0", `--user-data-dir=${profile}`, "about:blank"],
    { detached: true, stdio: "ignore" });
  for (let wait = 0; !existsSync(port) || !readFileSync(port, "utf8").includes("\n"); wait += 1) {
    if (wait > 300) throw new Error("the browser did not start");
    await pause(50);
  }
  const browser = await chromium.connectOverCDP(`http://127.0.0.1:${readFileSync(port, "utf8").split("\n")[0]}`);
  const [context] = browser.contexts();
  const tab = await context.newPage();
  await tab.setViewportSize({ width: 360, height: 640 });
  await tab.addInitScript(() => document.addEventListener("DOMContentLoaded", () => {
    new MutationObserver(() => {
      const said = document.getElementById("saved")?.textContent || "";
      if (/saved \d\d:\d\d, /.test(said)) console.log(`ACK ${said}`);
    }).observe(document.body, { subtree: true, childList: true, characterData: true });
  }));
  const life = { tab, acknowledged: 0, onSaved: null, ended: new Promise((done) => { program.on("exit", done); }) };
  tab.on("console", (line) => {
    const said = /^ACK .*, (\d+) of/.exec(line.text());
    if (!said) return;
    life.acknowledged = Math.max(life.acknowledged, Number(said[1]));
    if (life.onSaved) life.onSaved();
  });
  // The whole group, at once: what a phone that dies leaves behind.
  life.kill = async () => {
    try { process.kill(-program.pid, "SIGKILL"); } catch { /* It has ended. */ }
    await life.ended;
    await gone(program.pid);
    await browser.close().catch(() => {});
  };
  await tab.goto(pathToFileURL(page).href);
  await tab.waitForSelector("html[data-ready]", { state: "attached" });
  return life;
}

// Until no process of the group is left, three seconds at most: one that still dies may hold the
// database, as nothing does on a phone that was switched off.
async function gone(group) {
  for (let wait = 0; wait < 60 && readdirSync("/proc").some((id) => isAlive(id, group)); wait += 1) await pause(50);
}

// By /proc/ID/stat: the name in brackets, the state (Z is dead), the parent, the group.
function isAlive(id, group) {
  if (!/^\d+$/.test(id)) return false;
  try {
    const [state, , of] = readFileSync(`/proc/${id}/stat`, "utf8").replace(/^.*\) /s, "").split(" ");
    return Number(of) === group && state !== "Z";
  } catch { return false; }
}

const found = (tab) => tab.evaluate(() => sheet.places.map((place) => countSeen(app.counts, place, app.me)?.values.shoots ?? null));

// Presses on until the life ends or all is done.
async function finger(tab, alive) {
  if (await tab.locator("#who").count()) { await tab.fill("#who", "Ada"); await tab.click("#who-go"); }
  while (alive()) {
    const place = await tab.evaluate(() => (doneBy(app.counts, app.me) === sheet.places.length ? -1 : app.at));
    if (place < 0) return true;
    const half = await tab.inputValue("#box-shoots");
    for (let at = 0; at < half.length; at += 1) await tab.click('[aria-label="Erase a digit"]');
    for (const digit of String(numberAt(place))) await tab.click(`.pad .digit:text-is("${digit}")`);
    await tab.click("#next");
  }
  return false;
}

export async function killed(test) {
  const places = JSON.parse(/id="data">(.*?)<\/script>/.exec(readFileSync(test.page, "utf8"))[1]).places.length;
  const { check } = test;
  const profile = mkdtempSync(join(tmpdir(), "count-sheet-"));
  let sure = 0, lost = 0, wrong = 0, kills = 0, unsaid = 0, before = 0;
  for (let life = 0; life <= KILLS; life += 1) {
    const own = await start(test, profile);
    const values = await found(own.tab);
    lost += values.slice(0, sure).filter((value) => value === null).length;
    wrong += values.filter((value, place) => value !== null && value !== String(numberAt(place))).length;
    before = values.filter((value) => value !== null).length;
    unsaid += Math.max(0, before - sure);
    let alive = true;
    const working = finger(own.tab, () => alive).catch(() => false);
    if (life === KILLS) {
      await working;
      await own.tab.waitForFunction((all) => document.getElementById("saved").textContent.endsWith(`${all} of ${all}`), places).catch(() => {});
      sure = Math.max(sure, own.acknowledged);
      await own.kill();
      break;
    }
    // Every other time at the very moment of the word, else at any time.
    const wanted = before + 1 + Math.floor(Math.random() * 3);
    const said = new Promise((done) => { own.onSaved = () => { if (own.acknowledged >= Math.min(wanted, places)) done(); }; });
    if (life % 2) await Promise.race([said, pause(4000)]);
    else await Promise.race([pause(200 + Math.random() * 900), said.then(() => pause(Math.random() * 60))]);
    sure = Math.max(sure, own.acknowledged);
    alive = false;
    await own.kill();
    await working;
    kills += 1;
  }
  const last = await start(test, profile);
  const values = await found(last.tab);
  await last.kill();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
  lost += values.slice(0, sure).filter((value) => value === null).length;
  wrong += values.filter((value, place) => value !== String(numberAt(place))).length;
  console.log(`killed ${kills} times: ${sure} counts said to be saved, ${lost} of them lost, ${wrong} wrong, ${unsaid} kept beyond what was said`);
  check(kills === KILLS && sure === places && places >= LEAST_PLACES && lost === 0 && wrong === 0, "nothing that was said to be saved is lost in twenty kills", `${sure} sure, ${lost} lost, ${wrong} wrong`);
}
