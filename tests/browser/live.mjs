// Drives the live panel in a real browser, as a person would.
//
//   node live.mjs restart URL         two pages; a lever is thrown in one and seen to move in the other; then the server is
//                                     to be stopped and started again at the same address, and everything is still there
//   node live.mjs routes URL          a route is set in three taps and seen in a second page; a conflicting one is refused in
//                                     words; a lever is locked with a note; levers by keyboard; stop and undo
//   node live.mjs keys URL URL        a panel on the network: a stranger is led to the door; who enters by the first address may look
//                                     and not throw; who enters by the second may throw
//   node live.mjs rules URL URL       accessibility rules in every view, size and light, on panels in every state; the second panel is
//                                     behind keys, and its page to enter is looked at
//   node live.mjs pictures URL DIR    every view at phone, tablet and desktop size, light and dark, as PNG in DIR
//
// One JSON object a row on stdout: {"did":"…"} for each thing that was done and seen. {"please":"restart"} asks the one who
// started this script to stop the server and start it again; a row on stdin says that it is back. Exit status 0 only when
// everything was seen. Nothing here sleeps: every wait is for something to be seen.

import axe from "axe-core";
import { chromium } from "playwright-core";
import { createInterface } from "node:readline";

const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
  // Such as the one certificate to be accepted, as a person does who has compared its fingerprint.
  ...(process.env.BROWSER_FLAGS || "").split(" ").filter(Boolean),
];
const SIZES = { phone: [390, 844], tablet: [820, 1180], desktop: [1440, 900] };
const LIGHTS = ["light", "dark"];
const VIEWS = ["railroad", "routes", "levers", "log", "health"];
const PATIENCE_MS = 30_000;
// W3C, WCAG 2.2, levels A and AA, and what axe-core calls best practices.
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

const [scenario, url, folder] = process.argv.slice(2);
const scenarios = { restart, routes, keys, rules, pictures };
if (!scenarios[scenario] || !url) throw new Error("usage: node live.mjs restart|routes|keys|rules|pictures URL [URL|DIR]");

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

  await press(one, 4, "normal", "unknown");
  await sees(two, 4, "normal");
  await press(one, 4, "reverse", "normal");
  await sees(two, 4, "reverse");
  await sees(one, 4, "reverse");
  did("a lever thrown in the first page moved in the second");

  await pressKey(two, 1, "normal");
  await sees(one, 1, "normal");
  did("a lever thrown by keyboard in the second page moved in the first");

  await view(one, "railroad");
  await view(two, "railroad");
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

  await press(two, 4, "normal", "reverse");
  await sees(one, 4, "normal");
  await sees(three, 4, "normal");
  did("and levers are thrown as before");
}

