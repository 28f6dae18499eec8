"use strict";
// What the codes on the screen carry. Numbers are written with the high byte first.
//
// Compact: every code is a whole by itself.
//   bytes 0–2    "CW" and the format, 1
//   bytes 3–6    the first four bytes of the plan
//   bytes 7–8    the first two bytes of the phone's own number
//   bytes 9–10   which code this is, from 1, and how many there are
//   bytes 11–14  minutes since 1970 of the first count of all codes
//   byte 15      how many people; then for each the length of the name in bytes, and the name in UTF-8
//   then 7 bytes a count: index of the place in the walk from 0 (2), shoots or 65535 (2), the reason
//   in the high half (0 none, 1 missing, 2 dead, 3 young, 4 replant, 5 renewal, 6 out of reach, 7 other)
//   and the person in the low half (1), minutes since the first count (2)
// Text: every code is a small CSV file that `--counts` reads.

const REASONS = ["", ...Object.keys(SKIPS)];
const MOST_BYTES = 2953, MOST_TEXT = 1200, MOST_PEOPLE = 16, NO_NUMBER = 65535;

const highFirst = (number, bytes) => Array.from({ length: bytes }, (_, at) => Math.floor(number / 256 ** (bytes - 1 - at)) % 256);

const fromHex = (text) => (text.match(/../g) || []).map((two) => parseInt(two, 16));

const minuteOf = (entry) => Math.floor(Date.parse(entry.at) / 60000);

// Every count that holds, with its place, in the order of the walk.
const allCounts = (counts) => sheet.places.flatMap((place) => countsAt(counts, place).map((entry) => ({ place, entry })));

// A name as UTF-8 with its length, cut where a code has no room for more.
function nameBytes(who) {
  const encoder = new TextEncoder();
  const letters = [...who];
  while (encoder.encode(letters.join("")).length > 40) letters.pop();
  const bytes = encoder.encode(letters.join(""));
  return [bytes.length, ...bytes];
}

function byteFrames(counts, device) {
  const all = allCounts(counts);
  if (!all.length) return [];
  const people = [...new Set(all.map(({ entry }) => entry.who))].slice(0, MOST_PEOPLE);
  const first = Math.min(...all.map(({ entry }) => minuteOf(entry)));
  const names = people.flatMap(nameBytes);
  const room = Math.floor((MOST_BYTES - 16 - names.length) / 7);
  const frames = Math.ceil(all.length / room), each = Math.ceil(all.length / frames);
  return Array.from({ length: frames }, (_, at) => Uint8Array.from([
    0x43, 0x57, 1, ...fromHex(sheet.plan.slice(0, 8)), ...fromHex(device.slice(0, 4)), at + 1, frames,
    ...highFirst(first, 4), people.length, ...names,
    ...all.slice(at * each, (at + 1) * each).flatMap((one) => countBytes(one, people, first)),
  ]));
}

function countBytes({ place, entry }, people, first) {
  const shoots = shootsOf(entry.values);
  const reason = REASONS.indexOf(entry.values.skip || "");
  const person = Math.min(MOST_PEOPLE - 1, Math.max(0, people.indexOf(entry.who)));
  return [
    ...highFirst(place.index, 2), ...highFirst(shoots === null ? NO_NUMBER : Math.min(shoots, NO_NUMBER - 1), 2),
    reason * 16 + person, ...highFirst(Math.min(minuteOf(entry) - first, 65535), 2),
  ];
}

// Columns that hold nothing in any of these counts are left out, so that a code holds more counts.
function textFrames(counts) {
  const all = allCounts(counts);
  const carried = ["block", "id", "window", ...heads().filter((head) => /^(window_start|counted_length)/.test(head)),
    "date", ...VALUES.filter((name) => name !== "skip").map(columnOf), "counted_by"];
  const used = carried.filter((head) => all.some(({ place, entry }) => cellsOf(place, entry, head)));
  const encoder = new TextEncoder();
  const head = csvLine(used), frames = [];
  let text = "";
  for (const { place, entry } of all) {
    const line = csvLine(used.map((name) => cellsOf(place, entry, name)));
    if (text && encoder.encode(head + text + line).length > MOST_TEXT) { frames.push(text); text = ""; }
    text += line;
  }
  if (text) frames.push(text);
  return frames.map((lines) => encoder.encode(head + lines));
}

// Draws a code as large as the canvas may be, with the quiet edge of four modules that readers need.
function drawCode(canvas, grid) {
  const side = grid.length + 8;
  const size = Math.max(1, Math.floor((canvas.parentElement.clientWidth * (window.devicePixelRatio || 1)) / side));
  canvas.width = canvas.height = side * size;
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#ffffff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.fillStyle = "#000000";
  grid.forEach((row, y) => row.forEach((dark, x) => { if (dark) pen.fillRect((x + 4) * size, (y + 4) * size, size, size); }));
}
