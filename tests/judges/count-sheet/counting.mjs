// Counting, with fingers and with keys.
import { PHONE, check, count, csv, digits, download, go, open, ready, same, saved, value, words } from "./tools.mjs";

export async function counting() {
  const { tab, heard, close } = await open("page");
  check(/Counts are saved on this phone/.test(await words(tab, "#saved")), "it says that it saves", await words(tab, "#saved"));
  same(await words(tab, ".card h2"), "Row 1, vines 69 to 72", "the first place is named");
  check((await words(tab, ".card .detail")).includes("between posts 18 and 19"), "by its posts too");
  await tab.tap("#next");
  check((await words(tab, "#error")).includes("0 if there is no shoot"), "blank is no count", await words(tab, "#error"));
  await count(tab, 31);
  check(/^saved \d\d:\d\d, 1 of 33$/.test(await words(tab, "#saved")), "what is saved is said", await words(tab, "#saved"));
  same(await words(tab, "#progress"), "1 of 33 done, 32 left", "and what is left");
  same(await words(tab, ".card h2"), "Row 2, vines 53 to 56", "the next place follows");
  check(/row 1 .*next row, about \d+ m/.test(await words(tab, ".card .walk")), "with the walk to it", await words(tab, ".card .walk"));
  await count(tab, 0);
  same(await value(tab, 1), { shoots: "0" }, "0 is a count");
  await digits(tab, 12);
  for (const key of ["plus", "plus", "minus"]) await tab.tap(`.pad [aria-label="${{ plus: "One more", minus: "One fewer" }[key]}"]`);
  same(await tab.inputValue("#box-shoots"), "13", "plus and minus count on");
  await tab.tap('.pad [aria-label="Erase a digit"]');
  same(await tab.inputValue("#box-shoots"), "1", "a digit is erased");
  await tab.reload();
  await ready(tab);
  same([await words(tab, ".card h2"), await tab.inputValue("#box-shoots")], ["Row 3, vines 9 to 12", "1"], "after a reload the half-written number is there");
  check(/about \d+ m/.test(await words(tab, ".card .walk")), "and the walk", await words(tab, ".card .walk"));
  await count(tab, 4);
  same((await value(tab, 2)).shoots, "14", "and is counted on");
  await digits(tab, 99);
  await tab.tap("#undo");
  same([await tab.inputValue("#box-shoots"), await words(tab, "#progress")], ["", "3 of 33 done, 30 left"], "undo takes back digits first");
  await tab.tap("#undo");
  await tab.waitForFunction(() => /^Undone: Row 3, vines 9 to 12\. saved/.test(document.getElementById("saved").textContent));
  same([await value(tab, 2), await words(tab, ".card h2")], [null, "Row 3, vines 9 to 12"], "undo takes back and goes back");
  await tab.reload();
  await ready(tab);
  await tab.tap("#undo");
  await tab.tap("#undo");
  await tab.tap("#undo");
  await saved(tab).catch(() => {});
  same([await words(tab, "#progress"), await words(tab, "#saved")], ["0 of 33 done, 33 left", "Nothing to undo."], "undo goes back to the beginning, after a reload too");
  same(await tab.evaluate(() => app.entries.length), 6, "and nothing was deleted");
  check(heard.asked.length <= 3 && heard.asked.every((one) => one.endsWith("page.html")) && !heard.complaints.length, "one file, no complaint", JSON.stringify(heard));
  await close();
}

// A number that is said to be saved counts no entry that is still on its way.
export async function hurrying() {
  const { tab, close } = await open("page");
  const said = await tab.evaluate(async () => {
    const said = [];
    new MutationObserver(() => {
      const words = document.getElementById("saved").textContent;
      if (words.startsWith("saved ")) said.push([words.replace(/\d\d:\d\d/, "now"), app.waiting]);
    }).observe(document.getElementById("saved"), { childList: true });
    await Promise.all(["1", "2", "3"].map((stop) => record({ place: stop, values: { shoots: "7" } })));
    await new Promise(requestAnimationFrame);
    return said;
  });
  same(said, [["saved now, 3 of 33", 0]], "nothing is said to be saved while an entry is on its way");
  await close();
}