async function routes() {
  const faults = [];
  const one = await open("phone", faults);
  const two = await open("desktop", faults);

  await view(one, "routes");
  await stop(one, "west approach").tap();
  await stop(one, "main 4").tap();
  await one.locator(".set-it").tap();
  for (const page of [one, two]) await page.waitForSelector('.set li[data-state="set"]', { ...wait(), state: "attached" });
  // A level line has no height, so it does not count as seen.
  await two.waitForSelector(".railroad .band[data-state=set]", { ...wait(), state: "attached" });
  did("a route was set in three taps, and a second page sees it");

  await view(two, "routes");
  await two.locator('.railroad .end-name[data-joint="west"]').click();
  await two.waitForSelector(".stop-at:disabled, .stop-at[aria-pressed=true]");
  await two.locator('.railroad .end-name[data-joint="team track"]').click();
  await two.locator(".ways li .note").waitFor();
  // It is marked as not to be had; a person may press it all the same, and hears why not.
  await two.locator(".set-it").click({ force: true });
  await saysNo(two, "The route team track – west approach cannot be set while main 4 – west approach is set: both need lever 1, in different positions. Release main 4 – west approach first.");
  did("a route that conflicts with it was refused, and the sentence names both and what to do");

  await press(two, 1, "reverse");
  await saysNo(two, "Lever 1 is held by the route main 4 – west approach");
  await view(one, "routes");
  await one.locator('.set .release').tap();
  for (const page of [one, two]) await page.waitForSelector(".set li", { ...wait(), state: "detached" });
  did("a lever of the route was refused, and the route was released");

  await view(two, "railroad");
  await two.locator('.railroad .end-name[data-joint="west"]').click();
  await two.waitForSelector("body[data-view=routes]");
  await stop(two, "team track").click();
  await two.locator(".set-once").click();
  await two.locator("#heard", { hasText: "no longer held" }).waitFor({ ...wait(), state: "attached" });
  for (const page of [one, two]) await page.waitForSelector(".set li", { ...wait(), state: "detached" });
  await two.locator(".ways", { hasText: "every lever stands right" }).waitFor(wait());
  did("a stop tapped in the diagram began a route that was set once, and released itself when it was set");

  const spoilt = two.locator("#practice select").first();
  await view(two, "health");
  await spoilt.selectOption("stuck");
  await two.locator("#put-in", { hasText: "1" }).waitFor(wait());
  await two.locator("#mend-all").click();
  await two.locator("#put-in", { hasText: "none" }).waitFor(wait());
  if ((await spoilt.inputValue()) !== "sound") throw new Error("it is mended and does not say so");
  did("a fault was put into the simulated layout and mended");

  await view(one, "levers");
  await row(one, 5).locator(".lock").tap();
  await one.locator("#note").fill("wheel in the frog");
  await one.locator("#lock-form .strong").tap();
  await row(two, 5).and(two.locator("[data-locked]")).waitFor({ ...wait(), state: "attached" });
  await press(two, 5, "reverse");
  await saysNo(two, "wheel in the frog");
  await row(one, 5).locator(".lock").tap();
  await row(two, 5).and(two.locator(":not([data-locked])")).waitFor({ ...wait(), state: "attached" });
  did("a lever was locked with a note, refused with it, and unlocked");

  for (const word of VIEWS) {
    await view(two, word);
    await two.locator("h1").click();
    const position = VIEWS.indexOf(word) % 2 ? "normal" : "reverse";
    await two.keyboard.type(`8${position[0]}`);
    await two.locator("#typed", { hasText: `: ${position}` }).waitFor(wait());
    await sees(one, 8, position);
  }
  await two.keyboard.type("8n");
  await sees(one, 8, "normal");
  await view(two, "levers");
  await two.locator("#undo").click();
  await sees(one, 8, "reverse");
  did("in every view a lever was thrown by its number and N or R, and the last throw was undone");

  await one.locator("#stop").tap();
  await two.locator("#stopped").waitFor(wait());
  await press(two, 8, "normal");
  await saysNo(two, "Everything is stopped");
  await two.locator("#resume").click();
  await one.locator("#stopped").waitFor({ ...wait(), state: "hidden" });
  did("everything was stopped in one page and let go on in the other");

  await view(two, "log");
  await two.locator("#log-rows tr", { hasText: "Everything may go on" }).first().waitFor(wait());
  await view(two, "health");
  await two.locator("#pages", { hasText: "2 of" }).waitFor(wait());
  did("the log and the health of the panel were looked at");

  for (const page of [one, two]) await checkPage(page);
  did("in every view each control is a fingertip large and has a name, and nothing runs off the page");
  const unexpected = faults.filter((fault) => !/status of (4|5)\d\d/.test(fault));
  if (unexpected.length) throw new Error(`the pages complain: ${unexpected.join("; ")}`);

  await one.evaluate(() => navigator.serviceWorker.ready);
  await one.reload();
  await one.waitForSelector("body[data-link=following]", wait());
  await one.context().setOffline(true);
  await one.reload();
  await one.waitForSelector("body[data-link=lost]", wait());
  await sees(one, 8, "reverse");
  await one.context().setOffline(false);
  await one.waitForSelector("body[data-link=following]", wait());
  did("without a network the page opens from what it kept, says that it is out of touch, and follows again");
}

