// What Chromium makes of map.html: `node map.mjs CHROMIUM PAGE EVIL LARGE`. Every check is a line; the
// exit code is 1 when one of them does not hold.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { DESK, ONE_VINE, PHONE, addStyle, address, check, checkAll, listen, sideways, spoiltTexts, told } from "./looking.mjs";

const [executablePath, page, evil, large] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];

const browser = await chromium.launch({ executablePath, args: FLAGS });

// Opens a page in a browser that has no network, and hands over what it asked for and complained of.
async function open(file, options = {}, inside = browser) {
  const context = await inside.newContext({ viewport: PHONE, offline: true, ...options });
  const tab = await context.newPage();
  const heard = listen(tab);
  await tab.goto(address(file));
  if (options.javaScriptEnabled !== false) await tab.waitForSelector("html[data-ready]", { state: "attached" });
  return { tab, heard, close: () => context.close() };
}

async function violations(tab) {
  const found = await tab.evaluate(`${axe};axe.run(document, { runOnly: ${JSON.stringify(RULES)} })`);
  return found.violations.map((one) => `${one.id} at ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`);
}

async function accessible(file) {
  const ways = [
    ["light, phone", { viewport: PHONE }, null], ["light, desk", { viewport: DESK }, null],
    ["dark, phone", { viewport: PHONE, colorScheme: "dark" }, null],
    ["dark, desk", { viewport: DESK, colorScheme: "dark" }, null],
    ["print", { viewport: DESK }, "print"], ["forced colours", { viewport: DESK, forcedColors: "active" }, null],
  ];
  for (const [name, options, media] of ways) {
    const { tab, close } = await open(file, options);
    if (media) await tab.emulateMedia({ media });
    const found = await violations(tab);
    check(!found.length, `axe finds nothing, ${name}`, found.join("; "));
    await tab.fill("#asked", "1/1").catch(() => {});
    const wide = await sideways(tab);
    check(wide <= 0, `nothing sticks out sideways, ${name}`, `${wide} px`);
    await close();
  }
}

// The page in a narrow window, and as readers who need large or loose text set it.
async function roomy(file) {
  const narrow = { width: 320, height: 640 }, half = { width: 640, height: 800 };
  const twice = "html { font-size: 200% }";
  const loose = `* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important }
    p { margin-bottom: 2em !important }`;
  const ways = [
    ["in 320 px", narrow, 16], ["loose text, phone", PHONE, 16, loose], ["loose text, desk", DESK, 16, loose],
    ["loose text, 320 px", narrow, 16, loose], ["text twice as large, phone", PHONE, 32, twice],
    ["text twice as large, desk", DESK, 32, twice], ["text twice as large, 640 px", half, 32, twice],
    ["text twice as large, 320 px", narrow, 32, twice],
  ];
  for (const way of ways) await hasRoom(file, browser, ...way);
  const args = [...FLAGS, "--blink-settings=defaultFontSize=32"];
  const large = await chromium.launch({ executablePath, args });
  for (const [name, viewport] of [["phone", PHONE], ["desk", DESK]]) {
    await hasRoom(file, large, `a browser set to 32 px, ${name}`, viewport, 32);
  }
  await large.close();
}

async function hasRoom(file, inside, name, viewport, size, style = "") {
  const { tab, close } = await open(file, { viewport }, inside);
  await addStyle(tab, style);
  const found = await tab.evaluate(() => parseFloat(getComputedStyle(document.body).fontSize));
  const faults = found === size ? [] : [`text of ${found} px`];
  for (const text of ["hello", "Z1", "R012V034"]) {
    await tab.fill("#asked", text);
    await tab.press("#asked", "Enter");
    const wide = await sideways(tab);
    if (wide > 0) faults.push(`${wide} px stick out`);
    faults.push(...await spoiltTexts(tab));
  }
  check(!faults.length, `room for every text, ${name}`, faults.join("; "));
  await close();
}

async function targets(file) {
  const { tab, close } = await open(file);
  const small = await tab.evaluate(() => [...document.querySelectorAll("a, button, input, [tabindex]")]
    .map((part) => (part.type === "radio" ? part.parentElement : part))
    .filter((part) => part.offsetParent && !part.matches(".skip"))
    .filter((part) => { const box = part.getBoundingClientRect(); return box.width < 44 || box.height < 44; })
    .map((part) => part.outerHTML.slice(0, 60)));
  check(!small.length, "every target is 44 px or more", small.join("; "));
  await close();
}

