"use strict";
// The journal: entries that are only ever added. What is counted is worked out from them.
//
// An entry is { device, seq, at, who, place, values } or { device, seq, at, who, undoes }:
//   device  eight hexadecimal digits that this phone drew for itself
//   seq     1, 2, 3 … on that phone
//   at      when, as ISO 8601: the clock of the phone and how far it is off UTC
//   place   the place's `stop`, and its window behind a slash where it has one: "12", "12/a"
//   values  { shoots, primary, secondary, base, suckers, shoot_length, canopy_length, status, note,
//           skip }, each text or absent; {} takes a count back, so that blank differs from 0
//   undoes  the `seq` of an entry of the same phone that no longer counts

const COUNTED = ["shoots", "primary", "secondary", "base", "suckers"];
const PARTS = ["primary", "secondary", "base"];
const VALUES = [...COUNTED, "shoot_length", "canopy_length", "status", "note", "skip"];

// Reasons for not counting, and what they say in the columns of the file.
const SKIPS = {
  missing: { status: "missing" }, dead: { status: "missing", note: "note_dead" }, young: { status: "young" },
  replant: { status: "replant" }, renewal: { status: "renewal" }, out: { note: "note_out" }, other: { note: "note_other" },
};

const placeKey = (place) => (place.window ? `${place.stop}/${place.window}` : String(place.stop));

const placesByKey = new Map(sheet.places.map((place) => [placeKey(place), place]));

const nameOf = (entry) => `${entry.device}-${entry.seq}`;

const isCommon = (place) => place.index < sheet.common;

// All shoots, or the sum of their parts; null where none is given.
function shootsOf(values) {
  if (values.shoots) return Number(values.shoots);
  const given = PARTS.filter((part) => values[part]);
  return given.length ? given.reduce((sum, part) => sum + Number(values[part]), 0) : null;
}

const isDone = (values) => shootsOf(values) !== null || Boolean(values.skip);

// What the entries come to: by place, a list of the counts that hold. On one phone the last one
// wins; at the first places, which everybody counts, the last one of each person.
function tally(entries) {
  const undone = new Set();
  for (const entry of entries) if (entry.undoes) undone.add(`${entry.device}-${entry.undoes}`);
  const held = new Map();
  const inOrder = [...entries].sort((a, b) => a.seq - b.seq);
  for (const entry of inOrder) {
    const place = placesByKey.get(entry.place);
    if (!place || undone.has(nameOf(entry))) continue;
    const slots = held.get(entry.place) || held.set(entry.place, new Map()).get(entry.place);
    const slot = isCommon(place) ? `${entry.device} ${entry.who}` : entry.device;
    slots.set(slot, entry);
  }
  return new Map([...held].map(([key, slots]) => [key, [...slots.values()].filter((entry) => isDone(entry.values))]));
}

const countsAt = (counts, place) => counts.get(placeKey(place)) || [];

// The count that a person sees at a place: their own where everybody counts, else this phone's, else
// another phone's.
function countSeen(counts, place, { who, device }) {
  const all = countsAt(counts, place);
  if (isCommon(place)) return all.findLast((entry) => entry.who === who) || null;
  return all.find((entry) => entry.device === device) || all[0] || null;
}

const doneBy = (counts, me) => sheet.places.filter((place) => countSeen(counts, place, me)).length;

// The next place in the walk that is not done, from the beginning again after the last; null at the end.
function nextPlace(counts, me, after) {
  const turn = [...sheet.places.slice(after + 1), ...sheet.places.slice(0, after + 1)];
  return turn.find((place) => !countSeen(counts, place, me)) || null;
}

// The last entry of this phone that can be undone.
function lastToUndo(entries, device) {
  const own = entries.filter((entry) => entry.device === device);
  const undone = new Set(own.filter((entry) => entry.undoes).map((entry) => entry.undoes));
  return own.filter((entry) => entry.place && !undone.has(entry.seq)).sort((a, b) => b.seq - a.seq)[0] || null;
}

// Places with several counts that are not the same. Where everybody counts, people may differ, but one
// person's counts on two phones may not.
function conflicts(counts) {
  return sheet.places.flatMap((place) => {
    const groups = new Map();
    for (const entry of countsAt(counts, place)) {
      const group = isCommon(place) ? entry.who : "";
      groups.set(group, [...(groups.get(group) || []), entry]);
    }
    return [...groups.values()].filter(differ).map((all) => ({ place, all }));
  });
}

