"use strict";
// All places, and the reasons for not counting one.

function listView() {
  const view = make("section", { id: "list", "aria-label": say("list") }, title(say("list_title")));
  const list = make("ol", { kind: "places-list" });
  for (const place of sheet.places) {
    const seen = countSeen(app.counts, place, app.me);
    const go = button(undefined, () => leave(() => goTo(place.index)), { kind: place.index === app.at ? "now" : "" });
    go.append(make("b", { text: String(place.stop) }), make("span", { text: placeName(place) }),
      make("span", { kind: seen ? "value" : "value blank", text: seen ? valueWords(seen) : say("blank") }));
    list.append(make("li", {}, go));
  }
  view.append(list);
  return view;
}

function skipView() {
  const place = placeNow(), n = vinesIn(place);
  const note = field("skip-note", say("skip_note"), { maxlength: 200, "aria-describedby": "skip-error" });
  const error = make("p", { id: "skip-error", role: "alert" });
  const choose = (reason) => {
    const { status, note: key } = SKIPS[reason];
    const text = note.input.value.trim();
    if (reason === "other" && !text) { error.textContent = say("note_needed"); note.input.focus(); return; }
    const values = { skip: reason, status, note: [key && say(key), text].filter(Boolean).join(": ") };
    for (const name of VALUES) if (!values[name]) delete values[name];
    leave(() => enter(place, values));
  };
  const reasons = Object.keys(SKIPS).map((reason) => button(say(`skip_${reason}`), () => choose(reason), { kind: "wide", "data-reason": reason }));
  const blank = seenNow() && button(say("skip_blank"), () => leave(() => takeBack(place)), { kind: "wide", id: "blank" });
  return make("section", { id: "why", "aria-label": say("skip") }, title(say("skip_title")), line(say("skip_where", { place: placeName(place) })),
    n > 1 && line(say("skip_vines", { n }), "note"), make("div", { kind: "stack" }, ...reasons, note.part, error, blank,
      button(say("back"), () => show("count"), { kind: "wide" })));
}

// Back to counting, and there something to do.
function leave(act) {
  show("count");
  act();
}

function takeBack(place) {
  record({ place: placeKey(place), values: {} });
  goTo(place.index);
}