async function keys() {
  const faults = [];
  const secret = new URL(url).hash.slice(1);
  const stranger = await (await browser.newContext()).newPage();
  stranger.setDefaultTimeout(PATIENCE_MS);
  await stranger.goto(new URL(url).origin);
  await stranger.waitForURL("**/enter");
  await stranger.locator("#key").fill("0000-0000-0000-0000-0000-0000-00");
  await stranger.locator("#enter button").click();
  await stranger.locator("#says", { hasText: "This key does not open this panel" }).waitFor(wait());
  did("a stranger was led to the door, and a wrong key opened nothing");

  const visitor = await open("phone", faults);
  const cookies = await visitor.evaluate(() => document.cookie);
  if (cookies) throw new Error(`scripts can read the cookies: ${cookies}`);
  if (visitor.url().includes(secret)) throw new Error("the key stands in the address");
  await visitor.goBack();
  if (visitor.url().includes(secret)) throw new Error("the key stands in the history");
  await visitor.goto(new URL("/", url).href);
  await visitor.waitForSelector("body[data-role=look][data-link=following]");
  await press(visitor, 1, "reverse", "unknown");
  await saysNo(visitor, "it may look");
  await sees(visitor, 1, "unknown");
  did("who entered by scanning the key to look sees the railroad and cannot throw");

  const operator = await open("tablet", faults, folder);
  await press(operator, 1, "reverse", "unknown");
  await sees(visitor, 1, "reverse");
  did("who entered with the key to operate threw a lever, and the visitor saw it");

  await visitor.locator("#stop").tap();
  await operator.locator("#stopped").waitFor(wait());
  did("the visitor stopped everything");
}

/** Every control that is seen has a name and is large enough for a finger, and no view is wider than its screen. */
async function checkPage(page) {
  for (const word of VIEWS) {
    await view(page, word);
    const wrong = await page.evaluate(() => {
      const wrong = [];
      for (const control of document.querySelectorAll("button, a:not(.skip), input, select")) {
        const box = control.getBoundingClientRect();
        if (!control.checkVisibility()) continue;
        if (box.width < 44 || box.height < 44) wrong.push(`${control.outerHTML.slice(0, 80)} is ${box.width} × ${box.height}`);
        const name = control.getAttribute("aria-label") ?? control.labels?.[0]?.textContent ?? control.textContent;
        if (!name.trim()) wrong.push(`${control.outerHTML.slice(0, 80)} has no name`);
      }
      const { scrollWidth, clientWidth } = document.documentElement;
      if (scrollWidth > clientWidth) wrong.push(`the page is ${scrollWidth} wide on a screen of ${clientWidth}`);
      return wrong;
    });
    if (wrong.length) throw new Error(`in the view of ${word}: ${wrong.join("; ")}`);
  }
}

