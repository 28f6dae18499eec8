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
  const entry = { device: app.me.device, seq, at: new Date().toISOString(), who: app.me.who, ...part };
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
    resume();
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
  for (const dot of document.querySelectorAll("#paper circle[data-stop]")) {
    const here = sheet.places.filter((place) => String(place.stop) === dot.dataset.stop);
    dot.classList.toggle("now", here.includes(placeNow()));
    dot.classList.toggle("done", here.every((place) => countSeen(app.counts, place, app.me)));
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

// Where letters are large for the screen, the look changes.
function fit() {
  const size = parseFloat(getComputedStyle(document.documentElement).fontSize);
  document.documentElement.toggleAttribute("data-large", size >= 24 || window.innerWidth < 300);
}

async function openAndRead() {
  app.store = { database: await openDatabase().catch(() => null) };
  const read = await readStore(app.store).catch(() => { app.store.database = null; return readStore(app.store); });
  tellKeeps(Boolean(app.store.database));
  return read;
}

async function start() {
  frame();
  fit();
  const { entries, state } = await openAndRead();
  const at = sheet.places[state.at] ? state.at : 0;
  Object.assign(app, { entries, at, from: sheet.places[state.from] ? state.from : null, draft: state.draft || null, more: Boolean(state.more), tap: state.tap || 0 });
  const me = state.me || {};
  app.me = { who: String(me.who || ""), device: /^[0-9a-f]{8}$/.test(me.device) ? me.device : drawDevice() };
  await keepState(app.store, { ...state, me: app.me }).catch(() => tellKeeps(false));
  setBright(Boolean(state.bright));
  recount();
  if (app.keeps) tell(say(entries.length ? "restored" : "keeps"));
  resume();
  show("count");
  document.addEventListener("keydown", keys);
  window.addEventListener("resize", fit);
  document.addEventListener("visibilitychange", () => { keep(); if (document.visibilityState === "visible") wake(); });
  window.addEventListener("pagehide", keep);
  document.addEventListener("pointerdown", stayAwake, { once: true });
  document.documentElement.dataset.ready = "yes";
}

start();
