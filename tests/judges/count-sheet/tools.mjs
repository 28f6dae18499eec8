// What the parts of the judge of count-sheet.html share: a browser, a finger, a reader of tables.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { isDeepStrictEqual } from "node:util";
import { chromium } from "playwright-core";

export const [executablePath, folder, ...parts] = process.argv.slice(2);
export const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
export const SMALL = { width: 360, height: 640 }, PHONE = { width: 412, height: 915 };

export const browser = await chromium.launch({ executablePath, args: FLAGS });
export const heldTo = { faults: 0 };

export function check(holds, what, found = "") {
  console.log(`${holds ? "ok" : "NOT OK"}: ${what}${holds ? "" : `: ${found}`}`);
  if (!holds) heldTo.faults += 1;
}

export const same = (found, wanted, what) => check(isDeepStrictEqual(found, wanted), what, JSON.stringify(found));

// Opens a page in a browser that has no network, and hands over what it asked for and complained of.
export async function open(name, { who = "Ada", before, ...options } = {}) {
  const context = await browser.newContext({ viewport: SMALL, offline: true, hasTouch: true, ...options });
  const tab = await context.newPage();
  tab.setDefaultTimeout(8000);
  const heard = { asked: [], complaints: [], dialogs: [] };
  tab.on("request", (request) => { if (!request.url().startsWith("blob:")) heard.asked.push(request.url()); });
  tab.on("console", (line) => { if (line.type() === "error") heard.complaints.push(line.text()); });
  tab.on("pageerror", (error) => heard.complaints.push(String(error)));
  tab.on("dialog", (dialog) => { heard.dialogs.push(dialog.message()); dialog.dismiss(); });
  if (before) await tab.addInitScript(before);
  await tab.goto(pathToFileURL(`${folder}/${name}.html`).href);
  if (options.javaScriptEnabled !== false) {
    await ready(tab);
    if (who) { await tab.fill("#who", who); await tab.tap("#who-go"); }
  }
  return { tab, heard, close: () => context.close() };
}

export const ready = (tab) => tab.waitForSelector("html[data-ready]", { state: "attached" });
export const words = (tab, selector) => tab.locator(selector).textContent();
export const go = (tab, name) => tab.tap(`nav [data-view=${name}]`);
export const saved = (tab) => tab.waitForFunction(() => /saved \d\d:\d\d/.test(document.getElementById("saved").textContent));
export const value = (tab, place = 0) => tab.evaluate((at) => countSeen(app.counts, sheet.places[at], app.me)?.values ?? null, place);

export async function digits(tab, number) {
  for (const digit of String(number)) await tab.tap(`.pad .digit:text-is("${digit}")`);
}

export async function count(tab, ...numbers) {
  for (const number of numbers) { await digits(tab, number); await tab.tap("#next"); }
  await saved(tab);
}

export async function merge(tab, file) {
  await go(tab, "send");
  await tab.setInputFiles("#journal", file);
  await tab.waitForFunction(() => document.getElementById("merged").textContent);
  return words(tab, "#merged");
}

export async function download(tab, button) {
  await go(tab, "send");
  const [file] = await Promise.all([tab.waitForEvent("download"), tab.tap(button)]);
  return { name: file.suggestedFilename(), path: await file.path(), text: readFileSync(await file.path(), "utf8") };
}

// A reader of its own for what the page writes: RFC 4180.
export function csv(text) {
  const rows = [[""]];
  text = text.replace(/^\ufeff/, "");
  let quoted = false;
  for (let at = 0; at < text.length; at += 1) {
    const row = rows[rows.length - 1], letter = text[at];
    if (quoted && letter === '"' && text[at + 1] === '"') { row[row.length - 1] += '"'; at += 1; }
    else if (letter === '"') quoted = !quoted;
    else if (!quoted && letter === ",") row.push("");
    else if (!quoted && letter === "\r" && text[at + 1] === "\n") { rows.push([""]); at += 1; }
    else row[row.length - 1] += letter;
  }
  const [heads, ...lines] = rows.filter((row) => row.length > 1);
  return lines.map((line) => Object.fromEntries(heads.map((head, at) => [head, line[at]])));
}

export const sideways = (tab) => tab.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