/** Every accessibility rule in every view, size and state; in the dark, where only colours differ, those of contrast. */
async function rules() {
  const page = await open("desktop", []);
  await press(page, 8, "reverse");
  await choose(page, "west approach", "main 4");
  await page.locator(".set-it").click();
  await page.waitForSelector(".set li[data-state=set]", { ...wait(), state: "attached" });
  await choose(page, "west approach", "team track");
  await page.locator(".ways li .note").waitFor();
  await row(page, 7).waitFor({ state: "attached" });
  await post(page, "/levers/7/lock", { note: "wheel in the frog", by: "Ruth" });
  await row(page, 7).and(page.locator("[data-locked]")).waitFor({ ...wait(), state: "attached" });
  await obeys(page, "with a route set, one refused and a lever locked", VIEWS);

  await view(page, "routes");
  await page.locator("#again").click();
  await obeys(page, "with a route to be chosen", ["routes"]);
  await view(page, "levers");
  await row(page, 5).locator(".lock").click();
  await obeys(page, "while a note is asked for", []);
  await page.locator("#lock-cancel").click();
  await page.locator("h1").click();
  await page.keyboard.type("99");
  await obeys(page, "while a number is typed", []);
  await page.keyboard.press("Escape");

  const { machines } = await (await page.request.get(new URL("/practice", url).href)).json();
  const { machine } = machines.find((told) => told.lever === 5);
  await view(page, "health");
  await page.locator(`#practice select[data-machine="${machine}"]`).selectOption("wrong-way-round");
  await page.locator("#practice li[data-spoilt]").waitFor();
  await press(page, 5, "reverse");
  await row(page, 5).and(page.locator("[data-state=overdue]")).waitFor(wait());
  if (!(await row(page, 5).locator(".says").textContent()).includes("but reports")) throw new Error("it is told otherwise");
  await page.locator("#stop").click();
  await page.locator("#stopped").waitFor(wait());
  await press(page, 8, "normal");
  await saysNo(page, "Everything is stopped");
  await obeys(page, "with a refusal", []);
  await obeys(page, "stopped, with a fault", VIEWS);

  await page.context().route("**/events", (route) => route.abort());
  await page.reload();
  await page.waitForSelector("body[data-link=lost]", wait());
  await obeys(page, "without a connection", VIEWS);

  const stranger = await (await browser.newContext()).newPage();
  await stranger.goto(folder);
  await stranger.locator("#key").waitFor(wait());
  await obeys(stranger, "before a key is shown", []);

  await stranger.evaluate(() => document.querySelector("label").remove());
  const broken = await obeys(stranger, "", []).catch((error) => error.message);
  if (!broken?.includes("label: ")) throw new Error(`a field without a name was not noticed: ${broken}`);
  did("a field that lost its name was noticed");
}

/** Holds a page to the rules in these views, or as it is, at every size, light and dark. */
async function obeys(page, state, words) {
  await page.evaluate(axe.source);
  for (const [size, [width, height]] of Object.entries(SIZES)) {
    await page.setViewportSize({ width, height });
    for (const word of words.length ? words : [null]) {
      if (word) await view(page, word);
      for (const colorScheme of LIGHTS) {
        await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
        const only = colorScheme === "light" ? { type: "tag", values: RULES } : { type: "rule", values: ["color-contrast"] };
        const found = await page.evaluate((only) => axe.run(document, { runOnly: only, resultTypes: ["violations"] }), only);
        const wrong = found.violations.map((each) => `${each.id}: ${each.help}: ${each.nodes.map((node) => node.html.slice(0, 120)).join(" ")}`);
        if (wrong.length) throw new Error(`${state}, ${word ?? "here"}, ${size}, ${colorScheme}: ${wrong.join("; ")}`);
        if (!found.passes.length) throw new Error("no rule was tried");
      }
    }
  }
  did(`no rule of accessibility is broken ${state}`);
}

async function pictures() {
  const page = await open("desktop", []);
  const stops = await page.locator(".stop-at").evaluateAll((all) => all.map((stop) => stop.dataset.stop));
  const far = stops.includes("main 4") ? "main 4" : "lighthouse loop";
  await press(page, 8, "reverse");
  await choose(page, "west approach", far);
  await page.locator(".set-it").first().click();
  await page.waitForSelector(".set li:not([data-state=setting])", wait());
  const set = await page.locator(".set li").getAttribute("data-route");
  await post(page, "/levers/7/lock", { note: "wheel in the frog", by: "Ruth" });
  await row(page, 7).and(page.locator("[data-locked]")).waitFor({ ...wait(), state: "attached" });
  await choose(page, "west approach", "yard 2");
  await page.locator(".ways li").first().waitFor();
  await picture(page, "", VIEWS);
  await view(page, "routes");
  await page.locator("#again").click();
  await picture(page, "-begin", ["routes"]);

  await post(page, "/routes/release", { route: set });
  await post(page, "/levers/7/unlock", {});
  await page.waitForSelector(".set li", { ...wait(), state: "detached" });
  const { machines } = await (await page.request.get(new URL("/practice", url).href)).json();
  const of = (lever) => machines.find((told) => told.lever === lever).machine;
  await post(page, "/practice", { machine: of(4), fault: "stuck" });
  await post(page, "/practice", { machine: of(8), fault: "wrong-way-round" });
  await choose(page, "yard 5", "west approach");
  await page.locator(".set-it").first().click();
  await page.waitForSelector(".set li[data-state=setting]", wait());
  await picture(page, "-setting", ["railroad"]);
  await press(page, 8, "normal");
  await page.waitForSelector(".set li:not([data-state=setting])", { ...wait(), state: "attached" });
  await page.waitForSelector('.lever[data-number="8"][data-state=overdue]', wait());
  await picture(page, "-fault", ["railroad", "routes", "levers", "health"]);
  await post(page, "/stop", { by: "Ruth" });
  await page.locator("#stopped").waitFor(wait());
  await post(page, "/levers/1/throw", { position: "reverse" });
  await picture(page, "-stopped", ["railroad"]);
  await press(page, 1, "reverse");
  await page.locator("#refused").waitFor(wait());
  await picture(page, "-refused", ["levers"]);
  await page.context().route("**/events", (route) => route.abort());
  await page.reload();
  await page.waitForSelector("body[data-link=lost]", wait());
  await picture(page, "-lost", ["railroad", "levers"]);
}

