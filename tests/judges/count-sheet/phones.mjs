// Journals of other phones, other people, other windows.
import { check, count, csv, download, go, merge, open, ready, same, words } from "./tools.mjs";

export async function merging() {
  const one = await open("page"), two = await open("page", { who: "Ben" });
  await count(one.tab, 30, 30, 30, 30, 30, 41, 42);
  await count(two.tab, 33, 33, 33, 33, 33, 41, 44, 45);
  const journal = await download(two.tab, "#save-journal");
  check(/^counts_south-brae_[0-9a-f]{8}_[0-9a-f]{4}_8\.json$/.test(journal.name), "a journal is named by block, plan, phone and entry", journal.name);
  check((await merge(one.tab, journal.path)).startsWith("8 new entries from phone"), "another phone's entries come in", await words(one.tab, "#merged"));
  const after = await one.tab.evaluate(() => [app.entries.length, csvText(app.counts)]);
  check((await merge(one.tab, journal.path)).startsWith("Nothing new"), "the same journal twice is nothing new");
  same(await one.tab.evaluate(() => [app.entries.length, csvText(app.counts)]), after, "and changes nothing");
  const clashes = await one.tab.locator("#conflicts li").allTextContents();
  check(clashes.length === 1 && /^Row 6, vines 37 to 40: 42 \(Ada.*; 44 \(Ben/.test(clashes[0]), "two numbers for one place are listed", clashes.join("; "));
  const lines = csv(after[1]);
  same(lines.filter((line) => line.stop === "7").map((line) => [line.shoots, line.counted_by]), [["42", "Ada"], ["44", "Ben"]], "and both go into the file");
  same(await words(one.tab, "#ratios"), "Ben counts 1.10 shoots for every shoot that Ada counts (5 places).", "people are set beside each other");
  same(await words(one.tab, "#progress"), "8 of 33 done, 25 left", "what the other phone did is done");
  await one.tab.reload();
  await ready(one.tab);
  same(await one.tab.evaluate(() => app.entries.length), after[0], "what came in is kept");
  await refusals(one.tab, journal);
  await one.close();
  await two.close();
}

async function refusals(tab, journal) {
  const put = (text) => ({ name: "x.json", mimeType: "application/json", buffer: Buffer.from(text) });
  const entries = await tab.evaluate(() => app.entries.length);
  const other = await open("other");
  await count(other.tab, 5);
  const foreign = await download(other.tab, "#save-journal");
  const plan = await other.tab.evaluate(() => sheet.plan.slice(0, 8));
  await other.close();
  const said = await merge(tab, put(foreign.text));
  check(said.includes(`Open the count sheet of Other Block, ${plan}`), "a journal of another plan is refused with the right one's name", said);
  const read = JSON.parse(journal.text);
  for (const wrong of ["no json", "{}", JSON.stringify({ ...read, entries: [{ ...read.entries[0], device: "<b>" }] }), JSON.stringify({ ...read, entries: [{ ...read.entries[0], values: { shoots: "-5" } }] })]) {
    check((await merge(tab, put(wrong))).startsWith("This file is not a journal"), `${wrong.slice(0, 12)} is no journal`, await words(tab, "#merged"));
  }
  const changed = { ...read, entries: read.entries.map((entry) => ({ ...entry, values: { shoots: "99" } })) };
  check((await merge(tab, put(JSON.stringify(changed)))).includes("8 entries differ"), "entries that changed under their number are left out", await words(tab, "#merged"));
  same(await tab.evaluate(() => app.entries.length), entries, "nothing refused came in");
}

export async function people() {
  const { tab, close } = await open("page");
  await count(tab, 20, 20, 20, 20, 20, 20);
  await go(tab, "send");
  await tab.tap("#who-change");
  await tab.fill("#who", "Ben");
  await tab.tap("#who-go");
  same([await words(tab, "#progress"), await words(tab, ".card h2")], ["1 of 33 done, 32 left", "Row 1, vines 69 to 72"], "somebody else begins with the first five");
  await count(tab, 18, 18, 18, 18, 18);
  same(await words(tab, ".card h2"), "Row 6, vines 37 to 40", "and then goes on where nobody was");
  await go(tab, "send");
  same(await words(tab, "#ratios"), "Ben counts 0.90 shoots for every shoot that Ada counts (5 places).", "one phone sets people beside each other too");
  check(await tab.locator("#conflicts").count() === 0, "which is no conflict");
  await close();
}

// Two windows of one sheet: numbers of entries are never used twice, and each learns of the other.
export async function twoWindows() {
  const { tab, close } = await open("page");
  const other = await tab.context().newPage();
  await other.goto(tab.url());
  await ready(other);
  await count(tab, 11);
  await count(other, 12);
  await count(tab, 13);
  await tab.reload();
  await ready(tab);
  const seqs = await tab.evaluate(() => app.entries.map((entry) => `${entry.seq}:${entry.values.shoots}`).sort());
  same(seqs, ["1:11", "2:12", "3:13"], "two windows lose nothing of each other");
  await other.evaluate(() => document.dispatchEvent(new Event("visibilitychange")));
  await other.waitForFunction(() => app.entries.length === 3);
  check(true, "and learn of each other on waking");
  await close();
}
