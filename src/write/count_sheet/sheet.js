"use strict";
// The page brought to life: what is known, what is shown, and when it is saved.

const app = {
  store: null, keeps: false, entries: [], counts: new Map(), me: { who: "", device: "" },
  at: 0, from: null, draft: null, more: false, bright: false, tap: 0, view: "count", waiting: 0, failed: "",
};

const VIEWS = { count: countView, list: listView, send: sendView, skip: skipView, who: whoView };

// ---- Saving ----

// Adds an entry of this phone; says "saved" only when the database says that it is complete, and only
// when no later one is still on its way, since the number that is said counts them all.
async function record(part, before = "") {
  const seq = 1 + app.entries.reduce((most, entry) => (entry.device === app.me.device ? Math.max(most, entry.seq) : most), 0);
  const entry = { device: app.me.device, seq, at: stamp(new Date()), who: app.me.who, ...part };
  app.entries.push(entry);
  recount();
  tell(say("saving"));
  app.waiting += 1;
  try {
    if (app.store.database) await addOwn(app.store, entry);
    app.waiting -= 1;
    keep();
    if (!app.waiting && app.failed) tell(say("not_saved", { why: app.failed }), "wrong");
    else if (!app.waiting) tellSaved(app.store.database ? "saved" : "unsaved", before);
  } catch (error) {
    app.waiting -= 1;
    app.failed = error.message || error.name;
    keep();
    tellKeeps(false);
    tell(say("not_saved", { why: app.failed }), "wrong");
  }
}

// Adds entries of another phone.
async function take(fresh) {
  if (app.store.database) await addEntries(app.store, fresh);
  app.entries.push(...fresh);
  recount();
  keep();
}

// What is not an entry: the place, the draft, the look.
function keep() {
  app.tap += 1;
  const { at, from, draft, more, bright, tap, me } = app;
  app.state = { at, from, draft, more, bright, tap, me };
  keepState(app.store, app.state).catch(() => {});
  writeMirror(app.entries, app.state);
}

function recount() {
  app.counts = tally(app.entries);
  const all = sheet.places.length, done = doneBy(app.counts, app.me);
  byId("progress").textContent = say("progress", { done, all, left: all - done });
}

// ---- What is said ----

function tell(words, kind = "") {
  byId("saved").textContent = words;
  byId("saved").className = kind;
}

function tellSaved(key, before = "") {
  const values = { time: localTime(new Date()), done: doneBy(app.counts, app.me), all: sheet.places.length };
  tell([before, say(key, values)].filter(Boolean).join(" "), key === "saved" ? "good" : "wrong");
}

function tellKeeps(keeps) {
  app.keeps = keeps;
  byId("keeps").textContent = say(keeps ? "keeps" : "cannot_keep");
  byId("keeps").hidden = keeps;
}

window.addEventListener("error", (event) => { if (byId("saved")) tell(say("trouble", { why: event.message }), "wrong"); });
window.addEventListener("unhandledrejection", (event) => { if (byId("saved")) tell(say("trouble", { why: String(event.reason) }), "wrong"); });

// ---- Views ----

function frame() {
  const keys = ["count", "list", "send", "paper"].map((name) => button(say(name), () => show(name), { "data-view": name }));
  byId("live").append(
    make("div", { kind: "top" }, make("p", { id: "progress" }), make("p", { id: "saved", role: "status" }), make("p", { id: "keeps", kind: "wrong", hidden: true })),
    make("nav", { "aria-label": say("views") }, ...keys), make("div", { id: "view" }));
  byId("live").hidden = false;
  document.documentElement.dataset.live = "yes";
}

function show(name) {
  const asked = app.me.who || name === "paper" ? name : "who";
  app.view = asked;
  document.documentElement.dataset.view = asked;
  byId("view").replaceChildren(...(VIEWS[asked] ? [VIEWS[asked]()] : []));
  for (const key of document.querySelectorAll("nav button")) {
    if (key.dataset.view === asked) key.setAttribute("aria-current", "page");
    else key.removeAttribute("aria-current");
  }
  if (asked === "count") showPlace();
  const head = document.querySelector("#view h2") || byId("paper").querySelector("h2");
  head.focus({ preventScroll: true });
  window.scrollTo(0, 0);
}

