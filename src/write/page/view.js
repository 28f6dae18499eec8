"use strict";
// Where the map is looked at: `times` larger than the whole block, moved by `x` and `y` in the units
// of the drawing. Pointer, pinch, wheel, buttons and keys end in one place, `settle`.

const LARGEST = 40;

function makeView(frame, svg, redraw) {
  const moved = svg.querySelector(".moved");
  const kept = [...svg.querySelectorAll("[data-at]")].map((group) => [group, group.dataset.at]);
  const foot = [...svg.querySelectorAll(".foot > :not(.strip)")].map((part) => [part, part.getAttribute("transform") || ""]);
  const box = svg.viewBox.baseVal;
  const sheet = { width: box.width, height: Number(svg.dataset.ground) };
  const view = { times: 1, x: 0, y: 0 };

  function settle() {
    view.times = Math.min(LARGEST, Math.max(1, view.times));
    const clamp = (value, room) => Math.min(0, Math.max(room * (1 - view.times), value));
    view.x = clamp(view.x, sheet.width);
    view.y = clamp(view.y, sheet.height);
    moved.setAttribute("transform", `translate(${view.x} ${view.y}) scale(${view.times})`);
    // Words grow with the ground until they are easy to read, and no further.
    const size = Math.min(view.times, 4 / unit()) / view.times;
    for (const [group, at] of kept) group.setAttribute("transform", `translate(${at}) scale(${size})`);
    frame.classList.toggle("zoomed", view.times > 1);
    scaleBar(svg, view.times / shrinkFoot());
    redraw();
  }
  // On a large map the words of the foot are no larger than those on the ground.
  function shrinkFoot() {
    const size = Math.min(1, 4 / unit());
    const shrunk = `translate(0 ${sheet.height * (1 - size)}) scale(${size})`;
    for (const [part, own] of foot) part.setAttribute("transform", `${shrunk} ${own}`);
    return size;
  }
  // Pixels for a unit of the drawing.
  const unit = () => svg.getBoundingClientRect().width / sheet.width || 1;
  // Enlarges about a place in pixels from the map's corner.
  function zoom(factor, px = null) {
    const [x, y] = px ? px.map((part) => part / unit()) : [sheet.width / 2, sheet.height / 2];
    const before = view.times;
    view.times = Math.min(LARGEST, Math.max(1, before * factor));
    const grown = view.times / before;
    view.x = x - (x - view.x) * grown;
    view.y = y - (y - view.y) * grown;
    settle();
  }
  function move(dx, dy) {
    view.x += dx / unit();
    view.y += dy / unit();
    settle();
  }
  function whole() {
    Object.assign(view, { times: 1, x: 0, y: 0 });
    settle();
  }
  // Brings a place of the drawing to the middle, at least so many times enlarged.
  function centre(x, y, times) {
    view.times = Math.min(LARGEST, Math.max(view.times, times));
    view.x = sheet.width / 2 - x * view.times;
    view.y = sheet.height / 2 - y * view.times;
    settle();
  }
  listen(frame, { zoom, move, whole, isWhole: () => view.times === 1 });
  return { view, sheet, unit, zoom, whole, centre, settle };
}

function listen(frame, { zoom, move, whole, isWhole }) {
  const keys = {
    "+": () => zoom(1.5), "=": () => zoom(1.5), "-": () => zoom(1 / 1.5), "0": whole,
    ArrowLeft: () => move(60, 0), ArrowRight: () => move(-60, 0),
    ArrowUp: () => move(0, 60), ArrowDown: () => move(0, -60),
  };
  frame.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    const scrolls = event.key.startsWith("Arrow") && isWhole();
    if (!act || scrolls || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    act();
  });
  // The wheel scrolls the page until the map has been clicked into.
  frame.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && document.activeElement !== frame) return;
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / (event.deltaMode ? 12 : 400)), placeIn(frame, event));
  }, { passive: false });
  pointers(frame, { zoom, move, isWhole });
}

function placeIn(frame, event) {
  const corner = frame.getBoundingClientRect();
  return [event.clientX - corner.left, event.clientY - corner.top];
}

// One finger or the mouse moves, two fingers enlarge, a short press without a move is a tap.
function pointers(frame, { zoom, move, isWhole }) {
  const down = new Map();
  let travelled = 0, began = 0;
  const spread = () => {
    const [[a, b], [c, d]] = [...down.values()];
    return { apart: Math.hypot(c - a, d - b), middle: [(a + c) / 2, (b + d) / 2] };
  };
  frame.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    if (!down.size) { travelled = 0; began = event.timeStamp; }
    down.set(event.pointerId, placeIn(frame, event));
    if (down.size > 1) travelled = Infinity;
  });
  frame.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) return;
    const [before, here] = [down.get(event.pointerId), placeIn(frame, event)];
    const two = down.size === 2 ? spread() : null;
    down.set(event.pointerId, here);
    const [dx, dy] = [here[0] - before[0], here[1] - before[1]];
    travelled += Math.hypot(dx, dy);
    if (two) {
      const now = spread();
      zoom(now.apart / (two.apart || 1), two.middle);
      move(now.middle[0] - two.middle[0], now.middle[1] - two.middle[1]);
    } else if (travelled > 6 && !isWhole()) {
      if (!frame.hasPointerCapture(event.pointerId)) frame.setPointerCapture(event.pointerId);
      frame.classList.add("dragged");
      move(dx, dy);
    }
  });
  const up = (event) => {
    const tapped = down.delete(event.pointerId) && event.type === "pointerup" && travelled <= 6;
    if (!down.size) frame.classList.remove("dragged");
    if (tapped && event.timeStamp - began < 700) {
      frame.dispatchEvent(new CustomEvent("tapped", { detail: { at: placeIn(frame, event), by: event.pointerType } }));
    }
  };
  for (const kind of ["pointerup", "pointercancel"]) frame.addEventListener(kind, up);
}

// The bar keeps its place; its length and words follow the scale.
function scaleBar(svg, times) {
  const bar = svg.querySelector(".bar");
  const perUnit = Number(bar.dataset.unit) * times;
  const round = [];
  for (let ten = 1000; ten >= 0.1; ten /= 10) round.push(8 * ten, 6 * ten, 4 * ten, 2 * ten, ten);
  const length = round.find((one) => one * perUnit <= Number(bar.dataset.longest)) || 0.1;
  const width = length * perUnit;
  const left = Number(bar.dataset.left);
  const [dark, light] = bar.querySelectorAll("rect");
  dark.setAttribute("width", width / 2);
  light.setAttribute("width", width / 2);
  light.setAttribute("x", left + width / 2);
  const [, half, all] = bar.querySelectorAll("text");
  const words = (value) => String(Math.round(value * 100) / 100);
  half.setAttribute("x", left + width / 2);
  half.textContent = words(length / 2);
  all.setAttribute("x", left + width);
  all.textContent = `${words(length)} ${bar.dataset.short}`;
}
