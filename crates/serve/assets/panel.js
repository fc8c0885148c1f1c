// Keeps the page up to date, turns from view to view, and stops. The page comes complete from the server; nothing here
// decides what is shown, it only carries what the server says to its place.

import { ask, by, refuse, told as asked } from "./ask.js";
import { onTap } from "./diagram.js";
import { showLevers, throwTapped } from "./levers.js";
import { lookUp, writeTimes } from "./records.js";
import { chooseTapped, showRoutes } from "./routes.js";

const body = document.body;
const byId = (id) => document.getElementById(id);

// Views.

const tabs = [...document.querySelectorAll(".bar a")];

function turn() {
  const wanted = decodeURIComponent(location.hash.slice(1));
  const isView = tabs.some((tab) => tab.dataset.to === wanted);
  // A decoder's label leads to its first lever.
  const inside = wanted && !isView ? byId(wanted)?.closest("[data-views]") : null;
  const view = isView ? wanted : inside?.dataset.views.split(" ")[0] ?? "railroad";
  const turned = body.dataset.view !== view;
  body.dataset.view = view;
  for (const tab of tabs) {
    if (tab.dataset.to === view) tab.setAttribute("aria-current", "page");
    else tab.removeAttribute("aria-current");
  }
  byId("sheet").textContent = tabs.find((tab) => tab.dataset.to === view).textContent;
  if (inside) byId(wanted).scrollIntoView();
  else if (turned) scrollTo(0, 0);
  // What was refused was refused there.
  if (turned) refuse(null);
  lookUp(view);
}

addEventListener("hashchange", turn);

// What the server says.

function follow() {
  const stream = new EventSource("/events");
  stream.addEventListener("open", () => setLink("following"));
  stream.addEventListener("levers", (event) => {
    setLink("following");
    const told = JSON.parse(event.data);
    if (told.sheet !== body.dataset.sheet) location.reload();
    else take(told);
    body.dataset.seen = told.id;
  });
  stream.addEventListener("error", () => {
    setLink("lost");
    // The browser connects again by itself, unless it was refused.
    if (stream.readyState === EventSource.CLOSED) setTimeout(follow, 3000);
  });
}

function take(told) {
  const away = told.links.find((link) => !link.in_touch);
  const reach = told.links.length === 1 ? "nothing can be thrown" : "what it moves cannot be thrown";
  const why = away?.says ? ` (${away.says})` : "";
  say("trouble", told.trouble ?? (away ? `The ${away.link} is out of touch, so ${reach}${why}.` : null));
  byId("stopped").hidden = !told.stopped;
  write("stopped-says", told.stopped?.says);
  body.toggleAttribute("data-stopped", Boolean(told.stopped));
  // What cannot be undone is not offered.
  byId("last").hidden = !told.last_throw?.back_to;
  write("last-says", told.last_throw?.says);
  showLevers(told.levers, !told.whole);
  showRoutes(told.routes);
  lookUp(body.dataset.view);
}

function say(id, text) {
  write(id, text);
  byId(id).hidden = !text;
}

function write(id, text) {
  if (byId(id).textContent !== (text ?? "")) byId(id).textContent = text ?? "";
}

function setLink(link) {
  if (body.dataset.link === link) return;
  body.dataset.link = link;
  byId("link").textContent = link === "following" ? "Following" : "Out of touch";
  const lost = "The panel does not answer, so what is drawn may be old. This page tries again by itself.";
  say("lost", link === "lost" ? lost : null);
}

// What people ask for.

byId("stop").addEventListener("click", () => ask("/stop", {}, "the stop"));
byId("resume").addEventListener("click", () => ask("/resume", {}, "going on"));
byId("undo").addEventListener("click", () => ask("/undo", {}, "the undoing"));

byId("reread")?.addEventListener("click", async () => {
  const said = await asked("/layout/read", {}, "the layout");
  if (!said) return;
  // What is drawn may be another railroad now: the page loads itself again and shows this then.
  sessionStorage.setItem("changed", JSON.stringify(said.changed));
  if (document.body.dataset.sheet === (await (await fetch("/levers")).json()).sheet) showChanged();
});

function showChanged() {
  const changed = JSON.parse(sessionStorage.getItem("changed") ?? "null");
  if (!changed || !byId("changed")) return;
  sessionStorage.removeItem("changed");
  const rows = changed.length > 0 ? changed : ["Nothing that is thrown is different"];
  byId("changed").replaceChildren(...rows.map((row) => Object.assign(document.createElement("li"), { textContent: `${row}.` })));
}

onTap((tapped) => {
  if (body.dataset.view === "routes") {
    chooseTapped(tapped(".end-name, .track-name, .end", ".track[data-track]"));
    return;
  }
  // The nearest is meant: a lever that stands within a fingertip of a stop's name is not thrown by a tap on the name.
  const meant = tapped(".number, .mark, .end-name, .end", ".leg[data-lever]");
  if (!meant?.matches(".end-name, .end")) throwTapped(meant);
  // Whoever taps a stop wants to go somewhere from there.
  else if (chooseTapped(meant)) location.hash = "routes";
});

// What this device keeps.

byId("by").value = by();
byId("by").addEventListener("input", (event) => localStorage.setItem("by", event.target.value));
const light = byId("light");
light.value = localStorage.getItem("light") ?? "auto";
const dim = () => {
  localStorage.setItem("light", light.value);
  document.documentElement.dataset.light = light.value;
};
light.addEventListener("change", dim);
byId("device").addEventListener("submit", (event) => event.preventDefault());

dim();
showChanged();
writeTimes();
turn();
take(JSON.parse(body.dataset.told));
follow();
// Only an address that browsers trust may have a worker; the page works without.
navigator.serviceWorker?.register("/worker.js").catch(() => {});
