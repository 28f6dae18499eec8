// Firefox as people have it: named as the first argument, else looked for under its usual names. Where
// there is none, or no package to drive it, the judge ends with 77.
import { existsSync } from "node:fs";
import { delimiter, join } from "node:path";

const NOBODY_LOOKED = 77;

function nobodyLooked(why) {
  console.log(`skipped: ${why}`);
  process.exit(NOBODY_LOOKED);
}

function usual() {
  const folders = (process.env.PATH || "").split(delimiter);
  return ["firefox", "firefox-esr"].flatMap((name) => folders.map((folder) => join(folder, name))).find(existsSync);
}

const executablePath = process.argv[2] || process.env.FIREFOX || usual();
if (!executablePath || !existsSync(executablePath)) nobodyLooked("no Firefox");
const { default: puppeteer } = await import("puppeteer-core").catch(() => nobodyLooked("no puppeteer-core: run npm ci in tests/judges"));

// As people have it, but for the first: a driver would let a file read its neighbours. Nothing answers
// at the proxy, so there is no network.
const PREFERENCES = {
  "security.fileuri.strict_origin_policy": true,
  "network.proxy.type": 1,
  "network.proxy.http": "127.0.0.1", "network.proxy.http_port": 9,
  "network.proxy.ssl": "127.0.0.1", "network.proxy.ssl_port": 9,
};

export async function withFirefox(preferences, look, options = {}) {
  const extraPrefsFirefox = { ...PREFERENCES, ...preferences };
  const browser = await puppeteer.launch({ browser: "firefox", executablePath, headless: true, extraPrefsFirefox, protocolTimeout: 30_000, ...options });
  try {
    await look(browser);
  } finally {
    // One that was killed has nothing to close.
    await browser.close().catch(() => {});
  }
}
