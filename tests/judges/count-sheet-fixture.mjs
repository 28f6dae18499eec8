// Count sheets for the judge: `node count-sheet-fixture.mjs SAMPLE BLOCKS OUT` writes page.html from what
// `sample` wrote into the folder SAMPLE and the blocks it read, and invented ones beside it. What is
// here in JavaScript is there to be ported line by line: `page` is the markup, `data` the JSON.
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

const SOURCE = fileURLToPath(new URL("../../src/write/count_sheet/", import.meta.url));
const SCRIPTS = ["format", "words", "journal", "store", "table", "code", "frames", "parts", "places", "count", "list",
  "send", "sheet"];
const COMMON = 5;

const read = (file) => readFileSync(file, "utf8");
const sha256 = (text, form) => createHash("sha256").update(text).digest(form);
const text = (words) => String(words).replace(/[&<>"']/g, (letter) => `&#${letter.charCodeAt(0)};`);

// ---- The markup ----

export function page(data, svg) {
  const style = read(`${SOURCE}sheet.css`), script = SCRIPTS.map((name) => read(`${SOURCE}${name}.js`)).join("");
  const hash = (source) => `'sha256-${sha256(source, "base64")}'`;
  const policy = `default-src 'none'; style-src ${hash(style)}; script-src ${hash(script)}; img-src data: blob:; `
    + "connect-src 'none'; base-uri 'none'; form-action 'none'";
  const json = JSON.stringify(data).replace(/</g, "\\u003c");
  return `<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta http-equiv="Content-Security-Policy" `
    + `content="${policy}">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n<meta name="color-scheme" `
    + `content="light dark">\n<title>${text(data.block)}: count sheet ${data.plan.slice(0, 8)}</title>\n<style>${style}</style>\n</head>\n`
    + `<body>\n<header><h1>${text(data.block)}</h1><p class="sub">Count sheet, ${data.places.length} places, plan ${data.plan.slice(0, 8)}</p></header>\n`
    + `<main>\n<div id="live" hidden></div>\n<script type="application/json" id="data">${json}</script>\n<script>${script}</script>\n`
    + `${paper(data, svg)}</main>\n</body>\n</html>\n`;
}

function paper(data, svg) {
  const stretch = data.places.some((place) => place.window) ? " Count only the stretch that stands beside the place." : "";
  return `<section id="paper" aria-label="Paper sheet">\n<h2 tabindex="-1">What to do</h2>\n<ol>\n`
    + `<li>Walk the places in their order. Find the row by its number, then the panel between its posts, counted from vine 1’s end.</li>\n`
    + `<li>Count every shoot on all vines of the place together, and write the number in its box. Write 0 if there is none; leave the box empty if you did not count.${stretch}</li>\n`
    + `<li>If no vine stands there, or it is dead or young, write that in the note instead of a number.</li>\n`
    + `<li>Everybody who counts counts the first ${Math.min(data.common, data.places.length)} places.</li>\n</ol>\n`
    + `<p class="write">Date<span></span>Counted by<span></span></p>\n<h2>Map</h2>\n<div class="map">${svg}</div>\n<h2 id="h-places">Places</h2>\n${table(data)}</section>\n`;
}

function table(data) {
  const rows = [];
  for (const place of data.places) {
    const last = rows[rows.length - 1];
    if (last && last[0].row === place.row) last.push(place);
    else rows.push([place]);
  }
  return `<table class="places"><caption>In the order of the walk, with a total for every row of vines that has several</caption>\n<thead><tr>`
    + `<th scope="col">No.</th><th scope="col">Place</th><th scope="col">Shoots</th><th scope="col">Note</th></tr></thead>\n`
    + `${rows.map(tableRow).join("")}</table>\n`;
}

function tableRow(places) {
  const box = '<td class="box"></td>';
  const one = (place) => `<tr data-stop="${place.stop}"><th scope="row">${place.stop}</th><td>${text(where(place))}<small>${text(within(place))}</small></td>${box}${box}</tr>\n`;
  const total = `<tr class="total"><td></td><td>Row ${places[0].row}, total</td>${box}<td></td></tr>`;
  return `<tbody>${places.map(one).join("")}${places.length > 1 ? total : ""}</tbody>\n`;
}

function where(place) {
  const [first, last] = place.vines;
  return first === last ? `Row ${place.row}, vine ${first}` : `Row ${place.row}, vines ${first} to ${last}`;
}

function within(place) {
  const stretch = place.window ? `, stretch ${place.window}: from ${place.start} off the trunk, ${place.length} long` : "";
  return `panel ${place.panel}${stretch}`;
}

// ---- The map ----

// Ground in metres, east and north of a corner, to a drawing of a thousand units.
function drawing(outlines, points) {
  const all = [...outlines.flat(), ...points];
  const [x0, y1] = [Math.min(...all.map((at) => at[0])), Math.max(...all.map((at) => at[1]))];
  const [x1, y0] = [Math.max(...all.map((at) => at[0])), Math.min(...all.map((at) => at[1]))];
  const scale = 960 / Math.max(x1 - x0, y1 - y0);
  const put = ([x, y]) => [20 + (x - x0) * scale, 20 + (y1 - y) * scale].map((part) => Math.round(part * 10) / 10);
  return { put, width: Math.round(40 + (x1 - x0) * scale), height: Math.round(40 + (y1 - y0) * scale) };
}

function map(data, outlines, points) {
  const { put, width, height } = drawing(outlines, points);
  const path = (ring) => `M${ring.map((at) => put(at).join(" ")).join("L")}Z`;
  const stops = data.places.map((place, at) => [place, put(points[at])]).filter(([place]) => place.window !== "b");
  const dot = ([place, [x, y]]) => `<circle data-stop="${place.stop}" cx="${x}" cy="${y}" r="11" fill="#ffffff" stroke="#1e2124" stroke-width="2"/>`
    + `<text x="${x + 15}" y="${y + 10}" font-size="30" fill="#1e2124">${place.stop}</text>`;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img" aria-labelledby="map-title map-desc">`
    + `<title id="map-title">Map of the places to count</title><desc id="map-desc">The outline of the block, north up, with the places numbered in the order of the walk. The table of places says the same.</desc>`
    + `<path d="${outlines.map(path).join("")}" fill="#faf9f6" stroke="#54585c" stroke-width="2"/>`
    + `<path d="M${stops.map(([, at]) => at.join(" ")).join("L")}" fill="none" stroke="#8c2d04" stroke-width="2" stroke-dasharray="6 5"/>${stops.map(dot).join("")}</svg>`;
}

// ---- The data, from what `sample` wrote ----

function csvRows(written) {
  const rows = [[]];
  for (const [, cell, quoted, end] of written.matchAll(/("((?:[^"]|"")*)"|[^,\r\n]*)(,|\r?\n|$)/g)) {
    rows[rows.length - 1].push(quoted === undefined ? cell : quoted.replace(/""/g, '"'));
    if (end !== ",") rows.push([]);
  }
  return rows.filter((row) => row.length > 1);
}

export function fromSample(folder, blocks, name) {
  const written = read(`${folder}/sample.csv`);
  const [columns, ...lines] = csvRows(written);
  const features = JSON.parse(read(`${folder}/sample.geojson`)).features;
  const block = features[0].properties.block;
  const outline = JSON.parse(read(blocks)).features.find((one) => one.properties.name === block).geometry.coordinates[0];
  const [lon, lat] = outline[0];
  const ground = ([x, y]) => [(x - lon) * 111320 * Math.cos((lat * Math.PI) / 180), (y - lat) * 111320];
  const places = lines.map((cells, at) => {
    const { row, panel, find, window, window_start_m: start, counted_length_m: length, stop } = features[at].properties;
    const [first, last] = /vines (\d+) to (\d+)$/.exec(find).slice(1).map(Number);
    if (name) cells[columns.indexOf("block")] = name;
    return { cells, stop, row, panel, vines: [first, last], piece: null, window, start, length, at: features[at].geometry.coordinates };
  });
  const points = places.map((place) => ground(place.at));
  walks(places, points);
  const data = { format: 1, plan: sha256(written + (name || ""), "hex"), block: name || block, file: (name || block).toLowerCase().replace(/[^a-z0-9]+/g, "-"),
    units: "metric", posts: true, columns, common: COMMON, places, words: {} };
  return page(data, map(data, [outline.map(ground)], points));
}

// Good enough to look at: the program knows the ends of the rows.
function walks(places, points) {
  places.forEach((place, at) => {
    const before = places[at - 1];
    place.walk = before ? Math.round(Math.hypot(points[at][0] - points[at - 1][0], points[at][1] - points[at - 1][1]) * 10) / 10 : null;
    place.end = !before || before.row === place.row ? null : before.vines[0] + place.vines[0] < 76 ? "first" : "last";
  });
}

// ---- An invented block: so many rows and vines, so many places, single vines with two stretches or panels ----

export function invented({ rows, vines, stops, stretches = false, units = "metric", name = "Invented Block", seed = 1 }) {
  const unit = units === "us" ? ["ft", "in"] : ["m", "cm"];
  const columns = ["stop", "block", "id", "row", "panel", "place", "find", ...(stretches ? ["window", `window_start_${unit[0]}`, `counted_length_${unit[0]}`] : []),
    "date", "visit", "shoots", "primary", "secondary", "base", "suckers", "status", "counted_by", `shoot_length_${unit[1]}`, "note", "drawn", "drawn_number", "drawn_from"];
  const places = [], points = [];
  for (let at = 0; at < stops; at += 1) {
    const row = 1 + Math.floor((at * rows) / stops), panel = 1 + ((at * 7 + seed) % Math.floor(vines / 4));
    const first = panel * 4 - 3, id = `R${String(row).padStart(3, "0")}${stretches ? `V${String(first).padStart(3, "0")}` : `P${String(panel).padStart(2, "0")}`}`;
    const letters = stretches ? ["a", "b"] : [null];
    letters.forEach((window, which) => {
      const start = window ? 0.25 + which * 1.5 : null, length = window ? 1 : null;
      const cells = [at + 1, name, id, row, panel, stretches ? 1 : "", `row ${row}, panel ${panel}`, ...(stretches ? [window, start, length] : []),
        ...Array.from({ length: 11 }, () => ""), "mean", stops, 500].map(String);
      places.push({ cells, stop: at + 1, row, panel, vines: [first, stretches ? first : first + 3], piece: null, window, start, length, at: null });
      points.push([row * 2.4, first * 1.2]);
    });
  }
  walks(places, points);
  const data = { format: 1, plan: sha256(JSON.stringify([name, stops, seed]), "hex"), block: name, file: name.toLowerCase().replace(/[^a-z0-9]+/g, "-"),
    units, posts: true, columns, common: COMMON, places, words: {} };
  const corner = [[0, 0], [rows * 2.4 + 2.4, 0], [rows * 2.4 + 2.4, vines * 1.2], [0, vines * 1.2]];
  const lines = Array.from({ length: rows }, (_, at) => [[(at + 1) * 2.4, 0], [(at + 1) * 2.4, vines * 1.2]]);
  return page(data, map(data, [corner, ...(rows > 100 ? lines : [])], points));
}

const [sample, blocks, out] = process.argv.slice(2);
if (out && process.argv[1] === fileURLToPath(import.meta.url)) {
  mkdirSync(out, { recursive: true });
  const put = (file, html) => writeFileSync(`${out}/${file}.html`, html);
  put("page", fromSample(sample, blocks));
  put("evil", fromSample(sample, blocks, "</script><img src=x onerror=alert(1)>"));
  put("sixty", invented({ rows: 40, vines: 80, stops: 60 }));
  put("other", invented({ rows: 40, vines: 80, stops: 60, name: "Other Block", seed: 2 }));
  put("stretches", invented({ rows: 20, vines: 40, stops: 12, stretches: true, units: "us", name: "Windows, and “quotes”" }));
  put("large", invented({ rows: 250, vines: 120, stops: 200, name: "Large Block" }));
}
