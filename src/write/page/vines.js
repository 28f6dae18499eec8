"use strict";
// The vines, drawn on the canvas below the lines and labels.

// Draws a layer. `view` says where the ground lies on the screen: `pixels` for a centimetre, `left`
// and `top` of the map's corner, `width` and `height` of what is seen, all in pixels.
function drawVines(pen, block, layer, view) {
  const size = sizeOf(block, view);
  const seen = seenPieces(block, view, size);
  const lines = linesByClass(block, layer.of, view, size, seen);
  layer.classes.forEach((look, at) => drawLook(pen, look, lines[at] || [], size));
  if (layer.little) drawLittle(pen, block, layer.little, view, size, seen);
  drawMeasured(pen, block, layer.measured, view, size);
}

// Vines one by one where they have room, else strips along the rows, as on the printed maps.
function sizeOf(block, view) {
  const [row, vine] = block.gap.map((gap) => gap * view.pixels);
  const least = Math.min(row, vine);
  if (least >= 4.5) return { disc: Math.min(0.46 * least, 11), width: 0 };
  return { disc: 0, width: Math.max(1, Math.min((row < 4 ? 0.94 : 0.78) * row, 14)) };
}

function seenPieces(block, view, size) {
  const spare = 2 * Math.max(size.disc, size.width) + block.gap[1] * view.pixels;
  const seen = [];
  block.pieces.forEach(([, , , , x0, y0, x1, y1], index) => {
    const [a, b] = [screenX(x0, view), screenX(x1, view)];
    const [c, d] = [screenY(y0, view), screenY(y1, view)];
    const out = Math.max(a, b) < -spare || Math.min(a, b) > view.width + spare
      || Math.max(c, d) < -spare || Math.min(c, d) > view.height + spare;
    if (!out) seen.push(index);
  });
  return seen;
}

const screenX = (x, view) => view.left + x * view.pixels;
const screenY = (y, view) => view.top + y * view.pixels;

// By class: [x, y] of discs, or [x, y, x, y] of strips from half a gap before a run of neighbours of
// one class to half a gap after it.
function linesByClass(block, of, view, size, seen) {
  const lines = {};
  for (const piece of seen) {
    const [from, to] = [block.starts[piece], block.starts[piece + 1]];
    for (let at = from; at < to;) {
      const own = of[at];
      let end = at + 1;
      if (!size.disc) while (end < to && of[end] === own) end += 1;
      const list = lines[own] || (lines[own] = []);
      if (size.disc) list.push([screenX(block.x[at], view), screenY(block.y[at], view)]);
      else list.push(strip(block, at, end - 1, [from, to], view));
      at = end;
    }
  }
  return lines;
}

function strip(block, first, last, [from, to], view) {
  const half = (at, other, ground, screen) => {
    const gap = other < from || other >= to ? 0 : ground[other] - ground[at];
    return screen(ground[at] + gap / 2, view);
  };
  return [
    half(first, first - 1, block.x, screenX), half(first, first - 1, block.y, screenY),
    half(last, last + 1, block.x, screenX), half(last, last + 1, block.y, screenY),
  ];
}

function trace(pen, lines, radius) {
  pen.beginPath();
  for (const line of lines) {
    if (line.length === 2) {
      pen.moveTo(line[0] + radius, line[1]);
      pen.arc(line[0], line[1], radius, 0, 2 * Math.PI);
    } else {
      pen.moveTo(line[0], line[1]);
      pen.lineTo(line[2], line[3]);
    }
  }
}

function drawLook(pen, [kind, colour], lines, size) {
  const stroke = (style, width, dash) => {
    pen.setLineDash(dash || []);
    pen.lineCap = "butt";
    pen.strokeStyle = style;
    pen.lineWidth = width;
    pen.stroke();
    pen.setLineDash([]);
  };
  const grey = "#888b8e";
  if (size.disc) {
    const share = { solid: 1, open: 0.79, hatched: 0.85, slight: 0.4, gap: 0.4 }[kind];
    trace(pen, lines, share * size.disc);
    pen.fillStyle = { solid: colour, slight: grey }[kind] || "#ffffff";
    if (kind !== "gap") pen.fill();
    if (kind === "solid") stroke("#54585c", 0.4);
    if (kind === "open") stroke(colour, 0.42 * size.disc);
    if (kind === "hatched") stroke(grey, 1);
    if (kind === "hatched" || kind === "gap") slashes(pen, lines, 0.5 * size.disc, kind === "gap", grey);
    return;
  }
  trace(pen, lines, 0);
  if (kind === "solid") stroke(colour, size.width);
  if (kind === "open") { stroke(colour, size.width); stroke("#ffffff", 0.5 * size.width); }
  if (kind === "hatched") stroke(grey, size.width, [1.2, 2]);
  if (kind === "slight") stroke(grey, Math.max(0.5, 0.3 * size.width));
  if (kind === "gap") stroke("#a8abae", 0.5);
}

