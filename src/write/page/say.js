"use strict";
// Finding a vine, a panel, a row or a zone by what people write, and saying what is known of it.

const name = (letter, number, digits) => letter + String(number).padStart(digits, "0");

const vineId = (block, row, vine) => name("R", row, block.digits[0]) + name("V", vine, block.digits[1]);

// What was asked for: { kind, … }, or { kind: "unknown", why }.
function find(block, written) {
  const text = written.trim().toUpperCase().replace(/\s+/g, " ");
  const own = block.zones.findIndex((zone) => [zone.id, zone.name].some((word) => word && word.toUpperCase() === text));
  if (own >= 0) return { kind: "zone", zone: own };
  const zone = /^Z ?0*(\d+)$/.exec(text);
  if (zone) return findZone(block, Number(zone[1]));
  const panel = /^(?:R(?:OW)? ?)?0*(\d+)[A-Z]? ?P(?:ANEL)? ?0*(\d+)$/.exec(text);
  if (panel) return findPanel(block, Number(panel[1]), Number(panel[2]));
  const vine = /^(?:R(?:OW)? ?)?0*(\d+)[A-Z]? ?(?:V(?:INE)? ?|[/,.:;-] ?| )0*(\d+)$/.exec(text);
  if (vine) return findVine(block, Number(vine[1]), Number(vine[2]));
  const row = /^(?:R(?:OW)? ?)?0*(\d+)([A-Z]?)$/.exec(text);
  if (row) return findRow(block, Number(row[1]), row[2].toLowerCase());
  if (!text) return { kind: "unknown", why: "Write a row and a vine, such as 12/34." };
  return { kind: "unknown", why: `“${written.trim()}” is no row, vine, panel or zone. Write 12/34 or R012V034 for a vine, R012P07 for a panel, R012 for a row, Z1 for a zone.` };
}

function piecesOf(block, row) {
  const found = [];
  block.pieces.forEach((piece, index) => { if (piece[0] === row) found.push(index); });
  return found;
}

function noRow(block, row) {
  const rows = block.pieces.map((piece) => piece[0]);
  return { kind: "unknown", why: `There is no row ${row} here: rows run from ${Math.min(...rows)} to ${Math.max(...rows)}.` };
}

function findZone(block, number) {
  const ids = block.zones.map((zone) => zone.id).join(", ");
  return { kind: "unknown", why: `There is no zone Z${number} here: zones are ${ids}.` };
}

function findRow(block, row, letter) {
  const all = piecesOf(block, row);
  const pieces = letter ? all.filter((piece) => block.pieces[piece][1] === letter) : all;
  if (!all.length) return noRow(block, row);
  if (!pieces.length) return { kind: "unknown", why: `Row ${row} has no piece ${letter}.` };
  return { kind: "row", row, letter, spans: pieces.map((piece) => [block.starts[piece], block.starts[piece + 1] - 1]) };
}

function findVine(block, row, vine) {
  const pieces = piecesOf(block, row);
  if (!pieces.length) return noRow(block, row);
  for (const piece of pieces) {
    for (let at = block.starts[piece]; at < block.starts[piece + 1]; at += 1) {
      if (vineOf(block, at).vine === vine) return { kind: "vine", vine: at };
    }
  }
  const [first, last] = [block.starts[pieces[0]], block.starts[pieces[pieces.length - 1] + 1] - 1];
  const [from, to] = [first, last].map((at) => vineOf(block, at).vine);
  return { kind: "unknown", why: `Row ${row} has no vine ${vine}: its vines run from ${from} to ${to}.` };
}

function findPanel(block, row, panel) {
  const pieces = piecesOf(block, row);
  if (!pieces.length) return noRow(block, row);
  let last = 0;
  for (const piece of pieces) {
    const [numbers, sizes] = block.pieces[piece].slice(9, 11);
    const past = block.starts[piece + 1];
    for (let at = block.starts[piece], i = 0; at < past; i += 1) {
      const number = numbers.length > 1 ? numbers[i] : numbers[0] + i;
      const end = Math.min(at + sizes[Math.min(i, sizes.length - 1)], past);
      if (number === panel) return { kind: "panel", row, panel, span: [at, end - 1], index: block.panelStarts[piece] + i };
      last = number;
      at = end;
    }
  }
  return { kind: "unknown", why: `Row ${row} has no panel ${panel}: its panels run to ${last}.` };
}

