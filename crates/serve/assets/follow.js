// What the sheets beside the panel have in common: the stop, the light of this device, and following what the server says.

import { ask } from "./ask.js";

const byId = (id) => document.getElementById(id);

document.documentElement.dataset.light = localStorage.getItem("light") ?? "auto";
byId("stop").addEventListener("click", () => ask("/stop", {}, "the stop"));
byId("resume").addEventListener("click", () => ask("/resume", {}, "going on"));

/** Calls `take` with everything that the server says, and says whether it answers. */
export function follow(take) {
  const stream = new EventSource("/events");
  stream.addEventListener("open", () => setLink("following"));
  stream.addEventListener("levers", (event) => {
    setLink("following");
    const told = JSON.parse(event.data);
    if (told.sheet !== document.body.dataset.sheet) location.reload();
    else {
      showStop(told.stopped);
      take(told);
    }
    document.body.dataset.seen = told.id;
  });
  stream.addEventListener("error", () => {
    setLink("lost");
    // The browser connects again by itself, unless it was refused.
    if (stream.readyState === EventSource.CLOSED) setTimeout(() => follow(take), 3000);
  });
}

function showStop(stop) {
  byId("stopped").hidden = !stop;
  byId("stopped-says").textContent = stop?.says ?? "";
}

function setLink(link) {
  if (document.body.dataset.link === link) return;
  document.body.dataset.link = link;
  byId("link").textContent = link === "following" ? "Following" : "Out of touch";
  byId("lost").textContent = "The panel does not answer, so what is shown may be old. This page tries again by itself.";
  byId("lost").hidden = link !== "lost";
}
