"use strict";
// What the codes on the screen carry: each is a small CSV file that `--counts` reads.

const MOST_TEXT = 1200;

// Every count that holds, with its place, in the order of the walk.
const allCounts = (counts) => sheet.places.flatMap((place) => countsAt(counts, place).map((entry) => ({ place, entry })));

// Columns that hold nothing in any of these counts are left out, so that a code holds more counts.
function codeTexts(counts) {
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
