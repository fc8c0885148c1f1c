// Commissioning: sends what was found, and shows the step that everyone is at. The step comes drawn from the server; what is being
// typed stays as long as the step does.

import { ask, refuse } from "./ask.js";
import { follow } from "./follow.js";

const byId = (id) => document.getElementById(id);
const now = byId("now");
const who = byId("who");
const hour = new Intl.DateTimeFormat(undefined, { dateStyle: "short", timeStyle: "short" });

if (who) {
  who.value = localStorage.getItem("who") ?? "";
  who.addEventListener("input", () => localStorage.setItem("who", who.value));
  byId("who-form").addEventListener("submit", (event) => event.preventDefault());
}

// What changes.

let seen = null;
let fetching = false;
let again = false;

/** Draws the step anew when commissioning has changed, or a lever that it throws. */
function take(told) {
  const lever = now.querySelector(".throw-it")?.dataset.lever;
  const moved = told.levers.some((each) => String(each.number) === lever);
  if (told.whole || told.commissioning !== seen || moved) draw();
  seen = told.commissioning;
}

async function draw() {
  if (fetching) {
    again = true;
    return;
  }
  fetching = true;
  try {
    do {
      again = false;
      const answer = await fetch("/commissioning/now");
      if (answer.ok) put(await answer.text());
    } while (again);
  } catch {
    // The page says that it is out of touch; what was told last stays.
  } finally {
    fetching = false;
  }
}

function put(markup) {
  const before = stepOf();
  const typed = [...now.querySelectorAll("input[name]")].map((input) => [input.name, input.value]);
  const opened = [...now.querySelectorAll("details[open]")].map((details) => details.className);
  const focused = now.contains(document.activeElement) ? document.activeElement.name : null;
  now.innerHTML = markup;
  const same = stepOf() === before;
  for (const [name, value] of same ? typed : []) {
    const input = now.querySelector(`input[name="${name}"]`);
    if (input) input.value = value;
  }
  for (const details of now.querySelectorAll("details")) {
    details.open = opened.includes(details.className) && (same || details.className === "all");
  }
  if (same && focused) now.querySelector(`input[name="${focused}"]`)?.focus();
  writeTimes();
  if (!same) {
    byId("heard").textContent = `Now: ${byId("step-title").textContent}`;
    byId("now").scrollIntoView();
  }
}

const stepOf = () => now.querySelector("[data-step]")?.dataset.step;

function writeTimes() {
  for (const time of now.querySelectorAll("time[datetime]")) time.textContent = hour.format(new Date(time.dateTime));
}

// What people ask for.

now.addEventListener("submit", (event) => {
  event.preventDefault();
  answer(event.target.querySelector("[type=submit]"));
});

now.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button || button.type === "submit") return;
  if (button.dataset.answer) answer(button);
  else if (button.dataset.to) ask("/commissioning/turn", { step: button.dataset.to }, "the step");
  else if (button.dataset.position) {
    const { lever } = button.closest(".throw-it").dataset;
    ask(`/levers/${lever}/throw`, { position: button.dataset.position }, `lever ${lever}`);
  }
});

async function answer(button) {
  if (!who.value.trim()) {
    refuse("Type your name first, so that whoever comes after you knows whom to ask.");
    who.focus();
    return;
  }
  const field = (name) => now.querySelector(`input[name="${name}"]`)?.value.trim() ?? "";
  const found = { step: stepOf(), answer: button.dataset.answer, note: field("note"), who: who.value.trim(), when_ms: Date.now() };
  if (button.dataset.answer === "reading") Object.assign(found, { reading: field("reading"), label: field("label") });
  if (button.dataset.saw) found.saw = button.dataset.saw;
  if (await ask("/commissioning/find", found, "what was found")) {
    for (const input of now.querySelectorAll("input[name]")) input.value = "";
  }
}

writeTimes();
follow(take);
