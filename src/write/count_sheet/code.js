"use strict";
// A QR code of some bytes: ISO/IEC 18004, byte mode, error correction level L, versions 1 to 40.
//   version v   the code has 17 + 4v modules on a side
//   blocks      the data is cut into so many blocks, each with its own error correction
//   grid        rows of modules: 1 dark, 0 light

// Table 9 of the standard, level L: codewords of error correction in a block, and blocks.
const CHECKS = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28,
  28, 28, 30, 30, 26, 28, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30];
const BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8,
  8, 9, 9, 10, 12, 12, 12, 13, 14, 15, 16, 17, 18, 19, 19, 20, 21, 22, 24, 25];

const sideOf = (version) => 17 + 4 * version;

// Middles of the small squares that keep a large code straight.
function alignments(version) {
  if (version === 1) return [];
  const number = Math.floor(version / 7) + 2;
  const step = version === 32 ? 26 : Math.ceil((version * 4 + 4) / (number * 2 - 2)) * 2;
  const last = sideOf(version) - 7;
  return [6, ...Array.from({ length: number - 1 }, (_, at) => last - (number - 2 - at) * step)];
}

// Codewords of a version, data and error correction together.
function codewords(version) {
  const across = version === 1 ? 0 : Math.floor(version / 7) + 2;
  const squares = across ? 25 * (across * across - 3) - 2 * 5 * (across - 2) : 0;
  const fixed = 3 * 64 + 2 * 15 + 1 + 2 * (sideOf(version) - 16) + squares + (version > 6 ? 36 : 0);
  return Math.floor((sideOf(version) ** 2 - fixed) / 8);
}

const dataCodewords = (version) => codewords(version) - CHECKS[version - 1] * BLOCKS[version - 1];

// Most bytes that a version carries beside the four bits of the mode and the length.
const mostBytes = (version) => dataCodewords(version) - (version < 10 ? 2 : 3);

function versionFor(length) {
  for (let version = 1; version <= 40; version += 1) if (mostBytes(version) >= length) return version;
  throw new Error("too much for one code");
}

// ---- The field of 256 elements over x⁸ + x⁴ + x³ + x² + 1 ----

const POWER = new Uint8Array(510), LOG = new Uint8Array(256);
for (let at = 0, value = 1; at < 255; at += 1) {
  POWER[at] = POWER[at + 255] = value;
  LOG[value] = at;
  value = (value << 1) ^ (value & 128 ? 0x11d : 0);
}

const times = (a, b) => (a && b ? POWER[LOG[a] + LOG[b]] : 0);

// The polynomial (x − 1)(x − 2)(x − 4) … without its leading 1.
function generator(degree) {
  let poly = [1];
  for (let at = 0; at < degree; at += 1) {
    const next = [...poly, 0];
    poly.forEach((factor, i) => { next[i + 1] ^= times(factor, POWER[at]); });
    poly = next;
  }
  return poly.slice(1);
}

// What is left when the data is divided by the generator.
function checksOf(data, poly) {
  const left = new Uint8Array(poly.length);
  for (const byte of data) {
    const factor = byte ^ left[0];
    left.copyWithin(0, 1);
    left[left.length - 1] = 0;
    poly.forEach((part, at) => { left[at] ^= times(part, factor); });
  }
  return left;
}

// ---- Bytes to codewords ----

// Mode, length and bytes, filled up to the room there is.
function dataOf(bytes, version) {
  const nibbles = [4];
  for (let at = version < 10 ? 4 : 12; at >= 0; at -= 4) nibbles.push((bytes.length >> at) & 15);
  for (const byte of bytes) nibbles.push(byte >> 4, byte & 15);
  nibbles.push(0);
  const data = new Uint8Array(dataCodewords(version));
  for (let at = 0; at < data.length; at += 1) {
    const beyond = at - nibbles.length / 2;
    data[at] = beyond >= 0 ? [0xec, 0x11][beyond % 2] : (nibbles[2 * at] << 4) | nibbles[2 * at + 1];
  }
  return data;
}

// The blocks with their checks, taken in turns; the later blocks may be one codeword longer.
function interleaved(data, version) {
  const blocks = BLOCKS[version - 1], poly = generator(CHECKS[version - 1]);
  const short = Math.floor(data.length / blocks), longer = data.length % blocks;
  const parts = [];
  for (let at = 0, block = 0; block < blocks; block += 1) {
    const size = short + (block >= blocks - longer ? 1 : 0);
    parts.push(data.subarray(at, at + size));
    at += size;
  }
  const checks = parts.map((part) => checksOf(part, poly));
  const all = [];
  for (const [lists, most] of [[parts, short + 1], [checks, poly.length]]) {
    for (let at = 0; at < most; at += 1) for (const list of lists) if (at < list.length) all.push(list[at]);
  }
  return all;
}

// ---- Codewords to modules ----