function slashes(pen, lines, reach, crossed, colour) {
  pen.beginPath();
  for (const [x, y] of lines) {
    pen.moveTo(x - reach, y + reach);
    pen.lineTo(x + reach, y - reach);
    if (crossed) { pen.moveTo(x - reach, y - reach); pen.lineTo(x + reach, y + reach); }
  }
  pen.strokeStyle = colour;
  pen.lineWidth = Math.max(1, 0.18 * reach);
  pen.stroke();
}

// Where the measurements say little, paper shows through in slanting lines.
function drawLittle(pen, block, little, view, size, seen) {
  const lines = [];
  for (const piece of seen) {
    const [from, to] = [block.starts[piece], block.starts[piece + 1]];
    for (let at = from; at < to;) {
      let end = at + 1;
      if (!size.disc) while (end < to && little[end] === little[at]) end += 1;
      if (little[at] === 1) {
        if (size.disc) lines.push([screenX(block.x[at], view), screenY(block.y[at], view)]);
        else lines.push(strip(block, at, end - 1, [from, to], view));
      }
      at = end;
    }
  }
  if (!lines.length) return;
  if (size.disc) { slashes(pen, lines, 0.8 * size.disc, false, "#ffffff"); return; }
  trace(pen, lines, 0);
  pen.strokeStyle = paperHatch(pen);
  pen.lineWidth = size.width;
  pen.stroke();
}

function paperHatch(pen) {
  if (!paperHatch.made) {
    const tile = document.createElement("canvas");
    tile.width = tile.height = 8;
    const draw = tile.getContext("2d");
    draw.strokeStyle = "#ffffff";
    draw.lineWidth = 2.6;
    draw.beginPath();
    for (const shift of [-8, 0, 8]) { draw.moveTo(shift - 1, 9); draw.lineTo(shift + 9, -1); }
    draw.stroke();
    paperHatch.made = tile;
  }
  return pen.createPattern(paperHatch.made, "repeat");
}

// What was counted: a dot on a vine, a bar along a panel counted as a whole.
function drawMeasured(pen, block, measured, view, size) {
  const radius = size.disc ? Math.min(3.2, Math.max(1.6, 0.42 * size.disc)) : 1.8;
  for (const [colour, more] of [["#ffffff", 1], ["#1e2124", 0]]) {
    const dots = [], bars = [];
    for (let i = 0; i < measured.length; i += 2) {
      const [first, last] = [measured[i], measured[i] + measured[i + 1] - 1];
      const from = [screenX(block.x[first], view), screenY(block.y[first], view)];
      if (first === last) dots.push(from);
      else bars.push([...from, screenX(block.x[last], view), screenY(block.y[last], view)]);
    }
    trace(pen, dots, radius + more);
    pen.fillStyle = colour;
    pen.fill();
    trace(pen, bars, 0);
    pen.strokeStyle = colour;
    pen.lineWidth = 1.5 * radius + 2 * more;
    pen.stroke();
  }
}

// The vines that were asked for: a ring around one, a line along several.
function drawChosen(pen, block, chosen, view) {
  const size = sizeOf(block, view);
  for (const [first, last] of chosen) {
    const ends = [first, last].map((at) => [screenX(block.x[at], view), screenY(block.y[at], view)]);
    const reach = Math.max(size.disc, size.width / 2) + 4;
    for (const [colour, width] of [["#ffffff", 6], ["#0b57d0", 3]]) {
      pen.beginPath();
      pen.lineCap = "round";
      const [[x, y], [u, v]] = ends;
      const length = Math.hypot(u - x, v - y) || 1;
      const [ax, ay] = [(reach * (v - y)) / length, (reach * (x - u)) / length];
      if (first === last) pen.arc(x, y, Math.max(9, reach), 0, 2 * Math.PI);
      else {
        pen.moveTo(x + ax, y + ay); pen.lineTo(u + ax, v + ay);
        pen.moveTo(x - ax, y - ay); pen.lineTo(u - ax, v - ay);
      }
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.stroke();
    }
    pen.lineCap = "butt";
  }
}
