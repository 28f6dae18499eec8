// What every judge of map.html needs, whatever browser it looks through.
import { pathToFileURL } from "node:url";

export const PHONE = { width: 390, height: 844 }, DESK = { width: 1280, height: 800 };

// One vine as people write it.
export const ONE_VINE = ["R012V034", "r12 v34", "12/34", "row 12 vine 34", "12 34"];

export const address = (file) => pathToFileURL(file).href;

// Checks are lines of what is printed; `faults` counts those that do not hold.
export const told = { faults: 0 };

export function check(holds, what, found = "") {
  console.log(`${holds ? "ok" : "NOT OK"}: ${what}${holds ? "" : `: ${found}`}`);
  if (!holds) told.faults += 1;
}

// Runs the parts one after another; one that breaks off is a fault and stops no other.
export async function checkAll(parts, ...given) {
  for (const part of parts) await part(...given).catch((error) => check(false, part.name, error));
}

// What a page asks for and complains of from now on.
export function listen(tab) {
  const heard = { asked: [], complaints: [], dialogs: [] };
  tab.on("request", (request) => heard.asked.push(request.url()));
  tab.on("console", (line) => { if (line.type() === "error") heard.complaints.push(line.text()); });
  tab.on("pageerror", (error) => heard.complaints.push(String(error)));
  tab.on("dialog", (dialog) => { heard.dialogs.push(dialog.message()); dialog.dismiss(); });
  return heard;
}

// Pixels by which the page is wider than its window.
export const sideways = (tab) => tab.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);

// A style of the reader's own, which no policy of the page forbids.
export function addStyle(tab, style) {
  return tab.evaluate((style) => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(style);
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
  }, style);
}

// Texts outside the drawing that leave the box they stand in, are cut off, or lie on each other.
export function spoiltTexts(tab) {
  return tab.evaluate(() => {
    const spoilt = [], seen = [];
    const words = (node) => `“${node.textContent.trim().slice(0, 24)}”`;
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const node = texts.currentNode, holder = node.parentElement;
      if (!node.textContent.trim() || holder.closest("svg, script, .skip") || !holder.checkVisibility()) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const line of range.getClientRects()) {
        // Letters fill the middle of their line only.
        const spare = line.height / 5;
        const box = { left: line.left + 1, right: line.right - 1, top: line.top + spare, bottom: line.bottom - spare };
        if (box.right < 0 || box.right <= box.left) continue;
        const outer = [];
        for (let part = holder; part; part = part.parentElement) {
          if (getComputedStyle(part).display !== "inline") outer.push(part);
        }
        const out = outer.find((part) => {
          const room = part.getBoundingClientRect();
          return box.left < room.left || box.right > room.right || box.top < room.top || box.bottom > room.bottom;
        });
        if (out) spoilt.push(`${words(node)} leaves ${out.localName}.${out.className}`);
        seen.push({ node, box });
      }
    }
    seen.forEach(({ node, box }, at) => {
      const under = seen.slice(at + 1).find((other) => other.node !== node
        && box.left < other.box.right && other.box.left < box.right
        && box.top < other.box.bottom && other.box.top < box.bottom);
      if (under) spoilt.push(`${words(node)} lies on ${words(under.node)}`);
    });
    for (const part of document.querySelectorAll("body *:not(svg *, .map)")) {
      if (!part.checkVisibility() || getComputedStyle(part).display === "inline") continue;
      const cuts = getComputedStyle(part).overflow !== "visible" || part.localName === "input";
      const over = part.scrollWidth > part.clientWidth + 1 || part.scrollHeight > part.clientHeight + 1;
      if (cuts && over && part.type !== "radio") spoilt.push(`${part.localName}#${part.id} cuts off what is in it`);
    }
    const narrow = document.getElementById("asked");
    if (narrow) {
      // A placeholder is not counted in what an input holds.
      const copy = document.createElement("canvas").getContext("2d"), look = getComputedStyle(narrow);
      copy.font = look.font;
      const room = narrow.clientWidth - parseFloat(look.paddingLeft) - parseFloat(look.paddingRight);
      if (copy.measureText(narrow.placeholder).width > room) spoilt.push("the box cuts off its example");
    }
    return spoilt;
  });
}
