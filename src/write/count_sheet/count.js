"use strict";
// Counting: the place, the boxes, the number pad. `Next` and `Skip` make entries; digits are only a
// draft until then, but a draft that is still there after the phone slept or the page was closed.

const MOST = { shoots: 9999, primary: 9999, secondary: 9999, base: 9999, suckers: 9999, shoot_length: 500, canopy_length: 300 };
const OPTIONAL = [...PARTS, "suckers", "shoot_length", "canopy_length", "note"];

const counting = { boxes: {}, target: null, fresh: false };

const placeNow = () => sheet.places[app.at];

const seenNow = () => countSeen(app.counts, placeNow(), app.me);

function countView() {
  const card = make("div", { kind: "card", "aria-live": "polite", "aria-atomic": "true" },
    title(""), line("", "detail"), line("", "walk"), line("", "hint"));
  const extra = make("div", { id: "extra", hidden: !app.more }, line(say("more_note"), "note"), ...OPTIONAL.map(box), locating());
  const view = make("section", { id: "count", "aria-label": say("count") }, card, box("shoots"), extra,
    make("p", { id: "error", role: "alert" }), pad());
  counting.target = counting.boxes.shoots;
  return view;
}

function box(name) {
  const whole = COUNTED.includes(name), words = name === "note";
  const { part, input } = field(`box-${name}`, say(columnOf(name)), {
    inputmode: words ? "text" : whole ? "numeric" : "decimal", enterkeyhint: "next", "aria-describedby": "error",
    kind: words ? "" : "number", maxlength: words ? 200 : 6,
  });
  input.addEventListener("input", () => { counting.fresh = false; keepDraft(); });
  input.addEventListener("focus", () => { if (whole) aim(input); });
  input.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); next(); } });
  counting.boxes[name] = input;
  return part;
}

// The box that the number pad writes into.
function aim(input) {
  for (const other of Object.values(counting.boxes)) other.classList.toggle("target", other === input);
  if (counting.target !== input) counting.fresh = Boolean(input.value);
  counting.target = input;
}

// ---- The pad ----

function pad() {
  const digit = (number) => button(String(number), () => press(String(number)), { kind: "digit" });
  const keys = [
    digit(1), digit(2), digit(3), button("−", () => press("-"), { kind: "digit", "aria-label": say("minus") }),
    button("+", () => press("+"), { kind: "digit", "aria-label": say("plus") }),
    digit(4), digit(5), digit(6), button("⌫", () => press("erase"), { kind: "digit two", "aria-label": say("erase") }),
    digit(7), digit(8), digit(9), button(say("undo"), undo, { kind: "two", id: "undo" }),
    button(say("skip"), () => show("skip"), { id: "skip" }), digit(0),
    button(say("more"), toggleMore, { id: "more", "aria-expanded": String(app.more), "aria-controls": "extra" }),
    button(say("next"), next, { kind: "two main", id: "next" }),
  ];
  return make("div", { kind: "pad", role: "group", "aria-label": say("pad") }, ...keys);
}

function press(key) {
  const input = counting.target;
  const number = Number(input.value) || 0;
  if (key === "erase") input.value = input.value.slice(0, -1);
  else if (key === "+") input.value = String(Math.min(number + 1, MOST.shoots));
  else if (key === "-") input.value = String(Math.max(number - 1, 0));
  else input.value = ((counting.fresh ? "" : input.value) + key).replace(/^0+(?=\d)/, "").slice(0, 4);
  counting.fresh = false;
  complain("");
  keepDraft();
}

function toggleMore() {
  app.more = !app.more;
  byId("extra").hidden = !app.more;
  byId("more").textContent = say(app.more ? "fewer" : "more");
  byId("more").setAttribute("aria-expanded", String(app.more));
  if (app.more) byId("extra").scrollIntoView({ block: "start" });
  else aim(counting.boxes.shoots);
  keep();
}

// ---- What stands in the boxes ----

function showPlace() {
  const place = placeNow(), seen = seenNow(), all = sheet.places.length;
  const [head, detail, walk, hint] = document.querySelector("#count .card").children;
  head.textContent = placeName(place);
  detail.textContent = placeDetail(place);
  const from = app.from === null || app.from === app.at ? null : sheet.places[app.from];
  const finished = doneBy(app.counts, app.me) === all;
  walk.textContent = finished ? say("all_done", { all }) : from || !app.entries.length ? walkWords(place, from) : "";
  const common = isCommon(place) && !seen && say("common", { n: sheet.common });
  const stop = say("place_of", { stop: place.stop, all: sheet.places.at(-1).stop });
  hint.textContent = [stop, common, seen && hasWords(seen)].filter(Boolean).join(" ");
  const n = vinesIn(place);
  document.querySelector("label[for=box-shoots]").textContent = place.window ? say("shoots_window") : say("shoots_of", { n });
  fill(place, seen);
  markMap();
}

