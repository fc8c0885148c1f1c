// How long it takes from a tap in one page to the frame of another page in which it is drawn: two pages in a real Chromium, as many
// more event streams as make 200, and 50 throws a second from elsewhere, all on one computer with the server.
//
//   node crates/serve/benches/drawn.mjs PROGRAM [SECONDS]
//
// PROGRAM is `throwbar`, built for release. The tap's time is the one that the browser gives the click; the frame's is that of the
// first task after the frame that follows the change, which is when the frame has been handed on to be shown. Both pages have one
// clock. What comes before, from the finger to the browser, and after, from there to the glass, depends on the device.

import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import http from "node:http";
import { createRequire } from "node:module";
import { loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";

const STREAMS = 200;
const THROWS_A_SECOND = 50;
const TAP_EVERY_MS = 211;
const TAPPED = 8;

const [program, seconds = "60"] = process.argv.slice(2);
if (!program) throw new Error("usage: node crates/serve/benches/drawn.mjs PROGRAM [SECONDS]");
const root = fileURLToPath(new URL("../../../", import.meta.url));
const { chromium } = createRequire(join(root, "tests/browser/live.mjs"))("playwright-core");
const folder = mkdtempSync(join(tmpdir(), "drawn-"));

const server = spawn(program, ["serve", join(root, "demo/first-module"), "--port", "0", "--journal", join(folder, "evening.journal")]);
const url = await new Promise((found) => createInterface({ input: server.stdout }).once("line", found));
const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
try {
  for (let count = 2; count < STREAMS; count += 1) await follow();
  const [taps, frames] = await Promise.all([open(), open()]);
  await taps.locator('.bar a[data-to="levers"]').click();
  await taps.evaluate((lever) => {
    window.tapped = [];
    document.querySelector(`.lever[data-number="${lever}"] .throws`).addEventListener("click", (event) => {
      if (event.target.closest(".to")) window.tapped.push(performance.timeOrigin + event.timeStamp);
    }, true);
  }, TAPPED);
  await frames.evaluate((lever) => {
    window.drawn = [];
    const row = document.querySelector(`.lever[data-number="${lever}"]`);
    const after = new MessageChannel();
    after.port1.onmessage = ({ data }) => window.drawn.push([data, performance.timeOrigin + performance.now()]);
    const isSent = () => row.dataset.state.startsWith("to-");
    new MutationObserver(() => isSent() && requestAnimationFrame(() => after.port2.postMessage(row.dataset.state)))
      .observe(row, { attributeFilter: ["data-state"] });
  }, TAPPED);

  const positions = ["reverse", "normal"];
  // What can be undone is offered above the buttons, so everything is thrown once before their places are looked up.
  for (let round = 0; round < 2; round += 1) {
    for (let lever = 1; lever <= TAPPED; lever += 1) {
      const body = JSON.stringify({ position: "normal" });
      await fetch(`${url}levers/${lever}/throw`, { method: "POST", headers: { "content-type": "application/json" }, body });
    }
  }
  for (const page of [taps, frames]) {
    await page.waitForFunction(() => document.querySelectorAll(".lever:not([data-state=normal])").length === 0);
  }
  for (const page of [taps, frames]) await page.evaluate(() => { [window.tapped, window.drawn] = [[], []]; });
  // Where the buttons lie is looked up once: the driver is slow at it while the page is busy.
  const places = [];
  for (const to of positions) {
    const button = taps.locator(`.lever[data-number="${TAPPED}"] .to[data-position="${to}"]`);
    await button.scrollIntoViewIfNeeded();
    const { x, y, width, height } = await button.boundingBox();
    places.push([x + width / 2, y + height / 2]);
  }
  const ends = Date.now() + Number(seconds) * 1000;
  const load = throws(ends);
  let count = 0;
  for (; Date.now() < ends; count += 1) {
    const next = Date.now() + TAP_EVERY_MS;
    await taps.mouse.click(...places[count % 2]);
    await new Promise((wait) => setTimeout(wait, Math.max(0, next - Date.now())));
  }
  const thrown = await load;
  await new Promise((wait) => setTimeout(wait, 1000));
  const tapped = await taps.evaluate(() => window.tapped);
  const drawn = await frames.evaluate(() => window.drawn);
  if (tapped.length !== count) throw new Error(`${count} taps, ${tapped.length} heard`);
  // Each tap's own frame.
  const times = tapped.flatMap((tap, index) => {
    const own = drawn.find(([state, at]) => at > tap && state === `to-${positions[index % 2]}`);
    return own ? [own[1] - tap] : [];
  }).sort((a, b) => a - b);
  if (times.length !== count) console.log(`${count - times.length} taps were not drawn`);
  const of = (percent) => times[Math.min(times.length - 1, Math.floor((times.length * percent) / 100))].toFixed(1);
  console.log(`${count} taps, ${thrown} other throws, ${STREAMS} streams: p50 ${of(50)} ms, p99 ${of(99)} ms, longest ${of(100)} ms; `
    + `load of the computer ${loadavg()[0].toFixed(1)}`);
} finally {
  await browser.close();
  server.kill();
  rmSync(folder, { recursive: true });
}
// The streams are still open.
process.exit(0);

/** Holds an event stream open and reads it, as a page would. */
function follow() {
  return new Promise((opened, failed) => {
    http.get(`${url}events`, { agent: false }, (answer) => {
      answer.resume();
      answer.once("data", opened);
      answer.on("error", () => {});
    }).on("error", failed);
  });
}

async function open() {
  const context = await browser.newContext({ viewport: { width: 820, height: 1180 }, serviceWorkers: "block" });
  const page = await context.newPage();
  await page.goto(url);
  await page.waitForSelector("body[data-link=following][data-seen]");
  return page;
}

/** Throws the other levers in turn, until it is time; gives back how many throws were taken. */
async function throws(ends) {
  const agent = new http.Agent({ keepAlive: true, maxSockets: 4 });
  const started = Date.now();
  let [asked, taken] = [0, 0];
  while (Date.now() < ends) {
    const due = started + (asked * 1000) / THROWS_A_SECOND;
    await new Promise((wait) => setTimeout(wait, Math.max(0, due - Date.now())));
    const lever = (asked % (TAPPED - 1)) + 1;
    const position = Math.floor(asked / (TAPPED - 1)) % 2 ? "normal" : "reverse";
    const request = http.request(`${url}levers/${lever}/throw`, { agent, method: "POST", headers: { "content-type": "application/json" } }, (answer) => {
      answer.resume();
      taken += Number(answer.statusCode === 202);
    });
    request.on("error", () => {});
    request.end(JSON.stringify({ position }));
    asked += 1;
  }
  return taken;
}
