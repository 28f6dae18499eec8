// What Firefox makes of count-sheet.html: `node count-second-engine.mjs FIREFOX PAGE`; an empty FIREFOX
// is looked for under its usual names. Every check is a line; the exit code is 1 when one does not
// hold, 77 when there is no Firefox or no package to drive it.
//
// Firefox keeps the storage of every local file apart: a page must find its counts again when it is
// opened anew, and after the browser was killed.
import { once } from "node:events";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { withFirefox } from "./firefox.mjs";
import { address, check, checkAll, listen, sideways, told } from "./looking.mjs";

const page = process.argv[3];
const SMALL = { width: 360, height: 640, hasTouch: true };
const userDataDir = mkdtempSync(join(tmpdir(), "counts-"));

const words = (tab, selector) => tab.$eval(selector, (part) => part.textContent);
const ready = (tab) => tab.waitForSelector("html[data-ready]");
const says = (tab, pattern) => tab.waitForFunction((pattern) => new RegExp(pattern).test(document.getElementById("saved").textContent), {}, pattern);

async function open(browser) {
  const tab = await browser.newPage();
  const heard = listen(tab);
  await tab.setViewport(SMALL);
  await tab.goto(address(page));
  await ready(tab);
  return { tab, heard };
}

async function count(tab, number, done) {
  for (const digit of String(number)) {
    const key = await tab.evaluateHandle((digit) => [...document.querySelectorAll(".pad .digit")].find((key) => key.textContent === digit), digit);
    await key.click();
  }
  await tab.click("#next");
  await says(tab, `^saved \\d\\d:\\d\\d, ${done} of`);
}

async function counts(browser) {
  const { tab, heard } = await open(browser);
  await tab.type("#who", "Ada");
  await tab.click("#who-go");
  const first = await words(tab, "#saved");
  check(/Counts are saved on this phone/.test(first), "Firefox: it says that it saves", first);
  for (const [at, number] of [31, 0, 14, 22].entries()) await count(tab, number, at + 1);
  check((await words(tab, "#progress")).startsWith("4 of"), "Firefox: four are counted", await words(tab, "#progress"));
  await tab.click("#undo");
  await says(tab, "^Undone.*saved");
  await tab.reload();
  await ready(tab);
  check((await words(tab, "#progress")).startsWith("3 of"), "Firefox: undone is undone after a reload", await words(tab, "#progress"));
  check(await sideways(tab) <= 0, "Firefox: nothing goes sideways at 360 pixels");
  check(!heard.asked.length, "Firefox: nothing is asked of the network", heard.asked.join(", "));
  check(!heard.complaints.length, "Firefox: no complaint", heard.complaints.join("; "));
  const table = await tab.evaluate(() => csvText(app.counts));
  check(table.trim().split("\n").length === 4, "Firefox: the table has its head and three counts", table);
  const gone = once(browser.process(), "exit");
  browser.process().kill("SIGKILL");
  await gone;
}

async function keeps(browser) {
  const { tab } = await open(browser);
  check((await words(tab, "#progress")).startsWith("3 of"), "Firefox: after it was killed the counts are there", await words(tab, "#progress"));
}

for (const look of [counts, keeps]) await withFirefox({}, (browser) => checkAll([look], browser), { userDataDir });
rmSync(userDataDir, { recursive: true, force: true });
process.exitCode = told.faults ? 1 : 0;
