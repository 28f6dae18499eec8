// What Firefox makes of map.html: `node map-second-engine.mjs FIREFOX PAGE`; an empty FIREFOX is looked
// for under its usual names. Every check is a line; the exit code is 1 when one does not hold, 77 when
// there is no Firefox or no package to drive it.
import { withFirefox } from "./firefox.mjs";
import { DESK, ONE_VINE, PHONE, address, check, checkAll, listen, sideways, spoiltTexts, told } from "./looking.mjs";

const page = process.argv[3];

async function open(browser, viewport) {
  const tab = await browser.newPage();
  const heard = listen(tab);
  await tab.setViewport(viewport);
  await tab.goto(address(page));
  return { tab, heard };
}

const said = (tab) => tab.$eval("#said b", (part) => part.textContent);
const has = (tab, selector, name) => tab.$eval(selector, (part, name) => part.classList.contains(name), name);

async function ask(tab, text) {
  await tab.$eval("#asked", (box) => { box.value = ""; });
  await tab.type("#asked", text);
  await tab.keyboard.press("Enter");
  return said(tab);
}

async function live(browser) {
  const { tab, heard } = await open(browser, DESK);
  check(await tab.$eval("html", (part) => part.dataset.ready) === "yes", "Firefox: the page comes alive");
  check(await tab.$eval("#find", (part) => part.checkVisibility()), "Firefox: one can look up");
  for (const text of [...ONE_VINE, "R012P07", "R012", "Z1"]) {
    const wanted = ONE_VINE.includes(text) ? "R012V034" : text;
    const found = await ask(tab, text);
    check(found === wanted, `Firefox: ${text} is found`, found);
  }
  check(await ask(tab, "12/999") === "Not found", "Firefox: an unknown vine is told to be unknown");
  const pixels = await tab.$eval("canvas", (canvas) => {
    const seen = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
    return seen.filter((_, at) => at % 4 === 3).filter((opacity) => opacity > 0).length;
  });
  check(pixels > 1000, "Firefox: vines are drawn", `${pixels} pixels`);
  const row = "tr[data-zone='1']", border = ".over[data-zone='1']";
  await tab.hover(row);
  check(await has(tab, border, "near"), "Firefox: hovering a row shows its zone");
  await tab.focus(`${row} a`);
  await tab.keyboard.press("Enter");
  check(await has(tab, border, "chosen") && await has(tab, row, "chosen"), "Firefox: a chosen row is marked on map and table");
  check(await said(tab) === "Z2", "Firefox: and told", await said(tab));
  await tab.focus("#frame");
  await tab.keyboard.press("+");
  const moved = await tab.$eval(".moved", (part) => part.getAttribute("transform"));
  check(/scale\(1\.5\)/.test(moved), "Firefox: plus enlarges", moved);
  await tab.keyboard.press("0");
  await tab.click("#frame");
  check((await said(tab)).length > 1, "Firefox: a click on the map tells what is there");
  // Firefox does not name files it reads, only what goes over the network.
  check(!heard.asked.length, "Firefox: nothing is asked of the network", heard.asked.join(", "));
  check(!heard.complaints.length, "Firefox: no complaint", heard.complaints.join("; "));
}

async function fits(browser) {
  for (const viewport of [{ width: 320, height: 640 }, PHONE, DESK]) {
    const { tab } = await open(browser, viewport);
    await ask(tab, "R012V034");
    const [wide, spoilt] = [await sideways(tab), await spoiltTexts(tab)];
    const where = `at ${viewport.width} px`;
    check(wide <= 0, `Firefox: nothing sticks out sideways ${where}`, `${wide} px`);
    check(!spoilt.length, `Firefox: no text is cut off or lies on another ${where}`, spoilt.join("; "));
  }
}

async function still(browser) {
  const { tab, heard } = await open(browser, PHONE);
  // Where script is off, Firefox answers only what can be said at once.
  const seen = await tab.evaluate(() => ({
    alive: document.documentElement.dataset.ready === "yes",
    map: document.querySelector("#frame svg").getBoundingClientRect().width,
    rows: document.querySelectorAll("tr[data-zone]").length,
    find: document.getElementById("find").checkVisibility(),
  }));
  check(!seen.alive, "Firefox: script is off");
  check(seen.map > 200, "Firefox: without script the map is there", `${seen.map} px wide`);
  check(seen.rows > 0, "Firefox: and the table");
  check(!seen.find, "Firefox: and nothing that would not work");
  check(!heard.complaints.length && await sideways(tab) <= 0, "Firefox: without a complaint", heard.complaints.join("; "));
}

async function dark(browser) {
  const { tab } = await open(browser, DESK);
  const paper = await tab.$eval("body", (part) => getComputedStyle(part).backgroundColor);
  check(paper === "rgb(23, 25, 27)", "Firefox: dark when the reader's system is dark", paper);
}

await withFirefox({}, (browser) => checkAll([live, fits], browser));
await withFirefox({ "javascript.enabled": false }, (browser) => checkAll([still], browser));
await withFirefox({ "layout.css.prefers-color-scheme.content-override": 0 }, (browser) => checkAll([dark], browser));
process.exitCode = told.faults ? 1 : 0;
