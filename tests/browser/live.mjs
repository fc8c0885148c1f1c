// Drives the live panel in a real browser, as a person would.
//
//   node live.mjs restart URL         two pages; a lever is thrown in one and seen to move in the other; then the server is
//                                     to be stopped and started again at the same address, and everything is still there
//   node live.mjs pictures URL DIR    the page at phone, tablet and desktop size, as PNG in DIR
//
// One JSON object a row on stdout: {"did":"…"} for each thing that was done and seen. {"please":"restart"} asks the one who
// started this script to stop the server and start it again; a row on stdin says that it is back. Exit status 0 only when
// everything was seen. Nothing here sleeps: every wait is for something to be seen.

import { chromium } from "playwright-core";
import { createInterface } from "node:readline";

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];
const SIZES = { phone: [390, 844], tablet: [820, 1180], desktop: [1440, 900] };
const PATIENCE_MS = 30_000;

const [scenario, url, folder] = process.argv.slice(2);
const scenarios = { restart, pictures };
if (!scenarios[scenario] || !url) throw new Error("usage: node live.mjs restart|pictures URL [DIR]");

const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: FLAGS });
try {
  await scenarios[scenario]();
} finally {
  await browser.close();
}

async function restart() {
  const faults = [];
  const one = await open("desktop", faults);
  const two = await open("phone", faults);
  did("two pages are open and follow the panel");

  await press(one, 4, "unknown");
  await sees(two, 4, "normal");
  await press(one, 4, "normal");
  await sees(two, 4, "reverse");
  await sees(one, 4, "reverse");
  did("a lever thrown in the first page moved in the second");

  await pressKey(two, 1, "unknown");
  await sees(one, 1, "normal");
  did("a lever thrown by keyboard in the second page moved in the first");

  await seesLegs(two, 4, "reverse");
  await one.locator(`.railroad .number[data-lever="${await idOf(one, 4)}"]`).first().click();
  await sees(two, 4, "normal");
  await seesLegs(two, 4, "normal");
  await nearMark(one, 4);
  await sees(two, 4, "reverse");
  await seesLegs(two, 4, "reverse");
  did("a lever thrown in the diagram of the first page moved in the diagram of the second");
  if (faults.length) throw new Error(`the pages complain: ${faults.join("; ")}`);

  const before = await runOf(one);
  tell({ please: "restart" });
  await aRowOfInput();
  for (const page of [one, two]) {
    await page.waitForFunction((run) => (document.body.dataset.seen ?? run).split(".")[0] !== run, before, wait());
    await sees(page, 4, "reverse");
    await sees(page, 1, "normal");
    await sees(page, 2, "unknown");
  }
  const three = await open("tablet", []);
  await sees(three, 4, "reverse");
  did("after a restart both pages follow again, and they and a new one show what was thrown before");

  await press(two, 4, "reverse");
  await sees(one, 4, "normal");
  await sees(three, 4, "normal");
  did("and levers are thrown as before");
}

async function pictures() {
  const page = await open("desktop", []);
  await press(page, 4, null);
  await settled(page, 4);
  for (const [size, [width, height]] of Object.entries(SIZES)) {
    await page.setViewportSize({ width, height });
    await page.screenshot({ path: `${folder}/${size}.png`, fullPage: true });
    did(`${folder}/${size}.png`);
  }
}

/** Opens the page in a browser profile of its own, and waits until it follows the panel. */
async function open(size, faults) {
  const [width, height] = SIZES[size];
  const context = await browser.newContext({ viewport: { width, height }, hasTouch: size !== "desktop" });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.on("pageerror", (error) => faults.push(String(error)));
  page.on("console", (message) => message.type() === "error" && faults.push(message.text()));
  await page.goto(url);
  await page.waitForSelector("body[data-link=following][data-seen]");
  return page;
}

function button(page, lever) {
  return page.locator(`button[data-number="${lever}"]`);
}

/** Presses a lever's button, after seeing that it stands like this. */
async function press(page, lever, state) {
  if (state) await sees(page, lever, state);
  await button(page, lever).click();
}

async function pressKey(page, lever, state) {
  await sees(page, lever, state);
  await button(page, lever).focus();
  await page.keyboard.press("Enter");
}

/** Waits until a page shows a lever in this state, in words as well. */
async function sees(page, lever, state) {
  const words = state === "unknown" ? "not known" : state;
  try {
    await page.waitForSelector(`button[data-number="${lever}"][data-state="${state}"] .says:text-is("${words}")`);
  } catch {
    const shown = await button(page, lever).getAttribute("data-state");
    throw new Error(`lever ${lever} should be ${state} and is ${shown}`);
  }
}

/** Waits until the diagram shows every machine of a lever by the mark of this position, and by its leg. */
async function seesLegs(page, lever, position) {
  await page.waitForFunction(([lever, position]) => {
    const drawn = [...document.querySelectorAll(`.railroad [data-lever="${lever}"][data-position]`)];
    const seen = (element) => getComputedStyle(element).visibility === "visible";
    const right = (element) => seen(element) === (element.dataset.position === position);
    return drawn.some((element) => element.matches(".mark")) && drawn.some((element) => element.matches(".leg"))
      && drawn.every(right);
  }, [await idOf(page, lever), position], wait());
}

/** Taps beside the mark of a lever's turnout, as far from its middle as a fingertip may be. */
async function nearMark(page, lever) {
  const mark = page.locator(`.railroad .mark[data-lever="${await idOf(page, lever)}"]`).first();
  const { x, y, width, height } = await mark.boundingBox();
  await page.mouse.click(x + width / 2, y + height / 2 + 20);
}

async function idOf(page, lever) {
  return button(page, lever).getAttribute("data-lever");
}

async function settled(page, lever) {
  await page.waitForSelector(`button[data-number="${lever}"]:is([data-state=normal], [data-state=reverse])`);
}

/** Which opening of the panel a page has seen last. */
async function runOf(page) {
  return (await page.locator("body").getAttribute("data-seen")).split(".")[0];
}

function wait() {
  return { timeout: PATIENCE_MS };
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