function hasWords(seen) {
  const here = seen.device === app.me.device ? "has" : "has_other";
  const key = shootsOf(seen.values) === null ? "has_skip" : here;
  return say(key, { value: valueWords(seen), time: localTime(seen.at), who: seen.who });
}

function fill(place, seen) {
  const own = seen && seen.device === app.me.device && !seen.values.skip ? seen.values : {};
  const drafted = app.draft && app.draft.place === placeKey(place);
  const values = drafted ? app.draft.values : own;
  for (const [name, input] of Object.entries(counting.boxes)) input.value = values[name] || "";
  aim(counting.boxes.shoots);
  counting.fresh = !drafted && Boolean(values.shoots);
  if (OPTIONAL.some((name) => values[name]) && !app.more) toggleMore();
  complain("");
}

function written() {
  const values = {};
  for (const name of ["shoots", ...OPTIONAL]) {
    const text = counting.boxes[name].value.trim();
    if (text) values[name] = name === "note" ? text : text.replace(",", ".").replace(/^0+(?=\d)/, "");
  }
  return values;
}

function keepDraft() {
  app.draft = { place: placeKey(placeNow()), values: written() };
  keep();
}

// ---- What is wrong, if anything ----

function complain(message, input) {
  byId("error").textContent = message;
  for (const other of Object.values(counting.boxes)) other.toggleAttribute("aria-invalid", false);
  if (!input) return;
  input.setAttribute("aria-invalid", "true");
  input.focus({ preventScroll: true });
}

// The first fault: [words, box]; null where all holds.
function fault(values) {
  for (const [name, most] of Object.entries(MOST)) {
    if (!values[name]) continue;
    const whole = COUNTED.includes(name);
    const good = (whole ? /^\d{1,4}$/ : /^\d+(\.\d+)?$/).test(values[name]) && Number(values[name]) <= most;
    if (!good) return [say(whole ? "whole" : "length", { field: say(columnOf(name)), most }), counting.boxes[name]];
  }
  if (values.shoots && PARTS.some((part) => values[part])) return [say("both"), counting.boxes.shoots];
  if (shootsOf(values) === null) return [say("need_number"), null];
  return null;
}

// ---- Entries ----

function next() {
  const values = written(), place = placeNow(), seen = seenNow();
  const wrong = fault(values);
  if (wrong) { complain(...wrong); return; }
  const own = seen && seen.device === app.me.device && seen.who === app.me.who;
  const same = own && VALUES.every((name) => (seen.values[name] || "") === (values[name] || ""));
  if (same) goOn();
  else enter(place, values);
}

// Makes an entry at a place and goes on to the next one.
function enter(place, values) {
  app.draft = null;
  record({ place: placeKey(place), values });
  if (navigator.vibrate) navigator.vibrate(20);
  goOn();
}

function goOn() {
  app.from = app.at;
  const coming = nextPlace(app.counts, app.me, app.at);
  if (coming) app.at = coming.index;
  app.draft = null;
  keep();
  showPlace();
  window.scrollTo(0, 0);
  if (document.activeElement.matches("input")) counting.boxes.shoots.focus({ preventScroll: true });
}

// Takes back digits that are only a draft, else the last entry.
function undo() {
  if (app.draft && Object.keys(app.draft.values).length) {
    goTo(app.at);
    tell(say("undone_draft"));
    return;
  }
  const last = lastToUndo(app.entries, app.me.device);
  if (!last) { tell(say("nothing_to_undo")); return; }
  const place = placesByKey.get(last.place);
  record({ undoes: last.seq }, say("undone", { place: placeName(place) }));
  goTo(place.index);
}

function goTo(index) {
  app.at = index;
  app.draft = null;
  keep();
  showPlace();
}

// ---- Position, only when asked ----

function locating() {
  const said = make("p", { role: "status", kind: "note" });
  const found = ({ coords }) => {
    const off = Math.round(coords.accuracy), at = placeNow().at;
    said.textContent = at ? say("located", { off, ...farAndWay([coords.longitude, coords.latitude], at) }) : say("located_only", { off });
  };
  const failed = (error) => { said.textContent = say("locate_failed", { why: error.message || "–" }); };
  const ask = () => {
    said.textContent = say("locate_asking");
    if (!navigator.geolocation) failed({ message: "" });
    else navigator.geolocation.getCurrentPosition(found, failed, { timeout: 10000, maximumAge: 15000, enableHighAccuracy: true });
  };
  return make("div", { kind: "field" }, button(say("locate"), ask, { id: "locate" }), said);
}
