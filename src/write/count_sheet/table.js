"use strict";
// Counts as a table that `--counts` reads, and as a list to read aloud.

// The column of a value in the file; lengths carry their unit in its name.
const UNIT = sheet.units === "us" ? { start: "ft", shoot: "in" } : { start: "m", shoot: "cm" };
const COLUMN = { shoot_length: `shoot_length_${UNIT.shoot}`, canopy_length: `canopy_length_${UNIT.start}` };

const columnOf = (value) => COLUMN[value] || value;

// The heads of the sheet, with those that it lacks before `note`.
function heads() {
  const wanted = [...VALUES.filter((name) => name !== "skip").map(columnOf), "date", "counted_by"];
  const lacking = wanted.filter((head) => !sheet.columns.includes(head));
  const at = sheet.columns.includes("note") ? sheet.columns.indexOf("note") : sheet.columns.length;
  return [...sheet.columns.slice(0, at), ...lacking, ...sheet.columns.slice(at)];
}

// The day where the count was made, not that of Greenwich.
const localDate = (at) => at.slice(0, 10);

function localTime(at) {
  const time = new Date(at);
  return `${String(time.getHours()).padStart(2, "0")}:${String(time.getMinutes()).padStart(2, "0")}`;
}

// RFC 4180: quotes around what holds a comma, a quote or a line end. A cell that a spreadsheet would
// take for a formula gets a leading ', as in every table that the program writes.
function csvCell(text) {
  const plain = /^[=+\-@\t\r\n＝＋－＠]/.test(text) && !/^[+-]?\d+(\.\d+)?$/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(plain) ? `"${plain.replace(/"/g, '""')}"` : plain;
}

const csvLine = (cells) => `${cells.map(csvCell).join(",")}\r\n`;

function cellsOf(place, entry, head) {
  if (head === "date") return localDate(entry.at);
  if (head === "counted_by") return entry.who;
  const value = VALUES.find((name) => columnOf(name) === head);
  return value ? entry.values[value] || "" : cellOf(place, head);
}

// One line a count; places that nobody counted are left out, so that blank is never 0.
function csvText(counts) {
  const all = heads();
  const lines = sheet.places.flatMap((place) =>
    countsAt(counts, place).map((entry) => csvLine(all.map((head) => cellsOf(place, entry, head)))));
  return csvLine(all) + lines.join("");
}

// With a byte-order mark where spreadsheets need one: when the text is not plain ASCII.
const csvFile = (counts) => (/[^\x00-\x7f]/.test(csvText(counts)) ? "\ufeff" : "") + csvText(counts);

function fileName(entries, device, ending) {
  const last = entries.reduce((most, entry) => (entry.device === device ? Math.max(most, entry.seq) : most), 0);
  return `counts_${sheet.file}_${sheet.plan.slice(0, 8)}_${device.slice(0, 4)}_${last}.${ending}`;
}

// ---- Reading aloud ----

// 23 letters that are not taken for one another or for a digit; 23 is a prime number.
const LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ";

// The letter of a row: its number, and every count times its place in the line. One wrong count or two
// that changed places give another letter, unless they are off by 23 or a multiple of it.
function checkLetter(row, values) {
  const sum = values.reduce((total, value, at) => total + (at % 22 + 2) * (value === null ? 11 : value), row);
  return LETTERS[sum % 23];
}

// By row of vines, in the order of the walk: [{ row, said: [[where, value or null]], total, letter }].
function aloud(counts, me) {
  const rows = new Map();
  for (const place of sheet.places) {
    const entry = countSeen(counts, place, me);
    if (!entry) continue;
    const line = rows.get(place.row) || rows.set(place.row, []).get(place.row);
    line.push([placeShort(place), shootsOf(entry.values)]);
  }
  return [...rows].map(([row, said]) => {
    const values = said.map(([, value]) => value);
    const total = values.reduce((sum, value) => sum + (value || 0), 0);
    return { row, said, total, letter: checkLetter(row, values) };
  });
}
