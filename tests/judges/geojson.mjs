// What check-geojson makes of files: `node geojson.mjs FILE...`. One line a fault; the exit code is 1
// with a fault and 3 when the judge is not here. CATCHWIRE_CHECK_GEOJSON names another folder of it.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

let check;
try {
  const judge = process.env.CATCHWIRE_CHECK_GEOJSON ?? "@placemarkio/check-geojson";
  ({ check } = createRequire(import.meta.url)(judge));
} catch (error) {
  console.error(`check-geojson is not here: ${error.message}`);
  process.exit(3);
}
for (const file of process.argv.slice(2)) {
  try {
    check(readFileSync(file, "utf8"));
  } catch (error) {
    for (const issue of error.issues ?? [error]) {
      console.log(`${file}: ${issue.message} (at ${issue.from ?? "?"})`);
    }
    process.exitCode = 1;
  }
}
