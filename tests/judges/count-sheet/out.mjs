// What leaves the phone, read back.
import { readCode } from "./codes.mjs";
import { check, count, csv, download, open, same, value, words } from "./tools.mjs";

export async function exports() {
  const { tab, close } = await open("sixty", { before: () => { window.given = []; navigator.canShare = ({ files }) => files.length === 1; navigator.share = async ({ files }) => { window.given.push([files[0].name, await files[0].text()]); }; } });
  const all = await tab.evaluate(() => sheet.places.length);
  const numbers = Array.from({ length: all }, (_, at) => (at * 7) % 50);
  await count(tab, ...numbers);
  check((await words(tab, ".card .walk")).startsWith(`All ${all} places are done`), "the end is told", await words(tab, ".card .walk"));
  const { name, text } = await download(tab, "#save-file");
  const lines = csv(text);
  same(lines.map((line) => Number(line.shoots)), numbers, "the file holds every count");
  check(lines.every((line) => /^R\d{3}P\d\d$/.test(line.id) && /^\d{4}-\d\d-\d\d$/.test(line.date) && line.block === "Invented Block" && ["mean", "pair"].includes(line.drawn)), "with place, date and draw", JSON.stringify(lines[0]));
  check(/^counts_invented-block_[0-9a-f]{8}_[0-9a-f]{4}_\d+\.csv$/.test(name) && name.endsWith(`_${all}.csv`), "under its name", name);
  check(text.endsWith("\r\n") && !/[^\r]\n/.test(text), "with the line ends of RFC 4180");
  await tab.tap("#share");
  await tab.waitForFunction(() => window.given.length);
  same(await tab.evaluate(() => window.given[0]), [name, text], "sharing hands over the same file");
  await tab.tap("#copy");
  await tab.waitForSelector("#text");
  same((await tab.inputValue("#text")).replace(/\r?\n/g, "\r\n"), text, "the text to copy is the same");
  await tab.tap("#codes");
  await readCodes(tab, lines);
  await tab.tap("#aloud");
  await aloudRight(tab, lines);
  await close();
}

async function readCodes(tab, lines) {
  const number = Number(/of (\d+)/.exec(await words(tab, "#which"))[1]);
  check(number > 1, "sixty counts take several codes", number);
  const read = [];
  for (let at = 0; at < number; at += 1) {
    const found = await readCode(tab);
    if (!found) { console.log("skipped: no reader of codes here"); return; }
    read.push(...csv(found.toString("utf8")));
    await tab.tap("#code-next");
  }
  same(read.map((line) => [line.id, line.shoots, line.date, line.counted_by]), lines.map((line) => [line.id, line.shoots, line.date, line.counted_by]), "codes, read back, hold every count");
}

async function aloudRight(tab, lines) {
  const said = await tab.locator(".aloud li").allTextContents();
  const sums = new Map();
  for (const line of lines) sums.set(line.row, (sums.get(line.row) || 0) + Number(line.shoots));
  check(said.length === sums.size && [...sums].every(([row, sum], at) => said[at].startsWith(`Row ${row}`) && said[at].includes(`total ${sum}, letter `)), "read aloud, every row has its total and a letter", said[0]);
  const missed = await tab.evaluate(() => {
    let missed = 0, tried = 0;
    const values = [31, 8, 120, 45, 0, 19];
    const right = checkLetter(14, values);
    values.forEach((value, at) => {
      for (let other = 0; other < 150; other += 1) {
        if ((other - value) % 23 === 0) continue;
        tried += 1;
        if (checkLetter(14, values.with(at, other)) === right) missed += 1;
      }
    });
    const swapped = [31, 8, 45, 120, 0, 19];
    return missed + (tried < 500) + (checkLetter(14, swapped) === right) + (checkLetter(15, values) === right);
  });
  same(missed, 0, "the letter tells a wrong number, a swap and a wrong row");
}