function whoView() {
  const { part, input } = field("who", say("who_label"), { maxlength: 40, autocapitalize: "words", enterkeyhint: "go", "aria-describedby": "who-error" });
  const error = make("p", { id: "who-error", role: "alert" });
  const go = (event) => {
    event.preventDefault();
    const who = input.value.trim().replace(/\s+/g, " ");
    if (!who) { error.textContent = say("who_needed"); input.focus(); return; }
    app.me.who = who;
    recount();
    const first = nextPlace(app.counts, app.me, -1);
    if (first && !app.draft) app.at = first.index;
    keep();
    show("count");
  };
  const form = make("form", { kind: "stack", novalidate: true }, part, error, make("button", { text: say("who_go"), kind: "main wide", type: "submit", id: "who-go" }));
  form.addEventListener("submit", go);
  return make("section", { id: "who-view", "aria-label": say("who_title") }, title(say("who_title")), form, line(say("who_note"), "note"));
}

// A place that is not done: the present one, unless somebody finished it.
function resume() {
  if (app.draft || !seenNow()) return;
  const coming = nextPlace(app.counts, app.me, app.at);
  if (coming) app.at = coming.index;
}

function setBright(bright) {
  app.bright = bright;
  document.documentElement.dataset.look = bright ? "bright" : "";
  keep();
  return bright;
}

function markMap() {
  const open = new Set(sheet.places.filter((place) => !countSeen(app.counts, place, app.me)).map((place) => String(place.stop)));
  for (const dot of document.querySelectorAll("#paper circle[data-stop]")) {
    dot.classList.toggle("now", dot.dataset.stop === String(placeNow().stop));
    dot.classList.toggle("done", !open.has(dot.dataset.stop));
  }
}

// ---- Life of the page ----

// A phone that wakes may have been counted on in another window.
async function wake() {
  stayAwake();
  const known = new Set(app.entries.map(nameOf));
  const { entries } = await readStore(app.store);
  const fresh = entries.filter((entry) => !known.has(nameOf(entry)));
  if (!fresh.length) return;
  app.entries.push(...fresh);
  recount();
  tellSaved("moved_on");
  if (app.view === "count" && !app.draft) { resume(); showPlace(); }
}

function stayAwake() {
  if (navigator.wakeLock) navigator.wakeLock.request("screen").catch(() => {});
}

// Digits from a keyboard reach the pad wherever the focus is.
function keys(event) {
  if (app.view !== "count" || event.ctrlKey || event.altKey || event.metaKey || event.target.matches("input, textarea")) return;
  if (/^\d$/.test(event.key)) press(event.key);
  else if (event.key === "Backspace") press("erase");
  else if (event.key === "Enter" && !event.target.matches("button")) next();
}

// Where letters are large for the screen, or the screen is small, the look changes.
function fit() {
  const size = parseFloat(getComputedStyle(document.documentElement).fontSize);
  const low = window.innerHeight < 420 && window.innerWidth < 544;
  document.documentElement.toggleAttribute("data-large", size >= 24 || low || window.innerWidth < 300);
}

async function openAndRead() {
  app.store = { database: await openPatiently() };
  const read = await readStore(app.store).catch(() => { app.store.database = null; return readStore(app.store); });
  return read;
}

// Some browsers have a database that keeps nothing: only a write that is complete says that counts are
// saved here.
async function tryKeeping(state) {
  const kept = Boolean(app.store.database) && await keepState(app.store, state).then(() => true, () => false);
  tellKeeps(kept);
  if (kept && !byId("saved").textContent) tell(say(app.entries.length ? "restored" : "keeps"));
}

async function start() {
  frame();
  fit();
  const { entries, state } = await openAndRead();
  const at = sheet.places[state.at] ? state.at : 0;
  Object.assign(app, { entries, at, from: sheet.places[state.from] ? state.from : null, draft: state.draft || null, more: Boolean(state.more), tap: state.tap || 0 });
  const me = state.me || {};
  app.me = { who: String(me.who || ""), device: /^[0-9a-f]{8}$/.test(me.device) ? me.device : drawDevice() };
  tryKeeping({ ...state, me: app.me });
  setBright(Boolean(state.bright));
  recount();
  resume();
  show("count");
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", markMap);
  document.addEventListener("keydown", keys);
  window.addEventListener("resize", fit);
  if (window.ResizeObserver) new ResizeObserver(fit).observe(document.body);
  document.addEventListener("visibilitychange", () => { keep(); if (document.visibilityState === "visible") wake(); });
  window.addEventListener("pagehide", keep);
  document.addEventListener("pointerdown", stayAwake, { once: true });
  document.documentElement.dataset.ready = "yes";
}

// Where the page cannot be brought to life, the sheet of paper is there.
start().catch((error) => {
  delete document.documentElement.dataset.live;
  tell(say("trouble", { why: error.message }), "wrong");
});
