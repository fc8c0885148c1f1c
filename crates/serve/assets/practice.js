// Faults put into the simulated layout to practise on; here only for who may do that.

import { ask } from "./ask.js";

const places = [...document.querySelectorAll("#practice select[data-machine]")];

/** Shows what is put in, but leaves alone what someone is choosing. */
function show(machines) {
  const faults = new Map(machines.map((told) => [told.machine, told.fault]));
  for (const place of places) {
    if (place !== document.activeElement) place.value = faults.get(place.dataset.machine) ?? "sound";
    mark(place);
  }
}

/** Looks up what is put in, where this page may know. */
export async function lookUpPractice() {
  if (places.length) show((await (await fetch("/practice")).json()).machines);
}

async function put(place, fault) {
  const done = await ask("/practice", { machine: place.dataset.machine, fault }, `a fault of machine ${place.dataset.machine}`);
  place.value = done ? fault : "sound";
  mark(place);
}

function mark(place) {
  place.closest("li").toggleAttribute("data-spoilt", place.value !== "sound");
}

for (const place of places) place.addEventListener("change", () => put(place, place.value));

document.getElementById("mend-all")?.addEventListener("click", async () => {
  for (const place of places.filter((place) => place.value !== "sound")) await put(place, "sound");
});
