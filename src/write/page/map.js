"use strict";
// The map comes alive: layers, table, looking up. Without this script the page is whole but still.
// Texts of the block reach the page as text only, never as markup.

const byId = (id) => document.getElementById(id);

function trouble(message) {
  const place = byId("trouble");
  if (place) { place.hidden = false; place.querySelector("span").textContent = message; }
}

window.addEventListener("error", (event) => trouble(event.message));

function start() {
  const block = unpack(JSON.parse(byId("data").textContent));
  const frame = byId("frame"), svg = frame.querySelector("svg");
  const [vines, ring] = [document.createElement("canvas"), document.createElement("canvas")];
  if (!vines.getContext("2d")) throw new Error("it cannot draw the vines");
  frame.insertBefore(vines, svg);
  frame.append(ring);
  const state = { layer: null, chosen: [], sharp: 1, waiting: false };

  function draw() {
    state.waiting = false;
    const { view, sheet, unit } = eye;
    const one = unit();
    const seen = { width: sheet.width * one, height: sheet.height * one };
    const place = { ...seen, pixels: block.mm * one * view.times, left: view.x * one, top: view.y * one };
    const sharp = Math.max(state.sharp, Math.min(3, window.devicePixelRatio || 1));
    const all = svg.getBoundingClientRect();
    const below = clean(vines, all, sharp, seen);
    if (state.layer) {
      drawGround(below.pen, svg, view, one, below.scale);
      drawVines(below.pen, block, state.layer, place);
    }
    drawChosen(clean(ring, all, sharp, seen).pen, block, state.chosen, place);
  }
  const redraw = () => {
    if (!state.waiting) { state.waiting = true; requestAnimationFrame(draw); }
  };
  const eye = makeView(frame, svg, redraw);

  function show(id) {
    state.layer = block.layers.find((layer) => layer.id === id) || null;
    svg.classList.toggle("with-vines", Boolean(state.layer));
    for (const key of document.querySelectorAll(".keys")) key.hidden = key.dataset.layer !== id;
    redraw();
  }
  function mark(zone, kind) {
    for (const marked of document.querySelectorAll(`.${kind}`)) marked.classList.remove(kind);
    if (zone < 0) return;
    for (const part of document.querySelectorAll(`.over[data-zone="${zone}"], .whole[data-zone="${zone}"], tr[data-zone="${zone}"]`)) part.classList.add(kind);
  }
  function choose(found, centred) {
    if (document.readyState === "loading") {
      document.addEventListener("DOMContentLoaded", () => choose(found, centred), { once: true });
      return true;
    }
    const [head, rest] = words(block, found);
    const said = byId("said"), title = document.createElement("b");
    title.textContent = head;
    said.replaceChildren(title, ` ${rest}`);
    said.classList.toggle("found", found.kind !== "unknown");
    said.classList.toggle("unknown", found.kind === "unknown");
    const spans = { vine: [[found.vine, found.vine]], panel: [found.span], row: found.spans }[found.kind];
    state.chosen = spans || [];
    mark(found.kind === "zone" ? found.zone : -1, "chosen");
    mark(found.kind === "vine" ? block.zone[found.vine] : -1, "near");
    if (centred && found.kind !== "unknown") bringIn(eye, block, svg, found, state.chosen);
    redraw();
    return found.kind !== "unknown";
  }

  layers(show);
  const chooseZone = (zone) => { eye.whole(); choose({ kind: "zone", zone }); };
  table(chooseZone, mark);
  lookUp(block, choose);
  byId("larger").addEventListener("click", () => eye.zoom(1.6));
  byId("smaller").addEventListener("click", () => eye.zoom(1 / 1.6));
  byId("whole").addEventListener("click", () => eye.whole());
  const under = (at) => {
    const { view, unit } = eye;
    const [x, y] = at.map((part, axis) => (part / unit() - [view.x, view.y][axis]) / view.times / block.mm);
    const near = nearestVine(block, x, y);
    return near.off <= Math.max(1.2 * block.gap[0], 10 / (block.mm * unit() * view.times)) ? near.vine : -1;
  };
  const told = (at, by) => {
    const vine = under(at);
    const gap = Math.min(...block.gap) * block.mm * eye.unit() * eye.view.times;
    if (vine < 0) return;
    if (gap >= (by === "touch" ? 9 : 3.5) || block.zone[vine] < 0) choose({ kind: "vine", vine });
    else choose({ kind: "zone", zone: block.zone[vine] });
  };
  frame.addEventListener("tapped", ({ detail }) => told(detail.at, detail.by));
  frame.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    const { sheet, unit } = eye;
    told([(sheet.width / 2) * unit(), (sheet.height / 2) * unit()], "key");
  });
  frame.addEventListener("pointermove", (event) => {
    if (event.pointerType !== "mouse" || event.buttons) return;
    const vine = under(placeIn(frame, event));
    mark(vine < 0 ? -1 : block.zone[vine], "near");
  });
  frame.addEventListener("pointerleave", () => mark(-1, "near"));
  window.addEventListener("resize", () => eye.settle());
  // On paper the whole block is shown, sharp.
  window.addEventListener("beforeprint", () => { state.sharp = 3; eye.whole(); draw(); });
  window.addEventListener("afterprint", () => { state.sharp = 1; redraw(); });
  eye.settle();
  for (const part of document.querySelectorAll(".needs-script")) part.hidden = false;
  const asked = decodeURIComponent(location.hash.slice(1));
  if (/\d/.test(asked)) choose(find(block, asked), true);
  document.documentElement.dataset.ready = "yes";
}

