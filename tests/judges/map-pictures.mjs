// Pictures of map.html that are the same on every machine with the same Chromium:
// `node map-pictures.mjs CHROMIUM PAGE OUTDIR FONTDIR` writes OUTDIR/NAME.png, a line each. FONTDIR holds
// regular.ttf and bold.ttf, which stand for every typeface, for machines differ in theirs.
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";
import { DESK, PHONE, addStyle, address } from "./looking.mjs";

const [executablePath, page, folder, fonts] = process.argv.slice(2);
const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync", "--font-render-hinting=none", "--disable-lcd-text",
  "--disable-font-subpixel-positioning", "--force-color-profile=srgb", "--force-device-scale-factor=1",
  "--hide-scrollbars"];
const A4 = { width: 794, height: 1123 };

const face = (file, weight) => `@font-face { font-family: Same; font-weight: ${weight};
  src: url(data:font/ttf;base64,${readFileSync(join(fonts, file)).toString("base64")}) }`;
const SAME = `${face("regular.ttf", "100 500")} ${face("bold.ttf", "600 900")}
  *, *::before { font-family: Same !important; font-synthesis: none !important; caret-color: transparent !important;
    transition: none !important; animation: none !important }`;

const zone = async (tab) => { await tab.click("tr[data-zone='0'] a"); await tab.mouse.move(0, 0); };
const toMap = (tab) => tab.evaluate(() => document.getElementById("map").scrollIntoView());
const vine = async (tab) => { await tab.fill("#asked", "12/34"); await tab.press("#asked", "Enter"); };

// Each: name, window, what is set, what is done first, whether all of the page is taken, and its scale.
const PICTURES = [
  ["desk-light", { viewport: DESK }, null, true, 0.5],
  ["desk-dark", { viewport: DESK, colorScheme: "dark" }, null, true, 0.5],
  ["phone-top", { viewport: PHONE }, null, false, 1],
  ["phone-whole", { viewport: PHONE }, null, true, 0.5],
  ["zone", { viewport: DESK }, zone, false, 0.5],
  ["vine", { viewport: PHONE }, vine, false, 1],
  ["print", { viewport: A4, media: "print" }, null, true, 0.5],
  ["forced-colours", { viewport: DESK, forcedColors: "active" }, toMap, false, 0.5],
];

// How letters are smoothed is a setting of the machine: here it is ours, and no typeface of the machine is seen.
const own = mkdtempSync(join(tmpdir(), "map-pictures-"));
const settings = join(own, "fonts.conf");
const setting = (name, value) => `<edit name="${name}" mode="assign">${value}</edit>`;
writeFileSync(settings, `<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd"><fontconfig>
  <dir>${resolve(fonts)}</dir><cachedir>${own}</cachedir><match target="font">
  ${setting("antialias", "<bool>true</bool>")}${setting("hinting", "<bool>false</bool>")}
  ${setting("hintstyle", "<const>hintnone</const>")}${setting("autohint", "<bool>false</bool>")}
  ${setting("rgba", "<const>none</const>")}</match></fontconfig>`);

const env = { ...process.env, FONTCONFIG_FILE: settings, TZ: "UTC", LANG: "C.UTF-8" };
const browser = await chromium.launch({ executablePath, args: FLAGS, env });
mkdirSync(folder, { recursive: true });
for (const [name, { media, ...options }, act, fullPage, deviceScaleFactor] of PICTURES) {
  const context = await browser.newContext({ ...options, deviceScaleFactor, offline: true, locale: "en-GB", bypassCSP: true, reducedMotion: "reduce" });
  const tab = await context.newPage();
  await tab.goto(address(page));
  await tab.waitForSelector("html[data-ready]", { state: "attached" });
  await tab.emulateMedia({ media: media || "screen" });
  await addStyle(tab, SAME);
  await tab.evaluate(() => document.fonts.ready);
  const faces = await tab.evaluate(() => [...document.fonts].filter((one) => one.status === "loaded").length);
  if (faces !== 2) throw new Error(`${name}: ${faces} typefaces of 2 were loaded`);
  // The map fits itself to the window once more, now that the words have their size.
  await tab.evaluate(() => window.dispatchEvent(new Event("resize")));
  if (act) await act(tab);
  await tab.evaluate(() => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); }));
  const path = join(folder, `${name}.png`);
  await tab.screenshot({ path, fullPage, animations: "disabled", caret: "hide" });
  console.log(`${name}.png ${statSync(path).size}`);
  await context.close();
}
await browser.close();
rmSync(own, { recursive: true, force: true });
