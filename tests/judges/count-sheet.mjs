// What Chromium makes of count-sheet.html: `node count-sheet.mjs CHROMIUM FOLDER [PART …]`, where FOLDER holds
// the sheets that tests/it/count_sheet.rs names. Every check is a line; the exit code is 1 when one does
// not hold.
import * as counting from "./count-sheet/counting.mjs";
import { killed } from "./count-sheet/killed.mjs";
import * as looks from "./count-sheet/looks.mjs";
import * as missing from "./count-sheet/missing.mjs";
import * as out from "./count-sheet/out.mjs";
import * as phones from "./count-sheet/phones.mjs";
import { FLAGS, browser, check, executablePath, folder, heldTo, parts } from "./count-sheet/tools.mjs";

const wanted = (name) => !parts.length || parts.includes(name);

for (const part of [looks, counting, out, phones, missing].flatMap(Object.values)) {
  if (wanted(part.name)) await part().catch((error) => check(false, part.name, error));
}
await browser.close();
// One browser at a time: this part starts and kills its own.
const own = { executablePath, page: `${folder}/sixty.html`, flags: FLAGS, check };
if (wanted("killed")) await killed(own).catch((error) => check(false, "killed", error));
process.exitCode = heldTo.faults ? 1 : 0;
