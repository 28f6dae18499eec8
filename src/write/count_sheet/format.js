"use strict";
// What `count-sheet.html` is made of. The files are joined into one script in this order:
//   format.js   this description, and the data read
//   words.js    every word that a person reads
//   journal.js  entries, and what they come to: counts, undoing, merging, people beside each other
//   store.js    where entries are kept
//   table.js    the CSV file, its name, the list to read aloud
//   code.js     a QR code of some bytes
//   frames.js   what the codes carry
//   parts.js    elements, buttons, fields
//   places.js   a place and the walk to it, in words
//   count.js    counting: the place, the boxes, the number pad
//   list.js     all places, and the reasons for not counting one
//   send.js     getting counts out of the phone and another phone's in
//   sheet.js    the page brought to life
//
// Markup that the page brings with it, so that it holds with the script off and on paper:
//   head                  a policy that names this script and sheet.css by their SHA-256 and allows no
//                         connection; the title with the block's name and the first 8 digits of the plan
//   header > h1           the block's name; `.sub` beside it: how many places, which plan
//   main > #live[hidden]  empty; everything that needs the script is made in it
//   main > #data, script  the JSON below, `<` written as \u003c, and the script: before the paper, so
//                         that a phone need not lay out the paper before it can count
//   main > #paper         what to do, `svg[role=img]` (the map), and tables `.places`: a `tbody` a
//                         row of vines, in it a `tr[data-stop]` a place (th: its number, td: where,
//                         td.box, td.box: to write in), and where a row has several places a
//                         `tr.total` with a box for their sum
// In the map every place is a `circle[data-stop]`; the page marks the present one `.now` and those
// done `.done`.
//
// JSON, all keys present, null where nothing is known:
//   format     1
//   plan       SHA-256 of `sample.csv` as it was written, 64 hexadecimal digits: what may be merged
//   block      the block's name
//   file       the name of the block's folder
//   units      "us" or "metric": lengths are asked in feet and inches, or metres and centimetres
//   posts      true where the posts of a row count on from vine 1's end without a gap
//   columns    heads of `sample.csv`
//   common     how many of the first places everybody counts
//   places     in the order of the walk, one a line of `sample.csv`:
//     cells    that line's cells as text, one a column, before they are made harmless for spreadsheets
//     stop, row, panel           numbers
//     vines    [first, last] numbers of the vines that are counted together
//     piece    the letter of the piece of row, or null
//     window, start, length      the stretch: a letter, where it starts from the trunk and how long it
//                                is, in feet or metres as `units` says; null where all is counted
//     walk     metres on foot from the place before; null for the first
//     end      where the row of the place before is left: "first" (vine 1's end) or "last"; null in
//              the same row
//     at       [longitude, latitude] in degrees, or null
//   words      words that replace those of words.js, by the same keys; {} for English

const sheet = JSON.parse(document.getElementById("data").textContent);
sheet.places.forEach((place, index) => { place.index = index; });

const cellOf = (place, column) => place.cells[sheet.columns.indexOf(column)] || "";

const byId = (id) => document.getElementById(id);
