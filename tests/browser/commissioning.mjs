// Drives commissioning and fault-finding in a real browser, as a person would.
//
//   node commissioning.mjs through URL        the first module from its first step to its last: a reading out of band, a step left out, points
//                                             that move the wrong way, a server that is started again, a second phone that takes over
//   node commissioning.mjs faults URL         a fault found by taps
//   node commissioning.mjs pictures URL DIR   both sheets at phone and desktop size, light and dark, as PNG in DIR
//
// One JSON object a row on stdout, as live.mjs has them. Exit status 0 only when everything was seen. Nothing here sleeps.

import { chromium } from "playwright-core";
import { createInterface } from "node:readline";

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];
const SIZES = { phone: [390, 844], desktop: [1440, 900] };
const PATIENCE_MS = 30_000;

/** What a dead output of the decoder shows: only what it drives itself fails. */
const ANSWERS = [
  /^Machine (?!y1)\S+( from (a cab|the screen))? moves$/, /^Machine y1( from (a cab|the screen))? does not move$/,
  /^Signal at \S+ good/, /^Address of \S+ right/, /^Others with lever \d+ stay/, /^Output of .* none/, /^Output .* none/, /^Breaker .* holds/,
  /^Wire \S+ good/, /^Volts at \S+ good/, /^Volts at machine y1 none/, /^Volts of .* good/, /^Machine y1 fed by hand moves/,
];

const [scenario, url, folder] = process.argv.slice(2);
const scenarios = { through, faults, pictures };
if (!scenarios[scenario] || !url) throw new Error("usage: node commissioning.mjs through|faults|pictures URL [DIR]");

const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: FLAGS });
try {
  await scenarios[scenario]();
} finally {
  await browser.close();
}

async function through() {
  const complaints = [];
  const one = await open("phone", "commissioning", complaints);
  await at(one, "the supply of the rails");

  await one.locator("#label").fill("16");
  await one.locator("#reading").fill("9.8");
  await one.locator("[data-answer=reading]").tap();
  await saysNo(one, "Type your name first");
  await one.locator("#who").fill("Ruth");
  await one.locator("[data-answer=reading]").tap();
  await one.locator(".found", { hasText: "Bad" }).waitFor();
  await one.locator(".wrong", { hasText: "the supply of the rails gives too little" }).waitFor();
  did("a reading out of band is judged, and what is wrong is named");

  const two = await open("phone", "commissioning", complaints);
  await at(two, "the supply of the rails");
  await two.locator(".found", { hasText: "9.8 V" }).waitFor();
  await two.locator("#who").fill("Olaf");
  await two.locator("#label").fill("16");
  await two.locator("#reading").fill("15,9 V");
  // What is being typed on one device stays while another turns the step, and is gone with its step.
  await one.locator("#reading").fill("1");
  await two.locator("[data-answer=reading]").tap();
  for (const page of [one, two]) await at(page, "decoder D1");
  did("a second phone sees it, tries again after mending, and both go on");

  await one.locator("[data-answer=skip]").tap();
  await saysNo(one, "Write a note");
  await at(one, "decoder D1");
  await one.locator("#step-note").fill("no programmer at hand");
  await one.locator("[data-answer=skip]").tap();
  for (const page of [one, two]) await at(page, "lever 1");
  did("a step is left out, but not without a note");

  await one.locator(".to[data-position=reverse]").tap();
  for (const page of [one, two]) await page.locator(".throw-it .says", { hasText: "The panel has it reverse." }).waitFor();
  await one.evaluate(() => fetch("/levers/1/lock", {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ note: "hand under the points" }),
  }));
  await two.locator(".to[data-position=normal]").tap();
  await saysNo(two, "hand under the points");
  await one.evaluate(() => fetch("/levers/1/unlock", { method: "POST", headers: { "content-type": "application/json" }, body: "{}" }));
  did("the panel throws a lever for the one who watches it, and refuses what is locked");

  if (complaints.filter((complaint) => !complaint.includes("40") && !complaint.includes("422")).length) throw new Error(complaints.join("; "));
  tell({ please: "restart" });
  await aRowOfInput();
  for (const page of [one, two]) {
    await page.waitForSelector("body[data-link=following]");
    await at(page, "lever 1");
  }
  await one.locator("details.all > summary").tap();
  await one.locator(".steps li[data-verdict=skipped]", { hasText: "Decoder D1" }).waitFor();
  await one.locator("details.all > summary").tap();
  did("after a restart both phones are at the same step, and what was found is there");

  await two.locator("details.no > summary").tap();
  await two.locator("[data-saw='machine team from a cab moves the wrong way']").tap();
  for (const page of [one, two]) await page.locator(".remedy", { hasText: "(wires-to-swap)" }).waitFor();
  await one.locator("[data-answer=good]").tap();
  for (const page of [one, two]) await at(page, "lever 2");
  did("points that move the wrong way get a decision with its reason, and good is good afterwards");

  await two.locator(".turn", { hasText: "Step before" }).tap();
  for (const page of [one, two]) await at(page, "lever 1");
  await one.locator(".turn", { hasText: "Step after" }).tap();
  for (const page of [one, two]) await at(page, "lever 2");
  did("one phone turns back and the other on, and both follow");

  let taps = 0;
  while (await one.locator("article.step[data-step='']").count() === 0) {
    const before = await one.locator("article.step").getAttribute("data-step");
    await one.locator("[data-answer=good]").tap();
    await one.waitForFunction((before) => document.querySelector("[data-step]").dataset.step !== before, before);
    taps += 1;
    if (taps > 60) throw new Error("commissioning does not end");
  }
  await two.locator("#step-title", { hasText: "Every step was tried" }).waitFor();
  await two.getByText("Still open: 1.").waitFor();
  const told = await one.evaluate(async () => (await fetch("/commissioning.json")).json());
  if (told.open.join() !== "decoder D1") throw new Error(`open is ${told.open}`);
  const supply = told.found.find((found) => found.step === "the supply of the rails");
  if (supply.verdict !== "good" || supply.who !== "Olaf" || supply.reading !== "15.9 V") throw new Error(JSON.stringify(supply));
  did(`commissioning ends after ${taps} more steps, and what was left out is still open`);
}