async function lookingUp(file) {
  const { tab, heard, close } = await open(file, { viewport: DESK });
  const said = () => tab.locator("#said b").textContent();
  const ask = async (text) => { await tab.fill("#asked", text); await tab.press("#asked", "Enter"); return said(); };
  for (const text of ONE_VINE) {
    check(await ask(text) === "R012V034", `${text} finds the vine`, await said());
  }
  const words = await tab.locator("#said").textContent();
  check(/About \d+ shoots \(\d+ to \d+, 9 times in 10\)/.test(words), "a vine's shoots come with their range", words);
  check(await tab.evaluate(() => document.getElementById("frame").classList.contains("zoomed")), "the map goes there");
  for (const text of ["R012P07", "R012", "Z1"]) check(await ask(text) === text, `${text} is found`, await said());
  for (const text of ["99/1", "12/999", "Z77", "R012P99", "hello", "", "<b>x</b>"]) {
    check(await ask(text) === "Not found", `“${text}” is told to be unknown`, await said());
  }
  check((await tab.locator("#said").innerHTML()).includes("&lt;b&gt;"), "what is written stays text");
  check(await tab.getAttribute("#asked", "aria-invalid") === "true", "an unknown one is marked for readers");
  check(heard.asked.length === 1 && !heard.complaints.length, "one file, no complaint", JSON.stringify(heard));
  await close();
}

async function tableAndMap(file) {
  const { tab, close } = await open(file, { viewport: DESK });
  const has = (selector, name) => tab.locator(selector).first().evaluate((part, name) => part.classList.contains(name), name);
  const border = ".over[data-zone='1']", row = "tr[data-zone='1']";
  await tab.hover(row);
  check(await has(border, "near"), "hovering a row shows its zone");
  await tab.mouse.move(0, 0);
  await tab.focus(`${row} a`);
  check(await has(border, "near"), "focus on a row shows its zone");
  await tab.press(`${row} a`, "Enter");
  check(await has(border, "chosen") && await has(row, "chosen"), "a chosen row is marked on map and table");
  check(await tab.locator("#said b").textContent() === "Z2", "and told");
  check(await tab.getAttribute("#said", "role") === "status", "in a live region");
  const answered = await tab.evaluate(() => ["said", "frame"].every((id) => {
    const box = document.getElementById(id).getBoundingClientRect();
    return box.top >= 0 && box.bottom <= window.innerHeight;
  }));
  check(answered, "map and answer are both in the window");
  await tab.check("input[value=zones]", { force: true });
  await tab.locator("#frame").scrollIntoViewIfNeeded();
  await tab.locator("#frame").click();
  check((await tab.locator("#said b").textContent()).length > 1, "a tap on the map tells what is there");
  await close();
}

async function keysAndPointer(file) {
  const { tab, close } = await open(file, { viewport: DESK });
  const moved = () => tab.getAttribute(".moved", "transform");
  const scale = async () => Number(/scale\((.*)\)/.exec(await moved())[1]);
  await tab.focus("#frame");
  await tab.keyboard.press("+");
  await tab.keyboard.press("+");
  check(Math.abs(await scale() - 2.25) < 1e-9, "plus enlarges", await moved());
  const before = await moved();
  await tab.keyboard.press("ArrowRight");
  check(await moved() !== before, "arrows move");
  await tab.keyboard.press("Enter");
  check(await tab.locator("#said b").count() === 1, "Enter says what is in the middle");
  await tab.keyboard.press("0");
  check(await scale() === 1, "0 shows all", await moved());
  await tab.click("#larger");
  check(await scale() > 1, "the button enlarges");
  await tab.locator("#frame").focus();
  await tab.locator("#frame").hover();
  await tab.mouse.wheel(0, -400);
  await tab.waitForTimeout(100);
  check(await scale() > 2, "the wheel enlarges a map that has the focus", await moved());
  // Every stop of the Tab key has a name and an outline.
  await tab.keyboard.press("0");
  await tab.focus(".skip");
  let stops = 1;
  const hidden = [];
  for (let step = 0; step < 40; step += 1) {
    await tab.keyboard.press("Tab");
    const at = await tab.evaluate(() => document.activeElement.id || document.activeElement.tagName);
    if (at === "BODY") break;
    stops += 1;
    const seen = await tab.evaluate(() => {
      const active = document.activeElement, part = active.type === "radio" ? active.parentElement : active;
      const box = part.getBoundingClientRect(), look = getComputedStyle(part);
      const inside = box.bottom > 0 && box.top < window.innerHeight;
      const named = active.ariaLabel || active.labels?.length || active.textContent.trim();
      return named && inside && look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2;
    });
    if (!seen) hidden.push(at);
  }
  check(!hidden.length, "every stop of the Tab key has a name and an outline in the window", hidden.join(", "));
  check(stops > 8 && stops < 40, "the Tab key walks through and out", String(stops));
  await close();
}

