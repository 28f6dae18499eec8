// How it looks: accessibility, sizes, large letters.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { PHONE, SMALL, check, count, go, open, same, sideways } from "./tools.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

async function violations(tab) {
  const found = await tab.evaluate(`${axe};axe.run(document, { runOnly: ${JSON.stringify(RULES)} })`);
  return found.violations.map((one) => `${one.id} at ${one.nodes.map((node) => node.target.join(" ")).join(", ")}`);
}

// Every view in turn, with counts in it.
async function views(tab, look) {
  await look("who");
  await tab.fill("#who", "Ada");
  await tab.tap("#who-go");
  await count(tab, 31, 0);
  await tab.tap("#more");
  await tab.tap("#next");
  await look("count");
  await tab.tap("#skip");
  await look("skip");
  await go(tab, "list");
  await look("list");
  await go(tab, "send");
  for (const way of ["codes", "aloud"]) { await tab.tap(`#${way}`); await look(way); }
  await go(tab, "paper");
  await look("paper");
}

export async function accessible() {
  const ways = [
    ["light", { viewport: SMALL }], ["larger phone", { viewport: PHONE }], ["dark", { viewport: SMALL, colorScheme: "dark" }],
    ["forced colours", { viewport: SMALL, forcedColors: "active" }], ["landscape", { viewport: { width: 640, height: 360 } }],
  ];
  for (const [name, options] of ways) {
    const { tab, close } = await open("page", { who: "", ...options });
    const found = [], wide = [];
    await views(tab, async (view) => {
      found.push(...(await violations(tab)).map((one) => `${view}: ${one}`));
      if (await sideways(tab) > 0) wide.push(view);
    });
    check(!found.length, `axe finds nothing in seven views, ${name}`, found.join("; "));
    check(!wide.length, `nothing sticks out sideways, ${name}`, wide.join(", "));
    await close();
  }
  const { tab, close } = await open("page");
  await go(tab, "send");
  await tab.tap("#bright");
  same(await violations(tab), [], "axe finds nothing, bright");
  check(await tab.getAttribute("#bright", "aria-pressed") === "true", "bright is on");
  await tab.emulateMedia({ media: "print" });
  same(await violations(tab), [], "axe finds nothing, print");
  await close();
}

export async function targets() {
  for (const viewport of [SMALL, PHONE, { width: 320, height: 640 }]) {
    const { tab, close } = await open("page", { who: "", viewport });
    const found = [];
    await views(tab, async (view) => found.push(...(await tab.evaluate(tight)).map((one) => `${view}: ${one}`)));
    check(!found.length, `targets are 48 px or more with 8 px between, ${viewport.width} px`, found.join("; "));
    await close();
  }
}

// Targets that are too small, or too near to another one. Those under the pad scroll away from it.
function tight() {
  const all = [...document.querySelectorAll("button, input, textarea, a")].filter((part) => part.offsetParent);
  const boxes = all.map((part) => ({ part, box: part.getBoundingClientRect(), pad: Boolean(part.closest(".pad, .top")) }));
  const name = (part) => part.id || part.textContent.slice(0, 20);
  const small = boxes.filter(({ box }) => box.width < 47.9 || box.height < 47.9).map(({ part, box }) => `${name(part)} ${box.width}×${box.height}`);
  const near = [];
  boxes.forEach((one, at) => {
    for (const other of boxes.slice(at + 1)) {
      if (one.pad !== other.pad) continue;
      const [a, b] = [one.box, other.box];
      const gap = Math.max(b.left - a.right, a.left - b.right, b.top - a.bottom, a.top - b.bottom);
      if (gap < 7.9) near.push(`${name(one.part)} and ${name(other.part)} ${gap}`);
    }
  });
  return [...small, ...near];
}

export async function large() {
  const grow = () => document.addEventListener("DOMContentLoaded", () => { document.documentElement.style.fontSize = "200%"; });
  for (const [name, options] of [["320 px", { viewport: { width: 320, height: 640 } }], ["200 % text", { before: grow }],
    ["200 % text on 320 px", { viewport: { width: 320, height: 640 }, before: grow }], ["320 × 256 px", { viewport: { width: 320, height: 256 } }]]) {
    const { tab, close } = await open("page", { who: "", ...options });
    const wide = [];
    await views(tab, async (view) => { if (await sideways(tab) > 0) wide.push(`${view} ${await sideways(tab)} px`); });
    check(!wide.length, `nothing sticks out sideways, ${name}`, wide.join(", "));
    await close();
  }
  const { tab, close } = await open("page");
  const hidden = await tab.evaluate(() => {
    const box = (selector) => document.querySelector(selector).getBoundingClientRect();
    return box("#box-shoots").bottom > box(".pad").top || box(".pad").bottom > innerHeight + 0.5;
  });
  check(!hidden, "place, box and pad stand on the smallest phone without scrolling");
  await close();
}
