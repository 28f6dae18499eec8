// Journals of a count sheet, merged by the page's own functions: the judge of how --counts reads them.
// node journals.mjs DATA.json SRC OUT ROUNDS: for every round OUT gets three journals and the table
// that the page writes of them together.
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const [data, src, out, rounds] = process.argv.slice(2);
const parts = ["format.js", "words.js", "journal.js", "table.js"].map((name) => readFileSync(join(src, name), "utf8"));
globalThis.document = { getElementById: () => ({ textContent: readFileSync(data, "utf8") }) };
const page = new Function(`${parts.join("\n").replaceAll('"use strict";', "")}
  return { sheet, tally, readJournal, journalText, csvFile, placeKey };`)();
const { sheet, tally, readJournal, journalText, csvFile, placeKey } = page;

// A generator of its own (LCG of 32 bits), so that every run makes the same journals.
let state = 20260525;
const below = (most) => { state = (Math.imul(state, 1664525) + 1013904223) >>> 0; return Math.floor((state / 2 ** 32) * most); };
const one = (all) => all[below(all.length)];

const NOTES = ["", "", "wind", "two, close", 'said "old"', "=cmd", "-3 shoots?", "Rèze\u00a0x", "’"];
const SKIPS = [{ status: "missing" }, { status: "young" }, { note: "not reached" }];

function values() {
  const kind = below(8), note = one(NOTES);
  const noted = note ? { note } : {};
  if (kind === 0) return {};
  if (kind === 1) return { skip: one(["missing", "out", "other"]), ...one(SKIPS) };
  if (kind === 2) return { primary: String(below(30)), secondary: String(below(5)), suckers: String(below(3)), ...noted };
  if (kind === 3) return { shoots: String(below(30)), shoot_length: `${below(40)}.5`, canopy_length: "1", ...noted };
  return { shoots: String(below(30)), ...noted };
}

// What a phone tapped: entries with gaps nowhere, some of them taken back.
function phone(device, people, most) {
  const entries = [];
  for (let seq = 1; seq <= most; seq += 1) {
    const at = `2026-05-${10 + below(3)}T${10 + below(13)}:3${below(9)}:00.000${one(["+02:00", "-07:00", "Z"])}`;
    const undo = seq > 1 && below(6) === 0;
    const act = undo ? { undoes: 1 + below(seq - 1) } : { place: placeKey(one(sheet.places)), values: values() };
    entries.push({ device, seq, at, who: one(people), ...act });
  }
  return entries;
}

for (let round = 0; round < Number(rounds); round += 1) {
  const phones = ["0000aaaa", "7f3e0001", "c0ffee00"].map((device) => phone(device, ["Ada", "Bo"], 1 + below(30)));
  // The second phone has opened an older journal of the first, the third shares people with both.
  phones[1].push(...phones[0].slice(0, below(phones[0].length)));
  let known = [];
  phones.forEach((entries, at) => {
    const text = journalText(entries, entries[0].device);
    writeFileSync(join(out, `${round}-${at}.json`), text);
    const read = readJournal(text, known);
    if (read.refused) throw new Error(read.refused);
    known = [...known, ...read.fresh];
  });
  writeFileSync(join(out, `${round}.csv`), csvFile(tally(known)));
}