async function still(file) {
  const { tab, heard, close } = await open(file, { javaScriptEnabled: false });
  const box = await tab.locator("#frame svg").boundingBox();
  check(box && box.width > 200, "without script the map is there");
  check(await tab.locator("tr[data-zone]").count() > 0, "and the table");
  check(!(await tab.locator("#find").isVisible()), "and nothing that would not work");
  check(!heard.complaints.length, "without a complaint", heard.complaints.join("; "));
  await close();
}

async function printed(file) {
  const { tab, close } = await open(file, { viewport: DESK });
  await tab.fill("#asked", "12/34");
  await tab.press("#asked", "Enter");
  const pdf = await tab.pdf({ format: "A4" });
  const pages = (pdf.toString("latin1").match(/\/Type\s*\/Page\b/g) || []).length;
  check(pages >= 1 && pages <= 4, "decision, map and table take few pages of A4", String(pages));
  check(await tab.evaluate(() => /scale\(1\)/.test(document.querySelector(".moved").getAttribute("transform"))), "paper shows the whole block");
  await close();
}

async function harmless(file) {
  const { tab, heard, close } = await open(file);
  const name = "</script><img src=x onerror=alert(1)>";
  check(await tab.locator("h1").textContent() === name, "an evil name is shown as it is");
  const wide = await sideways(tab);
  check(wide <= 0, "and does not stick out", `${wide} px`);
  check(!heard.dialogs.length, "and runs nothing", heard.dialogs.join("; "));
  check(await tab.locator("img").count() === 0, "and makes no element");
  await tab.fill("#asked", "Z1");
  await tab.press("#asked", "Enter");
  check(await tab.locator("img").count() === 0 && !heard.complaints.length, "nor when it is said", heard.complaints.join("; "));
  const policy = await tab.evaluate(() => {
    const script = document.createElement("script");
    script.textContent = "window.ran = true";
    document.body.append(script);
    return window.ran === true;
  });
  check(!policy, "the policy lets no other script run");
  await close();
}

// The time until the map answers, on a phone six times slower than this machine: the best of five, told
// and not held to anything, for others use the machine too.
async function quick(file) {
  let least = Infinity, empty = Infinity;
  for (let run = 0; run < 5; run += 1) {
    least = Math.min(least, await ready(address(file)));
    empty = Math.min(empty, await ready("data:text/html,<script>document.documentElement.dataset.ready='yes'</script>"));
  }
  console.log(`large block: ${Math.round(least)} ms to interactive at a sixth of the speed; an empty page ${Math.round(empty)} ms`);
  check(Number.isFinite(least), "a large block answers");
}

async function ready(where) {
  const context = await browser.newContext({ viewport: PHONE, deviceScaleFactor: 2, offline: true });
  const tab = await context.newPage();
  const session = await context.newCDPSession(tab);
  await session.send("Emulation.setCPUThrottlingRate", { rate: 6 });
  await tab.addInitScript(() => {
    new MutationObserver(() => {
      if (document.documentElement?.dataset.ready && !window.since) window.since = performance.now();
    }).observe(document, { subtree: true, childList: true, attributes: true });
  });
  await tab.goto(where, { waitUntil: "commit" });
  await tab.waitForFunction(() => window.since);
  const since = await tab.evaluate(() => window.since);
  await context.close();
  return since;
}

await checkAll([accessible, roomy, targets, lookingUp, tableAndMap, keysAndPointer, still, printed], page);
if (evil) await checkAll([harmless], evil);
if (large) await checkAll([quick], large);
await browser.close();
process.exitCode = told.faults ? 1 : 0;