// The fixed patterns; `fixed` marks modules that carry no data.
function patterns(version) {
  const side = sideOf(version);
  const grid = Array.from({ length: side }, () => new Uint8Array(side));
  const fixed = Array.from({ length: side }, () => new Uint8Array(side));
  const put = (x, y, dark) => {
    if (x >= 0 && y >= 0 && x < side && y < side) { grid[y][x] = dark ? 1 : 0; fixed[y][x] = 1; }
  };
  for (let at = 0; at < side; at += 1) { put(6, at, at % 2 === 0); put(at, 6, at % 2 === 0); }
  const rings = (x, y, reach, isDark) => {
    for (let dy = -reach; dy <= reach; dy += 1) {
      for (let dx = -reach; dx <= reach; dx += 1) put(x + dx, y + dy, isDark(Math.max(Math.abs(dx), Math.abs(dy))));
    }
  };
  for (const [x, y] of [[3, 3], [side - 4, 3], [3, side - 4]]) rings(x, y, 4, (ring) => ring !== 2 && ring !== 4);
  const middles = alignments(version);
  for (const y of middles) {
    for (const x of middles) {
      const corner = (x === 6 && (y === 6 || y === side - 7)) || (y === 6 && x === side - 7);
      if (!corner) rings(x, y, 2, (ring) => ring !== 1);
    }
  }
  return { grid, fixed, put, side };
}

// A number with the remainder of its division behind it, as the standard protects format and version.
function protectedBits(number, bits, divisor) {
  let left = number << bits;
  for (let at = 31 - Math.clz32(left); at >= bits; at -= 1) if ((left >> at) & 1) left ^= divisor << (at - bits);
  return (number << bits) | left;
}

function putFormat({ put, side }, mask) {
  const bits = protectedBits(8 | mask, 10, 0x537) ^ 0x5412;
  for (let at = 0; at < 15; at += 1) {
    const dark = (bits >> at) & 1;
    if (at < 6) put(8, at, dark);
    else if (at < 8) put(8, at + 1, dark);
    else if (at === 8) put(7, 8, dark);
    else put(14 - at, 8, dark);
    if (at < 8) put(side - 1 - at, 8, dark);
    else put(8, side - 15 + at, dark);
  }
  put(8, side - 8, 1);
}

function putVersion({ put, side }, version) {
  if (version < 7) return;
  const bits = protectedBits(version, 12, 0x1f25);
  for (let at = 0; at < 18; at += 1) {
    const [far, near] = [side - 11 + (at % 3), Math.floor(at / 3)];
    put(far, near, (bits >> at) & 1);
    put(near, far, (bits >> at) & 1);
  }
}

// Up and down in pairs of columns from the right, past the column of the timing pattern.
function putData({ grid, fixed, side }, all) {
  let bit = 0;
  for (let right = side - 1; right > 0; right -= 2) {
    if (right === 6) right = 5;
    const up = ((right + 1) & 2) === 0;
    for (let step = 0; step < side; step += 1) {
      const y = up ? side - 1 - step : step;
      for (const x of [right, right - 1]) {
        if (fixed[y][x]) continue;
        grid[y][x] = bit < all.length * 8 ? (all[bit >> 3] >> (7 - (bit & 7))) & 1 : 0;
        bit += 1;
      }
    }
  }
}

const MASKS = [
  (x, y) => (x + y) % 2, (x, y) => y % 2, (x) => x % 3, (x, y) => (x + y) % 3,
  (x, y) => (Math.floor(x / 3) + Math.floor(y / 2)) % 2, (x, y) => ((x * y) % 2) + ((x * y) % 3),
  (x, y) => (((x * y) % 2) + ((x * y) % 3)) % 2, (x, y) => (((x + y) % 2) + ((x * y) % 3)) % 2,
];

function applyMask({ grid, fixed }, mask) {
  grid.forEach((row, y) => row.forEach((_, x) => { if (!fixed[y][x] && MASKS[mask](x, y) === 0) row[x] ^= 1; }));
}

// How hard a grid is to read: long runs, squares of one colour, what looks like a corner, too dark or
// too light in all.
function hardness(grid) {
  const side = grid.length;
  const lines = [...grid.map((row) => row.join("")), ...grid.map((_, x) => grid.map((row) => row[x]).join(""))];
  let sum = 0, dark = 0;
  for (const line of lines) {
    for (const [run] of line.matchAll(/0{5,}|1{5,}/g)) sum += run.length - 2;
    sum += 40 * [...line.matchAll(/(?=00001011101|10111010000)/g)].length;
  }
  for (let y = 0; y < side; y += 1) {
    for (let x = 0; x < side; x += 1) {
      dark += grid[y][x];
      if (x && y && grid[y][x] + grid[y - 1][x] + grid[y][x - 1] + grid[y - 1][x - 1] in { 0: 1, 4: 1 }) sum += 3;
    }
  }
  return sum + 10 * Math.floor(Math.abs((20 * dark) / side ** 2 - 10));
}

// The code of some bytes as a grid, with the mask that reads best.
function code(bytes) {
  const version = versionFor(bytes.length);
  const made = patterns(version);
  putFormat(made, 0);
  putVersion(made, version);
  putData(made, interleaved(dataOf(bytes, version), version));
  let best = 0, least = Infinity;
  for (let mask = 0; mask < 8; mask += 1) {
    applyMask(made, mask);
    putFormat(made, mask);
    const found = hardness(made.grid);
    if (found < least) { least = found; best = mask; }
    applyMask(made, mask);
  }
  applyMask(made, best);
  putFormat(made, best);
  return made.grid;
}
