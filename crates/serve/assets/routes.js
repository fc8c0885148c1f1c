// Routes: those that are set, and the choice of another: where from, where to, which way.

import { ask, refuse } from "./ask.js";
import { drawRoutes, drawStops, slideTo } from "./diagram.js";

const byId = (id) => document.getElementById(id);
const stops = [...document.querySelectorAll(".stop-at")];
const endsOf = (stop) => stop.dataset.ends.split("\n").filter(Boolean);
let set = [];
let shown = null;
let offering = false;
let stale = false;
let [from, to] = [null, null];
/** The route that was asked for here, until it is shown. */
let mine = null;

/** Shows the routes that someone asked for. */
export function showRoutes(routes) {
  // One that was to be set once is gone as soon as it is: say what became of it.
  const gone = set.filter((old) => !old.hold && old.state !== "fault" && routes.every((route) => route.route !== old.route));
  if (gone.length) byId("heard").textContent = `Route ${gone[0].route}: no longer held.`;
  // Many events are about levers only, and a page that draws what has not changed is late with what has.
  const now = JSON.stringify(routes);
  if (now !== shown) {
    set = routes;
    byId("set").replaceChildren(...routes.map(row));
    byId("none-set").hidden = routes.length > 0;
    drawRoutes(routes);
    const asked = routes.find((route) => route.route === mine);
    if (asked) {
      slideTo(asked);
      mine = null;
    }
  }
  shown = now;
  if (from && to) offer();
}

function row(route) {
  const by = route.by ? ` · asked for by ${route.by}` : "";
  const act = make("div", { class: "act" });
  const releasing = make("button", { type: "button", class: "release" }, "Release");
  releasing.setAttribute("aria-label", `Release the route ${route.route}`);
  releasing.addEventListener("click", () => ask("/routes/release", { route: route.route }, "the release"));
  act.append(releasing);
  if (route.state === "fault") {
    const again = make("button", { type: "button" }, "Set again");
    again.addEventListener("click", () => ask("/routes/set", { route: route.route, hold: route.hold }, "the route"));
    act.prepend(again);
  }
  const words = make("div", {}, make("b", {}, route.route), make("p", { class: "says" }, route.says + by));
  const item = make("li", {}, words, act);
  item.dataset.route = route.route;
  item.dataset.state = route.state;
  return item;
}

// The choice.

for (const stop of stops) stop.addEventListener("click", () => choose(stop));
byId("again").addEventListener("click", () => begin());

/** Chooses the stop of a name in the diagram. */
export function chooseTapped(element) {
  const is = (stop) => stop.dataset.stop === element.dataset.track || endsOf(stop).includes(element.dataset.joint);
  const stop = element && stops.find(is);
  if (stop) choose(stop);
  return Boolean(stop);
}

async function choose(stop) {
  refuse(null);
  if (stop.disabled) return;
  if (!from || to) {
    begin();
    from = stop.dataset.stop;
    press();
    const { stops: reached } = await told(`/routes?from=${encodeURIComponent(from)}`);
    for (const other of stops) other.disabled = other !== stop && !reached.includes(other.dataset.stop);
    return;
  }
  if (stop.dataset.stop === from) return begin();
  to = stop.dataset.stop;
  press();
  await offer();
  byId("ways").scrollIntoView({ block: "nearest" });
}

function begin() {
  [from, to] = [null, null];
  for (const stop of stops) stop.disabled = false;
  byId("ways").replaceChildren();
  byId("two-ways").hidden = true;
  drawRoutes(set);
  press();
}

function press() {
  const chosen = stops.filter((stop) => [from, to].includes(stop.dataset.stop));
  for (const stop of stops) stop.setAttribute("aria-pressed", String(chosen.includes(stop)));
  drawStops(chosen.map((stop) => ({ stop: stop.dataset.stop, ends: endsOf(stop) })));
  byId("again").hidden = !from;
  // Both are chosen: what comes next should be in sight at once.
  byId("stops").hidden = Boolean(to);
  byId("step").textContent = !from
    ? "Where does the train come from? Tap a stop."
    : !to ? `From ${called(from)}: where to? Tap a stop that can be reached.` : `From ${called(from)} to ${called(to)}`;
}

function called(name) {
  return stops.find((stop) => stop.dataset.stop === name).textContent;
}

/** Offers the ways between the two stops; what changes while they are looked up is looked up after it, once. */
async function offer() {
  stale = offering;
  if (offering) return;
  offering = true;
  await lookUpWays().finally(() => { offering = false; });
  if (stale && from && to) await offer();
}

async function lookUpWays() {
  const [a, b] = [from, to];
  const { ways } = await told(`/routes?from=${encodeURIComponent(a)}&to=${encodeURIComponent(b)}`);
  if (a !== from || b !== to) return;
  byId("ways").replaceChildren(...ways.map((way) => card(way, ways.length)));
  byId("two-ways").hidden = ways.every((way) => set.some((route) => route.route === way.route));
}

function card(way, count) {
  const is = set.find((route) => route.route === way.route);
  const item = make("li", {});
  if (way.name) item.append(make("b", {}, way.name));
  if (count > 1) item.append(make("p", {}, `over ${way.tracks.slice(1, -1).join(", ") || "nothing between"}`));
  const needs = (list) => list.map((need) => `${need.lever} ${need.position}`).join(", ");
  item.append(make("p", {}, way.throws.length ? `Levers to throw: ${needs(way.throws)}.` : "Nothing to throw: every lever stands right."));
  if (way.throws.length && way.stands.length) item.append(make("p", { class: "quiet" }, `Right already: ${needs(way.stands)}.`));
  for (const note of way.notes) item.append(make("p", { class: "note" }, note));
  if (is) item.append(make("p", is.state === "fault" ? { class: "note" } : {}, `This route is ${is.says}.`));
  else if (way.refused) item.append(make("p", { class: "note" }, way.refused));
  const act = make("div", { class: "act" });
  const button = (name, words, path, what) => {
    const go = make("button", { type: "button", class: name }, words);
    // Not disabled, so that it can be found, and pressed to hear why not.
    if (way.refused && !is) go.setAttribute("aria-disabled", "true");
    go.addEventListener("click", () => {
      mine = path === "/routes/set" ? way.route : null;
      ask(path, { route: way.route, ...what }, "the route");
    });
    act.append(go);
  };
  if (is) button("strong set-it", "Release", "/routes/release", {});
  if (!is || !is.hold) button("strong set-it", is ? "Hold" : "Set and hold", "/routes/set", { hold: true });
  if (!is) button("set-once", "Set once", "/routes/set", { hold: false });
  item.append(act);
  item.dataset.route = way.route;
  return item;
}

async function told(path) {
  try {
    return await (await fetch(path)).json();
  } catch {
    refuse("The panel does not answer, so the routes cannot be looked up. Try again in a moment.");
    return { stops: [], ways: [] };
  }
}

function make(name, attributes, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...inside);
  return element;
}
