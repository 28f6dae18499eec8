// When script, storage, position or trust is missing; and how soon it answers.
import { statSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { SMALL, browser, check, count, csv, digits, download, folder, go, open, ready, same, saved, sideways, value, words } from "./tools.mjs";

export async function without() {
  const { tab, heard, close } = await open("page", { javaScriptEnabled: false });
  check((await tab.locator(".map svg").boundingBox()).width > 200, "without script the map is there");
  same(await tab.locator("tr[data-stop]:visible").count(), 33, "and the places to write on");
  check(await tab.locator(".total .box").count() > 5, "with totals of rows");
  same(await tab.locator("button, input").count(), 0, "and nothing that would not work");
  check(await sideways(tab) <= 0 && !heard.complaints.length, "without a complaint", heard.complaints.join("; "));
  await close();
  const printing = await open("page");
  const pages = ((await printing.tab.pdf({ format: "A4" })).toString("latin1").match(/\/Type\s*\/Page\b/g) || []).length;
  check(pages >= 2 && pages <= 4, "paper takes few pages of A4", pages);
  await printing.tab.emulateMedia({ media: "print" });
  check(await printing.tab.isVisible("#paper") && !(await printing.tab.isVisible("#live")), "paper is the sheet, not the keys");
  await printing.close();
}

export async function cannotSave() {
  const broken = () => {
    IDBFactory.prototype.open = () => { throw new Error("refused"); };
    Storage.prototype.setItem = Storage.prototype.getItem = () => { throw new Error("refused"); };
    Object.defineProperty(window, "crypto", { value: undefined });
  };
  const { tab, heard, close } = await open("page", { before: broken });
  check(await tab.isVisible("#keeps") && (await words(tab, "#keeps")).startsWith("This browser cannot save: write on paper"), "a browser that cannot save says so", await words(tab, "#keeps"));
  await digits(tab, 31);
  await tab.tap("#next");
  check((await words(tab, "#saved")).startsWith("1 of 33 in this window only"), "and never says saved", await words(tab, "#saved"));
  const { text } = await download(tab, "#save-file");
  same(csv(text)[0].shoots, "31", "the file can still be saved");
  check(!heard.complaints.length, "without a complaint", heard.complaints.join("; "));
  await close();
  await failsLater();
  await mirrored();
}

// A database that gives up in the middle of the field.
async function failsLater() {
  const { tab, close } = await open("page");
  await count(tab, 31);
  await tab.evaluate(() => { IDBObjectStore.prototype.add = function add() { this.transaction.abort(); }; });
  await digits(tab, 32);
  await tab.tap("#next");
  await tab.waitForFunction(() => document.getElementById("saved").textContent.startsWith("NOT saved"));
  check(await tab.isVisible("#keeps"), "a count that is refused later is said not to be saved");
  await tab.reload();
  await ready(tab);
  same((await value(tab, 1))?.shoots, "32", "and the mirror gives it back");
  await close();
}

async function mirrored() {
  const { tab, close } = await open("page");
  await count(tab, 31, 32);
  await tab.evaluate(() => new Promise((done) => {
    app.store.database.close();
    indexedDB.deleteDatabase(STORE.name).onsuccess = done;
  }));
  await tab.evaluate(() => { window.removeEventListener("pagehide", keep); });
  await tab.reload();
  await ready(tab);
  same([(await value(tab, 0))?.shoots, (await value(tab, 1))?.shoots], ["31", "32"], "a lost database is filled from the mirror");
  await close();
}

// A database that is refused twice, as after a browser that died a moment ago.
export async function patient() {
  const before = () => {
    const open = IDBFactory.prototype.open;
    let refused = 0;
    IDBFactory.prototype.open = function opened(...all) {
      refused += 1;
      if (refused > 2) return open.apply(this, all);
      const request = {};
      setTimeout(() => request.onerror && request.onerror());
      return request;
    };
  };
  const { tab, close } = await open("page", { before });
  await count(tab, 31);
  check(await tab.evaluate(() => Boolean(app.store.database)), "a database that is refused twice is asked again");
  await close();
}

export async function locating() {
  const { tab, close } = await open("page", { geolocation: { longitude: -5.7698, latitude: 56.0753, accuracy: 6 }, permissions: ["geolocation"], before: () => { const ask = Geolocation.prototype.getCurrentPosition; window.asked = 0; Geolocation.prototype.getCurrentPosition = function get(...all) { window.asked += 1; return ask.apply(this, all); }; } });
  await count(tab, 1);
  same(await tab.evaluate(() => window.asked), 0, "the position is not asked for by itself");
  await tab.tap("#more");
  await tab.tap("#locate");
  await tab.waitForFunction(() => /±6 m: do not use to choose the row/.test(document.querySelector("#extra [role=status]").textContent));
  check(/about \d+ m to the (north|south|west|east)/.test(await words(tab, "#extra [role=status]")), "and comes with its accuracy", await words(tab, "#extra [role=status]"));
  await close();
}

export async function harmless() {
  const { tab, heard, close } = await open("evil", { who: "<img src=x onerror=alert(2)>" });
  const name = "</script><img src=x onerror=alert(1)>";
  same(await words(tab, "h1"), name, "an evil name is shown as it is");
  await count(tab, 5);
  for (const view of ["list", "send", "paper"]) await go(tab, view);
  await go(tab, "send");
  await tab.tap("#aloud");
  check(!heard.dialogs.length && await tab.locator("img").count() === 0, "and makes nothing of itself", heard.dialogs.join("; "));
  check(await sideways(tab) <= 0, "and does not stick out", await sideways(tab));
  const { text } = await download(tab, "#save-file");
  same([csv(text)[0].block, csv(text)[0].counted_by], [name, "<img src=x onerror=alert(2)>"], "and reaches the file");
  const policy = await tab.evaluate(() => {
    const script = document.createElement("script");
    script.textContent = "window.ran = true";
    document.body.append(script);
    return [window.ran === true, fetch("https://example.invalid/").then(() => "sent", () => "refused")][0];
  });
  check(!policy, "the policy lets no other script run");
  await close();
}

// A phone six times slower than this machine, the best of three: told beside an empty page, and not held
// to anything, for others use the machine too.
export async function quick() {
  const bytes = statSync(`${folder}/large.html`).size;
  check(bytes <= 1.5e6, "a sheet of 30 000 vines is small", bytes);
  let [least, empty, heap] = [Infinity, Infinity, 0];
  for (let run = 0; run < 3; run += 1) {
    const large = await since(pathToFileURL(`${folder}/large.html`).href);
    least = Math.min(least, large.since);
    heap = Math.max(heap, large.heap);
    empty = Math.min(empty, (await since("data:text/html,<script>document.documentElement.dataset.ready='yes'</script>")).since);
  }
  console.log(`large sheet: ${bytes} bytes, ${Math.round(least)} ms to interactive at a sixth of the speed, an empty page ${Math.round(empty)} ms, ${Math.round(heap / 1e5) / 10} MB of heap`);
  check(Number.isFinite(least), "it answers");
  check(heap < 150e6, "in little memory", heap);
}

async function since(address) {
  const context = await browser.newContext({ viewport: SMALL, deviceScaleFactor: 2, offline: true });
  const tab = await context.newPage();
  const session = await context.newCDPSession(tab);
  await session.send("Emulation.setCPUThrottlingRate", { rate: 6 });
  await tab.addInitScript(() => new MutationObserver(() => {
    if (document.documentElement?.dataset.ready && !window.since) window.since = performance.now();
  }).observe(document, { subtree: true, childList: true, attributes: true }));
  await tab.goto(address, { waitUntil: "commit" });
  await tab.waitForFunction(() => window.since);
  const found = { since: await tab.evaluate(() => window.since), heap: (await session.send("Runtime.getHeapUsage")).totalSize };
  await context.close();
  return found;
}