// An empty canvas as large as the map, that draws on the ground part only.
function clean(canvas, all, sharp, seen) {
  canvas.width = Math.round(all.width * sharp);
  canvas.height = Math.round(all.height * sharp);
  const scale = canvas.width / (all.width || 1);
  const pen = canvas.getContext("2d");
  pen.setTransform(scale, 0, 0, scale, 0, 0);
  pen.beginPath();
  pen.rect(0, 0, seen.width, seen.height);
  pen.clip();
  return { pen, scale };
}

function drawGround(pen, svg, view, unit, scale) {
  pen.save();
  const large = view.times * unit * scale;
  pen.setTransform(large, 0, 0, large, view.x * unit * scale, view.y * unit * scale);
  for (const part of svg.querySelectorAll(".ground")) {
    const path = new Path2D(part.getAttribute("d"));
    pen.fillStyle = part.getAttribute("fill");
    pen.fill(path, "evenodd");
    pen.strokeStyle = "#a8abae";
    pen.lineWidth = 1 / (view.times * unit);
    pen.stroke(path);
  }
  pen.restore();
}

// Brings what was asked for to the middle: a vine so large that its neighbours stand apart.
function bringIn(eye, block, svg, found, spans) {
  if (found.kind === "zone") {
    const [line] = ["whole", "over"].flatMap((kind) => svg.querySelector(`.${kind}[data-zone="${found.zone}"]`) || []);
    const box = line && line.getBBox();
    if (box) fit(eye, box.x, box.y, box.width, box.height);
    return;
  }
  const ends = spans.flat();
  const [xs, ys] = [ends.map((at) => block.x[at] * block.mm), ends.map((at) => block.y[at] * block.mm)];
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  const most = 14 / (Math.min(...block.gap) * block.mm * eye.unit());
  eye.view.times = 1;
  fit(eye, x, y, Math.max(...xs) - x, Math.max(...ys) - y, most);
}

function fit(eye, x, y, width, height, most = LARGEST) {
  const times = 0.8 * Math.min(eye.sheet.width / (width || 1e-9), eye.sheet.height / (height || 1e-9));
  eye.view.times = 1;
  eye.centre(x + width / 2, y + height / 2, Math.max(1, Math.min(times, most)));
}

function layers(show) {
  const choices = [...document.querySelectorAll("input[name=layer]")];
  for (const choice of choices) choice.addEventListener("change", () => show(choice.value));
  const first = choices.find((choice) => choice.checked) || choices[0];
  show(first ? first.value : "zones");
}

function table(choose, mark) {
  for (const row of document.querySelectorAll("tr[data-zone]")) {
    const zone = Number(row.dataset.zone);
    for (const [kind, on] of [["mouseenter", true], ["focusin", true], ["mouseleave", false], ["focusout", false]]) {
      row.addEventListener(kind, () => mark(on ? zone : -1, "near"));
    }
    row.addEventListener("click", (event) => { if (!event.target.closest("a")) choose(zone); });
  }
  for (const link of document.querySelectorAll("a[data-zone]")) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      choose(Number(link.dataset.zone));
      bringAnswer();
    });
  }
}

function lookUp(block, choose) {
  byId("find").addEventListener("submit", (event) => {
    event.preventDefault();
    const asked = byId("asked");
    const found = choose(find(block, asked.value), true);
    asked.setAttribute("aria-invalid", String(!found));
    if (found) bringAnswer();
  });
}

// Map and answer into the window; where it is too low for both, the answer.
function bringAnswer() {
  for (const id of ["frame", "said"]) byId(id).scrollIntoView({ block: "nearest" });
}

start();