const differ = (all) => new Set(all.map((entry) => JSON.stringify(VALUES.map((name) => entry.values[name] || "")))).size > 1;

// How many shoots a person counts for every one of another, over the first places that both counted.
function ratios(counts) {
  const by = new Map();
  for (const place of sheet.places.filter(isCommon)) {
    for (const entry of countsAt(counts, place)) {
      const shoots = shootsOf(entry.values);
      if (shoots === null) continue;
      const own = by.get(entry.who) || by.set(entry.who, new Map()).get(entry.who);
      own.set(placeKey(place), shoots);
    }
  }
  const [one, ...others] = [...by.keys()].sort();
  return others.flatMap((other) => {
    const both = [...by.get(one).keys()].filter((key) => by.get(other).has(key));
    const sum = (who) => both.reduce((total, key) => total + by.get(who).get(key), 0);
    return both.length && sum(one) > 0 ? [{ one, other, ratio: sum(other) / sum(one), n: both.length }] : [];
  });
}

// ---- Journals as files ----

const JOURNAL = "counts journal";

// A journal brings its places with it, so that `--counts` reads it alone. The entries come last: of a
// journal that is cut off, all whole ones can still be read.
function journalText(entries, device) {
  const { plan, block, units, columns, common } = sheet;
  const places = sheet.places.map((place) => place.cells);
  return JSON.stringify({ kind: JOURNAL, format: 1, plan, block, device, units, common, columns, places, entries });
}

// Now, by the clock of the phone and with its offset: the day is that of the place where it was counted,
// whoever reads it.
function stamp(now) {
  const off = -now.getTimezoneOffset();
  const two = (number) => String(Math.trunc(Math.abs(number))).padStart(2, "0");
  const clock = new Date(now.getTime() + off * 60000).toISOString().slice(0, -1);
  return `${clock}${off < 0 ? "-" : "+"}${two(off / 60)}:${two(off % 60)}`;
}

const WHEN = /^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d{1,9})?(Z|[+-]\d{2}:\d{2})$/;

// Entries of another journal that are new here: { fresh, clashes, device }, or { refused: words }.
function readJournal(text, known) {
  let read = null;
  try { read = JSON.parse(text); } catch { return { refused: say("no_journal") }; }
  if (!read || read.kind !== JOURNAL || !Array.isArray(read.entries)) return { refused: say("no_journal") };
  if (read.plan !== sheet.plan) {
    const [plan, own_plan] = [String(read.plan).slice(0, 8), sheet.plan.slice(0, 8)];
    return { refused: say("other_plan", { block: read.block, plan, own: sheet.block, own_plan }) };
  }
  const entries = read.entries.map(checkedEntry);
  if (entries.includes(null)) return { refused: say("no_journal") };
  const here = new Map(known.map((entry) => [nameOf(entry), JSON.stringify(checkedEntry(entry))]));
  const fresh = new Map();
  let clashes = 0;
  for (const entry of entries) {
    const same = here.get(nameOf(entry)) || (fresh.has(nameOf(entry)) && JSON.stringify(fresh.get(nameOf(entry))));
    if (!same) fresh.set(nameOf(entry), entry);
    else if (same !== JSON.stringify(entry)) clashes += 1;
  }
  return { fresh: [...fresh.values()], clashes, device: String(read.device).slice(0, 4) };
}

// An entry with what belongs to it and nothing else, or null.
function checkedEntry(entry) {
  const { device, seq, at, who, place, undoes, values } = entry || {};
  const short = (text) => typeof text === "string" && text.length <= 500;
  const whole = (number) => Number.isSafeInteger(number) && number > 0;
  if (!/^[0-9a-f]{8}$/.test(device) || !whole(seq) || !short(who)) return null;
  if (!WHEN.test(at) || Number.isNaN(Date.parse(at))) return null;
  if (undoes !== undefined) return whole(undoes) ? { device, seq, at, who, undoes } : null;
  if (!placesByKey.has(place) || typeof values !== "object" || !values) return null;
  const own = {};
  for (const name of VALUES) if (short(values[name]) && values[name]) own[name] = values[name];
  if (own.skip && !Object.hasOwn(SKIPS, own.skip)) return null;
  if (COUNTED.some((name) => own[name] && !/^\d{1,4}$/.test(own[name]))) return null;
  return { device, seq, at, who, place, values: own };
}