/** Takes these views at every size, light and dark. */
async function picture(page, what, words) {
  for (const scheme of LIGHTS) {
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    for (const [size, [width, height]] of Object.entries(SIZES)) {
      await page.setViewportSize({ width, height });
      for (const word of words) {
        await view(page, word);
        await page.screenshot({ path: `${folder}/${word}${what}-${size}-${scheme}.png` });
      }
    }
  }
  did(`pictures of ${words.join(", ")}${what}`);
}

async function choose(page, from, to) {
  await view(page, "routes");
  if (await page.locator("#again").isVisible()) await page.locator("#again").click();
  await stop(page, from).click();
  await stop(page, to).click();
}

/** Asks for something beside the page, as another device would. */
async function post(page, path, what) {
  await page.evaluate(([path, what]) => fetch(path, {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(what),
  }), [path, what]);
}

/** Opens the page in a browser profile of its own, and waits until it follows the panel. */
async function open(size, faults, address = url) {
  const [width, height] = SIZES[size];
  const context = await browser.newContext({ viewport: { width, height }, hasTouch: size !== "desktop" });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE_MS);
  page.on("pageerror", (error) => faults.push(String(error)));
  page.on("console", (message) => message.type() === "error" && faults.push(message.text()));
  await page.goto(address);
  await page.waitForSelector("body[data-link=following][data-seen]");
  return page;
}

function row(page, lever) {
  return page.locator(`.lever[data-number="${lever}"]`);
}

function stop(page, name) {
  return page.locator(`.stop-at[data-stop="${name}"]`);
}

/** Turns a page to a view. */
async function view(page, word) {
  await page.locator(`.bar a[data-to="${word}"]`).click();
  await page.waitForSelector(`body[data-view="${word}"]`);
}

/** Presses a lever's button for a position, after seeing that it stands like this. */
async function press(page, lever, position, state) {
  await view(page, "levers");
  if (state) await sees(page, lever, state);
  await row(page, lever).locator(`.to[data-position="${position}"]`).click();
}

async function pressKey(page, lever, position) {
  await view(page, "levers");
  await row(page, lever).locator(`.to[data-position="${position}"]`).focus();
  await page.keyboard.press("Enter");
}

/** Waits until a page says why something was refused. */
async function saysNo(page, words) {
  await page.locator("#refused-says", { hasText: words }).waitFor(wait());
}

/** Waits until a page knows that a lever is in this state, in words as well. */
async function sees(page, lever, state) {
  const words = state === "unknown" ? "not known" : state;
  try {
    await page.waitForSelector(`.lever[data-number="${lever}"][data-state="${state}"] .says:text-is("${words}")`, { state: "attached" });
  } catch {
    const shown = await row(page, lever).getAttribute("data-state");
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
  return row(page, lever).getAttribute("data-lever");
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
