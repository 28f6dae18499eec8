"use strict";
// The block: unpacked from the page's data.
// Places are centimetres right and down from the map's corner; `mm` turns them into the units of the
// drawing. A piece of row is [row, letter, first vine, vines, x and y of the first, x and y of the
// last, how far each vine is off its even place (none where all are near), numbers of its panels (of
// the first where they follow each other), sizes of its panels (the last holds for all that follow),
// numbers of its vines (none where they follow each other)].

function unpack(data) {
  const count = data.pieces.reduce((sum, piece) => sum + piece[3], 0);
  const block = {
    ...data, count, starts: [], panelStarts: [],
    x: new Float32Array(count), y: new Float32Array(count), piece: new Uint32Array(count),
    zone: runs(data.zone, count),
  };
  for (const layer of block.layers) {
    layer.of = lettersOf(layer.of);
    layer.little = layer.little.length ? runs(layer.little, count) : null;
  }
  let at = 0, panels = 0;
  data.pieces.forEach(([, , , vines, x0, y0, x1, y1, off, , sizes], index) => {
    block.starts.push(at);
    block.panelStarts.push(panels);
    panels += panelsIn(vines, sizes);
    const [stepX, stepY] = [x1 - x0, y1 - y0].map((way) => way / Math.max(1, vines - 1));
    block.piece.fill(index, at, at + vines);
    for (let i = 0; i < vines; i += 1) {
      block.x[at + i] = x0 + i * stepX;
      block.y[at + i] = y0 + i * stepY;
    }
    for (let i = 0; i < off.length; i += 2) {
      block.x[at + i / 2] += off[i];
      block.y[at + i / 2] += off[i + 1];
    }
    at += vines;
  });
  block.starts.push(at);
  return block;
}

// The class of every vine, written as a letter each from 0 on.
function lettersOf(text) {
  const classes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at += 1) classes[at] = text.charCodeAt(at) - 48;
  return classes;
}

// What is only said and never drawn stands behind the script, and is read when somebody asks for the
// first time.
function numbersOf(block) {
  if (!block.numbers) {
    const read = JSON.parse(document.getElementById("numbers").textContent);
    const [status, counted] = [new Map(), new Set(read.counted)];
    for (const [word, vines] of Object.entries(read.status)) {
      for (const vine of vines) status.set(vine, word);
    }
    block.numbers = { ...read, status, counted };
  }
  return block.numbers;
}

// Panels on a piece: their sizes in order, the last one again and again.
function panelsIn(vines, sizes) {
  let left = vines, panels = 0;
  while (left > 0) { left -= sizes[Math.min(panels, sizes.length - 1)]; panels += 1; }
  return panels;
}

// Values written as [value, how many, value, how many …].
function runs(pairs, count) {
  const values = new Int16Array(count).fill(-1);
  let at = 0;
  for (let i = 0; i < pairs.length; i += 2) {
    values.fill(pairs[i], at, at + pairs[i + 1]);
    at += pairs[i + 1];
  }
  return values;
}

function vineOf(block, at) {
  const piece = block.pieces[block.piece[at]];
  const place = at - block.starts[block.piece[at]];
  return { row: piece[0], letter: piece[1], vine: piece[11].length ? piece[11][place] : piece[2] + place };
}

// The vine nearest to a place in centimetres, and how far off it is.
function nearestVine(block, x, y) {
  let best = -1, least = Infinity;
  block.pieces.forEach(([, , , vines, x0, y0, x1, y1], index) => {
    const [dx, dy] = [x1 - x0, y1 - y0];
    const share = ((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy || 1);
    const middle = Math.round(Math.min(1, Math.max(0, share)) * (vines - 1));
    for (let i = Math.max(0, middle - 3); i <= Math.min(vines - 1, middle + 3); i += 1) {
      const at = block.starts[index] + i;
      const off = Math.hypot(block.x[at] - x, block.y[at] - y);
      if (off < least) { least = off; best = at; }
    }
  });
  return { vine: best, off: least };
}