async function faults() {
  const complaints = [];
  const page = await open("phone", "faults", complaints);
  await page.locator("#find").fill("lever 5");
  await page.locator(".part:visible summary", { hasText: "Machine y1" }).tap();
  await page.locator(".part:visible .button", { hasText: "Machine y1 does not move" }).tap();
  await page.locator("h2", { hasText: "Suspects" }).waitFor();
  let suspects = await page.locator(".suspects li").count();
  if (suspects < 3) throw new Error(`only ${suspects} suspects`);
  did("a lever that does not move has several suspects");
  // The fault that is there: the output is dead. What the tests then show, by the words of the sheets.
  for (let tests = 0; await page.locator(".test").count(); tests += 1) {
    if (tests > 12) throw new Error("the search does not end");
    const taps = page.locator("ul.taps a");
    const words = await taps.allTextContents();
    const shows = words.findIndex((says) => ANSWERS.some((answer) => answer.test(says)));
    if (shows < 0) throw new Error(`nobody knows what a dead output shows of: ${words.join("; ")}`);
    const seen = await page.locator(".chips li").count();
    await taps.nth(shows).tap();
    await page.waitForFunction((seen) => document.querySelectorAll(".chips li").length > seen, seen);
  }
  await page.locator(".suspects li", { hasText: "D1 output 5 is dead" }).waitFor();
  suspects = await page.locator(".suspects li").count();
  if (suspects !== 1) throw new Error(`${suspects} are left`);
  did("taps on what the tests show leave the true fault alone");
  await page.goBack();
  await page.locator(".test").waitFor();
  did("the browser's way back takes the last answer back");
  if (complaints.length) throw new Error(complaints.join("; "));
}

async function pictures() {
  const page = await open("desktop", "commissioning", []);
  await page.locator("#who").fill("Ruth");
  for (const [what, prepare] of [
    ["reading", async () => {}],
    ["bad", async () => {
      await find(page, { step: "the supply of the rails", answer: "reading", reading: "9.8", label: "16" });
      await page.locator(".wrong").waitFor();
    }],
    ["wrong-way", async () => {
      await find(page, { step: "decoder D1", answer: "skip", note: "no programmer at hand" });
      await find(page, { step: "lever 4", answer: "saw", saw: "machine crossA from a cab moves the wrong way" });
      await page.locator(".remedy").waitFor();
      await page.locator("details.no > summary").click();
    }],
    ["all", async () => page.locator("details.all > summary").click()],
    ["faults", async () => page.goto(new URL("faults", url).href)],
    ["suspects", async () => page.goto(new URL("faults?saw=machine%20y1%20does%20not%20move", url).href)],
  ]) {
    await prepare();
    for (const scheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      for (const [size, [width, height]] of Object.entries(SIZES)) {
        await page.setViewportSize({ width, height });
        await page.screenshot({ path: `${folder}/${what}-${size}-${scheme}.png`, fullPage: what !== "all" });
      }
    }
    did(`pictures of ${what}`);
  }
}

/** Says that something was found, beside the page. */
async function find(page, found) {
  const answer = await page.evaluate((found) => fetch("/commissioning/find", {
    method: "POST", headers: { "content-type": "application/json" },
    body: JSON.stringify({ who: "Ruth", when_ms: 1777662240000, ...found }),
  }).then((answer) => answer.status), found);
  if (answer !== 202) throw new Error(`${found.step}: ${answer}`);
}

/** Opens a sheet in a browser profile of its own, and waits until it follows the panel. */
async function open(size, sheet, complaints) {
  const [width, height] = SIZES[size];
  const context = await browser.newContext({ viewport: { width, height }, hasTouch: size !== "desktop" });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("console", (message) => message.type() === "error" && complaints.push(message.text()));
  await page.goto(new URL(sheet, url).href);
  await page.waitForSelector("body[data-link=following][data-seen]");
  return page;
}

/** Waits until a page is at this step. */
async function at(page, step) {
  await page.waitForSelector(`article.step[data-step="${step}"]`);
}

/** Waits until a page says why something was refused, and closes that. */
async function saysNo(page, words) {
  await page.locator("#refused-says", { hasText: words }).waitFor();
  await page.locator("#refused-close").tap();
}

function aRowOfInput() {
  const input = createInterface({ input: process.stdin });
  return new Promise((resolve, reject) => {
    input.once("line", (row) => {
      resolve(row);
      input.close();
      // An open stdin would keep this script from ending.
      process.stdin.destroy();
    });
    input.once("close", () => reject(new Error("nobody said that the server is back")));
  });
}

function did(what) {
  tell({ did: what });
}

function tell(row) {
  process.stdout.write(`${JSON.stringify(row)}\n`);
}