// ---- What is said ----

const SPREAD = "9 times in 10";

const tenth = (value) => (value / 10).toFixed(1);

function shootsWords(numbers, at) {
  const [shoots, low, high] = [numbers.shoots[at], numbers.low[at], numbers.high[at]];
  if (shoots === null) return "Nothing can be said of its shoots.";
  if (low === null) return `About ${shoots} shoots; how far that is off cannot be said.`;
  return `About ${shoots} shoots (${shoots - low} to ${shoots + high}, ${SPREAD}).`;
}

function vineWords(block, at) {
  const { row, vine } = vineOf(block, at);
  const zone = block.zones[block.zone[at]];
  const numbers = numbersOf(block);
  const status = numbers.status.get(at);
  const head = vineId(block, row, vine);
  const place = `Row ${row}, vine ${vine}${zone ? `, zone ${zone.id} (${zone.verdict})` : ""}.`;
  if (status === "missing") return [head, `${place} No vine stands here.`];
  const parts = [place, shootsWords(numbers, at)];
  if (status) parts.push(`Marked as ${status}.`);
  if (numbers.off[at] > 0) parts.push(`To take off: about ${tenth(numbers.off[at])}.`);
  else if (zone) parts.push("None to take off by number.");
  block.layers.forEach((layer, index) => {
    const value = numbers.values[index][at];
    if (value === null) return;
    const number = (value / 10 ** layer.decimals).toFixed(layer.decimals).replace("-", "−");
    const signed = layer.signed && value > 0 ? `+${number}` : number;
    parts.push(`${layer.short}: ${signed}${layer.unit ? ` ${layer.unit}` : ""}.`);
  });
  parts.push(numbers.counted.has(at) ? "This vine was counted." : "Not counted: look at the vine before cutting.");
  const ofShoots = block.layers.find((layer) => layer.id !== "vigor");
  if (ofShoots?.little?.[at] === 1) parts.push("The counts say little about this place.");
  return [head, parts.join(" ")];
}

function meanWords(block, mean) {
  if (!mean || mean[0] === null) return "Too few counts to say how crowded it is.";
  const range = mean[1] === null ? "" : ` (${tenth(mean[1])} to ${tenth(mean[2])}, ${SPREAD})`;
  return `About ${tenth(mean[0])} ${block.unit}${range}.`;
}

function spanWords(block, spans) {
  const numbers = numbersOf(block);
  let vines = 0, off = 0, gaps = 0;
  for (const [first, last] of spans) {
    for (let at = first; at <= last; at += 1) {
      if (numbers.status.get(at) === "missing") gaps += 1;
      else { vines += 1; off += numbers.off[at] || 0; }
    }
  }
  const standing = `${vines} ${vines === 1 ? "vine" : "vines"}${gaps ? ` and ${gaps} empty` : ""}`;
  return [standing, off > 0 ? `To take off: about ${Math.round(off / 10)} shoots.` : "None to take off by number."];
}

function words(block, found) {
  if (found.kind === "zone") {
    const zone = block.zones[found.zone];
    return [zone.name ? `${zone.id} ${zone.name}` : zone.id, zone.said];
  }
  if (found.kind === "vine") return vineWords(block, found.vine);
  if (found.kind === "panel") {
    const { row, panel, span, index } = found;
    const [from, to] = span.map((at) => vineOf(block, at).vine);
    const [standing, off] = spanWords(block, [span]);
    const head = name("R", row, block.digits[0]) + name("P", panel, block.digits[2]);
    const places = from === to ? `vine ${from}` : `vines ${from} to ${to}`;
    return [head, `Row ${row}, panel ${panel}: ${places}, ${standing}. ${meanWords(block, numbersOf(block).panelMeans[index])} ${off}`];
  }
  if (found.kind === "row") {
    const [standing, off] = spanWords(block, found.spans);
    const mean = found.letter ? null : numbersOf(block).rowMeans[found.row];
    const head = name("R", found.row, block.digits[0]) + found.letter;
    return [head, `Row ${found.row}${found.letter}: ${standing}. ${found.letter ? "" : `${meanWords(block, mean)} `}${off}`];
  }
  return ["Not found", found.why];
}
