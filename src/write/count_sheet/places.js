"use strict";
// A place and the walk to it, in words.

const vinesIn = (place) => place.vines[1] - place.vines[0] + 1;

const rowOf = (place) => `${place.row}${place.piece || ""}`;

function placeName(place) {
  const [first, last] = place.vines;
  const name = say(first === last ? "row_vine" : "row_vines", { row: rowOf(place), first, last });
  return place.window ? `${name}, ${say("stretch_short", { window: place.window })}` : name;
}

// The place within its row, as read aloud.
function placeShort(place) {
  const [first, last] = place.vines;
  const name = first === last ? String(first) : `${first}–${last}`;
  return place.window ? `${name} ${place.window}` : name;
}

function placeDetail(place) {
  const { panel, window: letter, start, length } = place;
  const within = () => {
    if (cellOf(place, "place")) return say("in_panel", { panel });
    return say(sheet.posts ? "panel_posts" : "panel_only", { panel, next: panel + 1 });
  };
  const stretch = letter ? say("stretch", { window: letter, start, length, unit: UNIT.start }) : "";
  return [within(), stretch].filter(Boolean).join(" ");
}

function metresWords(metres) {
  if (metres === null) return "";
  if (sheet.units === "us") return say("feet", { n: Math.round(metres / 0.3048) });
  return say("metres", { n: Math.round(metres) });
}

// The walk from the place where the last count was made. Metres and the end of the row are only known
// between places that follow each other.
function walkWords(place, from) {
  if (!from) return say("start_here");
  const follows = place.index === from.index + 1;
  const metres = follows ? metresWords(place.walk) : "";
  if (place.row === from.row) {
    const n = Math.abs(place.vines[0] - from.vines[0]);
    if (!n) return say("walk_here");
    return say(place.vines[0] > from.vines[0] ? "walk_up" : "walk_down", { n, metres });
  }
  const n = Math.abs(place.row - from.row);
  if (follows && place.end) return say(place.end === "first" ? "walk_first" : "walk_last", { from: rowOf(from), n, metres });
  return say(place.row > from.row ? "walk_rows" : "walk_back", { from: rowOf(from), n });
}

// What was found at a place, in words.
function valueWords({ values }) {
  const shoots = shootsOf(values);
  if (shoots !== null) return String(shoots);
  const reason = say(`skip_${values.skip}`);
  return values.note && values.skip === "other" ? values.note : reason;
}

// Metres and direction from one [longitude, latitude] to another, good over a block.
function farAndWay([x0, y0], [x1, y1]) {
  const degree = 111320;
  const east = (x1 - x0) * degree * Math.cos((y0 * Math.PI) / 180), north = (y1 - y0) * degree;
  const turn = Math.round((Math.atan2(east, north) * 4) / Math.PI + 8) % 8;
  return { far: Math.round(Math.hypot(east, north)), way: say("ways").split(",")[turn] };
}
