"use strict";
// Getting counts out of the phone without a signal, and another phone's in.

function sendView() {
  const has = allCounts(app.counts).length > 0;
  return make("section", { id: "send", "aria-label": say("send") }, title(say("send_title")),
    ...(has ? outways() : [line(say("send_none"))]),
    make("h2", { text: say("phones_title") }), ...phones(),
    make("h2", { text: say("people_title") }), ...people(),
    make("h2", { text: say("settings_title") }), ...settings());
}

// ---- Out ----

const countsFile = () => new File([csvFile(app.counts)], fileName(app.entries, app.me.device, "csv"), { type: "text/csv" });

const canShare = (file) => { try { return Boolean(navigator.canShare && navigator.canShare({ files: [file] })); } catch { return false; } };

function outways() {
  const said = make("p", { role: "status", id: "sent" }), below = make("div", { id: "out" });
  const turn = (id, text, content) => {
    const press = () => {
      const open = below.dataset.open !== id;
      below.dataset.open = open ? id : "";
      below.replaceChildren(...(open ? content() : []));
      for (const other of ways.querySelectorAll("[aria-expanded]")) other.setAttribute("aria-expanded", String(open && other === key));
      if (open && below.firstChild.shown) below.firstChild.shown();
    };
    const key = button(text, press, { id, "aria-expanded": "false", "aria-controls": "out" });
    return key;
  };
  const ways = make("div", { kind: "ways" },
    button(say("save_file"), () => saveFile(countsFile(), said), { kind: "main", id: "save-file" }),
    canShare(countsFile()) && button(say("share"), () => share(said), { id: "share" }),
    button(say("copy"), () => copy(said, below), { id: "copy" }),
    turn("codes", say("show_codes"), codes), turn("aloud", say("read_aloud"), aloudList));
  return [ways, said, below, ...conflictList()];
}

function saveFile(file, said) {
  const link = make("a", { href: URL.createObjectURL(file), download: file.name, hidden: true });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  said.textContent = say("file_made", { file: file.name });
}

async function share(said) {
  try {
    await navigator.share({ files: [countsFile()] });
    said.textContent = say("shared");
  } catch (error) {
    said.textContent = say("share_failed", { why: error.name });
  }
}

async function copy(said, below) {
  const text = csvText(app.counts);
  const shown = make("textarea", { id: "text", rows: "8", readonly: true, "aria-label": say("text_label") });
  shown.value = text;
  below.dataset.open = "";
  below.replaceChildren(shown);
  try {
    await navigator.clipboard.writeText(text);
    said.textContent = say("copied");
  } catch {
    shown.focus();
    shown.select();
    said.textContent = say("copy_failed");
  }
}

// ---- Codes ----

function codes() {
  const canvas = make("canvas", { id: "code", role: "img" });
  const which = make("p", { role: "status", id: "which" });
  let at = 0;
  const draw = () => {
    const frames = codeTexts(app.counts);
    at = (at + frames.length) % frames.length;
    drawCode(canvas, code(frames[at]));
    which.textContent = say("code_of", { n: at + 1, all: frames.length });
    canvas.setAttribute("aria-label", which.textContent);
    turns.hidden = frames.length < 2;
  };
  const turn = (by) => () => { at += by; draw(); };
  const turns = make("div", { kind: "ways" }, button(say("code_before"), turn(-1)), button(say("code_next"), turn(1), { id: "code-next" }));
  const all = make("div", { kind: "codes" }, canvas, which, turns);
  all.shown = draw;
  return [all];
}

// ---- Read aloud ----

function aloudList() {
  const rows = aloud(app.counts, app.me).map(({ row, said, total, letter }) => make("li", {},
    make("b", { text: say("aloud_row", { row }) }),
    make("span", { text: said.map(([where, value]) => `${where}: ${value === null ? say("aloud_skip") : value}`).join(", ") }),
    make("span", { kind: "total", text: say("aloud_total", { total, letter }) })));
  return [make("div", {}, line(say("aloud_how"), "note"), make("ul", { kind: "aloud" }, ...rows))];
}

// ---- Other phones ----

function phones() {
  const said = make("p", { role: "status", id: "merged" });
  const { part, input } = field("journal", say("open_journal"), { type: "file", accept: ".json,application/json" });
  input.addEventListener("change", async () => {
    const [file] = input.files;
    if (!file) return;
    const words = await merge(await file.text());
    input.value = "";
    show("send");
    byId("merged").textContent = words;
  });
  const journal = () => new File([journalText(app.entries, app.me.device)], fileName(app.entries, app.me.device, "json"), { type: "application/json" });
  return [line(say("journal_note"), "note"), make("div", { kind: "ways" }, button(say("save_journal"), () => saveFile(journal(), said), { id: "save-journal" })), part, said];
}

// Adds what is new of another journal, and says what came of it.
async function merge(text) {
  const read = readJournal(text, app.entries);
  if (read.refused) return read.refused;
  const { fresh, clashes, device } = read;
  if (fresh.length) await take(fresh);
  const parts = [fresh.length ? say("merged", { n: fresh.length, device }) : say("merged_none")];
  if (clashes) parts.push(say("merge_clash", { n: clashes }));
  return parts.join(" ");
}

function conflictList() {
  const found = conflicts(app.counts);
  if (!found.length) return [];
  const value = (entry) => say("conflict_value", { value: valueWords(entry), who: entry.who, device: entry.device.slice(0, 4), time: localTime(entry.at) });
  const items = found.map(({ place, all }) => make("li", { text: say("conflict", { place: placeName(place), values: all.map(value).join("; ") }) }));
  return [make("h2", { text: say("conflicts") }), make("ul", { id: "conflicts", kind: "caution" }, ...items)];
}

// ---- People, and this phone ----

function people() {
  const found = ratios(app.counts), n = sheet.common;
  if (!found.length) return [line(say("people_none", { n }), "note")];
  const items = found.map((one) => make("li", { text: say("ratio", { ...one, ratio: one.ratio.toFixed(2) }) }));
  return [line(say("people_note", { n }), "note"), make("ul", { id: "ratios" }, ...items)];
}

function settings() {
  const bright = button(say("bright"), () => bright.setAttribute("aria-pressed", String(setBright(!app.bright))), { id: "bright", "aria-pressed": String(app.bright) });
  return [line(say("who_now", { who: app.me.who, device: app.me.device.slice(0, 4) })),
    make("div", { kind: "ways" }, button(say("who_change"), () => show("who"), { id: "who-change" }), bright), line(say("bright_note"), "note")];
}