export async function skipping() {
  const { tab, close } = await open("page");
  const wanted = [
    ["missing", { status: "missing", skip: "missing" }], ["dead", { status: "missing", note: "dead", skip: "dead" }],
    ["young", { status: "young", skip: "young" }], ["out", { note: "not reached", skip: "out" }],
  ];
  for (const [reason] of wanted) { await tab.tap("#skip"); await tab.tap(`[data-reason=${reason}]`); }
  await tab.tap("#skip");
  await tab.tap("[data-reason=other]");
  check((await words(tab, "#skip-error")).length > 5, "another reason asks for words");
  await tab.fill("#skip-note", "bees, \"many\"");
  await tab.tap("[data-reason=other]");
  await saved(tab);
  for (const [at, [reason, values]] of wanted.entries()) same(await value(tab, at), values, `${reason} is kept`);
  const { text } = await download(tab, "#save-file");
  same(csv(text).map((line) => [line.shoots, line.status, line.note]), [["", "missing", ""], ["", "missing", "dead"], ["", "young", ""], ["", "", "not reached"], ["", "", "left out: bees, \"many\""]], "reasons reach the columns, never as 0");
  await go(tab, "list");
  await tab.tap(".places-list button >> nth=0");
  await tab.tap("#skip");
  await tab.tap("#blank");
  await saved(tab);
  same(await value(tab, 0), null, "a count is taken back");
  await close();
}

export async function fields() {
  const { tab, close } = await open("stretches", { viewport: PHONE });
  check((await words(tab, ".card h2")).includes("stretch a") && /from [\d.]+ ft off the trunk, 1 ft long/.test(await words(tab, ".card .detail")), "the stretch is told", await words(tab, ".card"));
  await tab.tap("#more");
  await tab.fill("#box-primary", "9");
  await tab.fill("#box-base", "2");
  await tab.fill("#box-shoots", "11");
  await tab.tap("#next");
  check((await words(tab, "#error")).includes("not both"), "all shoots and their parts are not both taken");
  await tab.fill("#box-shoots", "");
  await tab.fill("#box-shoot_length", "8,5 x");
  await tab.tap("#next");
  check(/from 0 to 500/.test(await words(tab, "#error")), "a wrong length is told what it may be", await words(tab, "#error"));
  same(await tab.getAttribute("#box-shoot_length", "aria-invalid"), "true", "and marked");
  await tab.fill("#box-shoot_length", "8,5");
  await tab.fill("#box-canopy_length", "4.25");
  await tab.fill("#box-note", "=split, \"late\"");
  await tab.tap("#next");
  await saved(tab);
  const { name, text } = await download(tab, "#save-file");
  const [line] = csv(text);
  const wanted = { window: "a", window_start_ft: line.window_start_ft, shoots: "", primary: "9", base: "2", shoot_length_in: "8.5", canopy_length_ft: "4.25", note: "'=split, \"late\"", counted_by: "Ada", block: "Windows, and “quotes”" };
  check(Number(line.window_start_ft) > 0, "the start of the stretch goes out", line.window_start_ft);
  same(Object.fromEntries(Object.keys(wanted).map((head) => [head, line[head]])), wanted, "every field reaches its column");
  check(text.startsWith("\ufeff"), "letters beyond ASCII come with the mark that spreadsheets need");
  check(/^counts_windows-and-quotes_[0-9a-f]{8}_[0-9a-f]{4}_1\.csv$/.test(name), "the file is named by block, plan, phone and entry", name);
  await close();
}

export async function byKeyboard() {
  const { tab, close } = await open("page", { who: "" });
  await tab.keyboard.press("Tab");
  for (let step = 0; step < 12 && await tab.evaluate(() => document.activeElement.id) !== "who"; step += 1) await tab.keyboard.press("Tab");
  await tab.keyboard.type("Ada");
  await tab.keyboard.press("Enter");
  for (let at = 0; at < 5; at += 1) { await tab.keyboard.type(String(20 + at)); await tab.keyboard.press("Enter"); }
  for (let step = 0; step < 30 && await tab.evaluate(() => document.activeElement.id) !== "box-shoots"; step += 1) await tab.keyboard.press("Tab");
  for (let at = 5; at < 10; at += 1) { await tab.keyboard.type(String(20 + at)); await tab.keyboard.press("Enter"); }
  await saved(tab);
  const found = await tab.evaluate(() => sheet.places.slice(0, 10).map((place) => countSeen(app.counts, place, app.me)?.values.shoots));
  same(found, Array.from({ length: 10 }, (_, at) => String(20 + at)), "ten places are counted with keys alone");
  let stops = 0, bare = 0;
  for (let step = 0; step < 60; step += 1) {
    await tab.keyboard.press("Tab");
    const at = await tab.evaluate(() => {
      const part = document.activeElement;
      return part === document.body ? null : [parseFloat(getComputedStyle(part).outlineWidth), (part.getAttribute("aria-label") || part.textContent || part.labels?.[0]?.textContent || "").trim()];
    });
    if (!at) break;
    stops += 1;
    if (!(at[0] >= 2) || !at[1]) bare += 1;
  }
  check(stops > 15 && stops < 60 && !bare, "the Tab key walks through and out, every stop named and outlined", `${stops}, ${bare}`);
  await close();
}
