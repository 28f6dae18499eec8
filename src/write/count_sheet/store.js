"use strict";
// Where entries are kept: a database, which survives a phone that dies, and a mirror in the simple
// storage, from which a lost database is filled again. What is said to be saved is in the database.

const STORE = { name: `count-sheet-${sheet.plan.slice(0, 16)}`, entries: "entries", state: "state" };
const MIRROR = `${STORE.name}-mirror`;

// Turns a request or a transaction into a promise: `done` is the event that ends it well.
const settled = (thing, done) => new Promise((resolve, reject) => {
  thing[`on${done}`] = () => resolve(thing.result);
  thing.onerror = thing.onabort = () => reject(thing.error || new Error("it was refused"));
});

function openDatabase() {
  const opening = indexedDB.open(STORE.name, 1);
  opening.onupgradeneeded = () => {
    opening.result.createObjectStore(STORE.entries, { keyPath: ["device", "seq"] });
    opening.result.createObjectStore(STORE.state);
  };
  const late = new Promise((_, reject) => { setTimeout(() => reject(new Error("it does not answer")), 15000); });
  return Promise.race([settled(opening, "success"), late]);
}

// A browser that has just died may hold its database for a moment yet: it is asked three times, for
// without it a page shows fewer counts than were saved.
async function openPatiently() {
  for (let pause = 500; pause <= 2000; pause *= 2) {
    let asked;
    try { asked = openDatabase(); } catch { return null; }
    const database = await asked.catch(() => null);
    if (database) return database;
    await new Promise((done) => { setTimeout(done, pause); });
  }
  return null;
}

function readMirror() {
  try { return JSON.parse(localStorage.getItem(MIRROR)) || {}; } catch { return {}; }
}

function writeMirror(entries, state) {
  try { localStorage.setItem(MIRROR, JSON.stringify({ entries, state })); } catch { /* The database is what counts. */ }
}

// Entries and state, of the database and the mirror together; what only the mirror has is put back.
async function readStore({ database }) {
  const mirror = readMirror();
  const mirrored = (Array.isArray(mirror.entries) ? mirror.entries : []).map(checkedEntry).filter(Boolean);
  if (!database) return { entries: mirrored, state: mirror.state || {} };
  const reading = database.transaction([STORE.entries, STORE.state]);
  const [entries, state] = await Promise.all([
    settled(reading.objectStore(STORE.entries).getAll(), "success"),
    settled(reading.objectStore(STORE.state).get("state"), "success"),
  ]);
  const known = new Set(entries.map(nameOf));
  const lost = mirrored.filter((entry) => !known.has(nameOf(entry)));
  if (lost.length) await addEntries({ database }, lost);
  return { entries: [...entries, ...lost], state: latestState(state, mirror.state) };
}

// The mirror is written first and may be ahead, or may have been lost: the later one holds.
function latestState(one, other) {
  const [a, b] = [one || {}, other || {}];
  return (b.tap || 0) > (a.tap || 0) ? b : a;
}

// Adds entries; done only when the browser says that the transaction is complete.
function addEntries({ database }, entries) {
  const adding = database.transaction(STORE.entries, "readwrite", { durability: "strict" });
  for (const entry of entries) adding.objectStore(STORE.entries).put(entry);
  return settled(adding, "complete");
}

// Adds one entry of this phone and gives it its number within the same transaction, so that two
// windows of one sheet never use a number twice.
async function addOwn({ database }, entry) {
  const adding = database.transaction(STORE.entries, "readwrite", { durability: "strict" });
  const store = adding.objectStore(STORE.entries);
  const range = IDBKeyRange.bound([entry.device, 0], [entry.device, Infinity]);
  const last = store.openKeyCursor(range, "prev");
  last.onsuccess = () => {
    const before = last.result ? last.result.key[1] : 0;
    entry.seq = Math.max(entry.seq, before + 1);
    store.add(entry);
  };
  await settled(adding, "complete");
}

// Where the person is, what is half written, and who this phone is.
async function keepState({ database }, state) {
  if (!database) return;
  const keeping = database.transaction(STORE.state, "readwrite");
  keeping.objectStore(STORE.state).put(state, "state");
  await settled(keeping, "complete");
}

// Eight hexadecimal digits that tell this phone from others.
function drawDevice() {
  const numbers = new Uint8Array(4);
  if (window.crypto && crypto.getRandomValues) crypto.getRandomValues(numbers);
  else for (let at = 0; at < 4; at += 1) numbers[at] = Math.floor(Math.random() * 256);
  return [...numbers].map((number) => number.toString(16).padStart(2, "0")).join("");
}
