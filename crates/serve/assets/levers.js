// The levers: their list, taps on the diagram, and the keyboard.

import { ask, refuse } from "./ask.js";
import { drawLocks, drawMachines } from "./diagram.js";

const byId = (id) => document.getElementById(id);
const rows = [...document.querySelectorAll(".lever")];
const byNumber = new Map(rows.map((row) => [row.dataset.number, row]));
const byLever = new Map(rows.map((row) => [row.dataset.lever, row]));
const states = new Map();
const locked = new Set();

/** Shows these levers; `aloud` tells those who hear the page what has changed. */
export function showLevers(levers, aloud) {
  for (const lever of levers) {
    show(lever, aloud);
    for (const machine of lever.machines) states.set(machine.machine, machine.state);
    if (lever.state.startsWith("to-")) {
      // What waits for the supply has not been sent, but is on its way all the same.
      for (const machine of lever.machines) if (lever.says.startsWith("waits")) states.set(machine.machine, lever.state);
    }
    if (lever.lock) locked.add(lever.id);
    else locked.delete(lever.id);
  }
  drawMachines(states);
  drawLocks(locked);
}

function show(lever, aloud) {
  const row = byNumber.get(String(lever.number));
  if (!row) return;
  row.dataset.state = lever.state;
  row.dataset.next = lever.next;
  row.toggleAttribute("data-locked", Boolean(lever.lock));
  row.toggleAttribute("data-held", Boolean(lever.route));
  const says = row.querySelector(".says");
  const changed = says.textContent !== lever.says;
  says.textContent = lever.says;
  write(row.querySelector(".why"), lever.lock ? `Locked: “${lever.lock.note}”` : lever.route ? `Held by ${lever.route}` : "");
  const hint = row.querySelector(".hint");
  if ((hint.querySelector("a")?.getAttribute("href") ?? null) !== lever.faults) {
    const link = Object.assign(document.createElement("a"), { className: "button", href: lever.faults, textContent: "Find the fault" });
    hint.replaceChildren(...(lever.hint ? [`${lever.hint} `, link] : []));
  }
  const called = row.querySelector(".name").textContent;
  for (const to of row.querySelectorAll(".to")) {
    to.setAttribute("aria-label", `Lever ${lever.number}, ${called}, ${lever.says}. Throw to ${to.dataset.position}`);
  }
  const lock = row.querySelector(".lock");
  write(lock, lever.lock ? "Unlock" : "Lock…");
  lock.setAttribute("aria-label", `${lever.lock ? "Unlock" : "Lock"} lever ${lever.number}`);
  if (thrownByKey === String(lever.number) && changed) sayTyped(`Lever ${lever.number}, ${called}: ${lever.says}`);
  if (aloud && changed && !lever.state.startsWith("to-")) byId("heard").textContent = `Lever ${lever.number}: ${lever.says}.`;
}

/** Text that is as it was is left alone: the browser would lay the page out again. */
function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** Throws a lever, unless this page is out of touch. */
export function throwLever(number, position) {
  if (document.body.dataset.link === "lost") return refuse("The panel does not answer, so nothing was thrown.");
  ask(`/levers/${number}/throw`, { position }, `lever ${number}`);
}

/** Throws the lever of a thing in the diagram to its other position. */
export function throwTapped(element) {
  const row = element && byLever.get(element.dataset.lever);
  if (row) throwLever(row.dataset.number, row.dataset.next);
  return Boolean(row);
}

for (const row of rows) {
  const { number } = row.dataset;
  for (const to of row.querySelectorAll(".to")) to.addEventListener("click", () => throwLever(number, to.dataset.position));
  row.querySelector(".lock").addEventListener("click", () => {
    if (row.hasAttribute("data-locked")) ask(`/levers/${number}/unlock`, {}, `unlocking lever ${number}`);
    else askForNote(number);
  });
}

// A lock says why.

const dialog = byId("lock-dialog");
let toLock = null;

function askForNote(number) {
  toLock = number;
  byId("lock-title").textContent = `Lock lever ${number}`;
  byId("note").value = "";
  dialog.showModal();
}

byId("lock-cancel").addEventListener("click", () => dialog.close());
byId("lock-form").addEventListener("submit", () => {
  ask(`/levers/${toLock}/lock`, { note: byId("note").value }, `locking lever ${toLock}`);
});

// Search.

byId("find")?.addEventListener("input", (event) => {
  const wanted = event.target.value.trim().toLowerCase();
  let found = 0;
  for (const row of rows) {
    const is = row.dataset.number === wanted || row.querySelector(".name").textContent.toLowerCase().includes(wanted)
      || (wanted && row.dataset.number.startsWith(wanted));
    row.parentElement.hidden = !is;
    found += Number(Boolean(is));
  }
  byId("none-found").hidden = found > 0;
});

// A number, then N or R.

const typed = byId("typed");
const TYPED_SEEN_MS = 4000;
let digits = "";
let thrownByKey = null;
let closing = null;

/** Shows what was typed and what came of it, in whatever view this is; what is done goes away by itself. */
function sayTyped(words) {
  typed.textContent = words;
  typed.hidden = !words;
  clearTimeout(closing);
  if (words && !digits) closing = setTimeout(() => sayTyped(""), TYPED_SEEN_MS);
}

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea, dialog") || event.ctrlKey || event.altKey || event.metaKey) return;
  const key = event.key.toLowerCase();
  if (/^[0-9]$/.test(key)) digits = (digits + key).replace(/^0+/, "").slice(0, 5);
  else if (digits && key === "backspace") digits = digits.slice(0, -1);
  else if (digits && (key === "n" || key === "r")) {
    const position = key === "n" ? "normal" : "reverse";
    const number = digits;
    [digits, thrownByKey] = ["", number];
    sayTyped(`Lever ${number}: to ${position}`);
    throwLever(number, position);
    return;
  } else if (digits && !["shift", "capslock"].includes(key)) digits = "";
  else return;
  thrownByKey = null;
  const called = byNumber.get(digits)?.querySelector(".name").textContent;
  if (!digits) sayTyped("");
  else sayTyped(called ? `Lever ${digits}, ${called}: N or R` : `There is no lever ${digits}`);
});
