// Keeps the page up to date and sends throws. The page comes complete from the server; nothing here decides what is shown,
// it only carries what the server says to the buttons and into the diagram.

const body = document.body;
const byId = (id) => document.getElementById(id);
const buttons = [...document.querySelectorAll("button.lever")];
const railroad = document.querySelector(".railroad");
const legs = railroad ? [...railroad.querySelectorAll(".leg[data-when]")] : [];
const svg = railroad?.querySelector("svg");
const marks = railroad ? [...railroad.querySelectorAll(".mark[data-machine]")] : [];

// How small the diagram may be drawn, as a share of its true size, before it scrolls instead.
const LEAST_SHARE = 0.8;
if (svg) {
  railroad.style.setProperty("--least", `${svg.width.baseVal.value * LEAST_SHARE}px`);
  const measure = () => railroad.toggleAttribute("data-wide", railroad.scrollWidth > railroad.clientWidth + 1);
  new ResizeObserver(measure).observe(railroad);
}

// What the server says.

function follow() {
  const stream = new EventSource("/events");
  stream.addEventListener("open", () => setLink("following"));
  stream.addEventListener("levers", (event) => take(JSON.parse(event.data)));
  stream.addEventListener("error", () => {
    setLink("lost");
    // The browser connects again by itself, unless it was refused.
    if (stream.readyState === EventSource.CLOSED) setTimeout(follow, 3000);
  });
}

function take(told) {
  if (told.sheet !== body.dataset.sheet) {
    location.reload();
    return;
  }
  setLink("following");
  say(byId("trouble"), told.trouble);
  for (const lever of told.levers) {
    showInList(lever, !told.whole);
    for (const machine of lever.machines) states.set(machine.machine, machine.state);
  }
  showInDiagram();
  body.dataset.seen = told.id;
}

function showInList(lever, aloud) {
  const button = buttons.find((button) => button.dataset.number === String(lever.number));
  if (!button) return;
  button.dataset.state = lever.state;
  button.dataset.next = lever.next;
  const changed = setText(button.querySelector(".says"), lever.says);
  setText(button.querySelector(".next"), lever.next);
  const settled = !lever.state.startsWith("to-");
  if (aloud && changed && settled) byId("heard").textContent = `Lever ${lever.number}: ${lever.says}.`;
}

// The diagram: a leg is whole when the machines it depends on have all reported so; a mark has the shape of where its
// machine stands, or was sent.

const states = new Map();

function showInDiagram() {
  for (const leg of legs) {
    const holds = ([machine, position]) => states.get(machine) === position;
    setShown(leg, JSON.parse(leg.dataset.when).some((needs) => needs.every(holds)));
  }
  for (const mark of marks) {
    const state = states.get(mark.dataset.machine) ?? "unknown";
    const shape = { normal: "normal", reverse: "reverse", "to-normal": "normal", "to-reverse": "reverse" }[state] ?? "unknown";
    mark.dataset.state = state;
    setShown(mark, mark.dataset.position === shape);
  }
}

function setShown(element, shown) {
  element.toggleAttribute("data-shown", shown);
}

function setText(element, text) {
  if (element.textContent === text) return false;
  element.textContent = text;
  return true;
}

function say(element, text) {
  element.textContent = text ?? "";
  element.hidden = !text;
}

function setLink(link) {
  if (body.dataset.link === link) return;
  body.dataset.link = link;
  for (const button of buttons) button.setAttribute("aria-disabled", String(link === "lost"));
  byId("link").textContent = link === "following" ? "Following" : "Out of touch";
  const lost = "The panel does not answer, so what is drawn may be old. This page tries again by itself.";
  say(byId("lost"), link === "lost" ? lost : null);
}

// What people ask for.

for (const button of buttons) button.addEventListener("click", () => throwLever(button));

/** Half a fingertip, in pixels: a tap this close to a number or turnout means it. */
const REACH = 22;

railroad?.addEventListener("click", (event) => {
  let [nearest, least] = [null, REACH];
  for (const element of railroad.querySelectorAll(".number, .mark")) {
    const box = element.getBoundingClientRect();
    const across = Math.max(box.left - event.clientX, 0, event.clientX - box.right);
    const along = Math.max(box.top - event.clientY, 0, event.clientY - box.bottom);
    const distance = Math.hypot(across, along);
    if (distance < least) [nearest, least] = [element, distance];
  }
  nearest ??= event.target.closest(".leg[data-lever]");
  const button = nearest && buttons.find((button) => button.dataset.lever === nearest.dataset.lever);
  if (button) throwLever(button);
});

async function throwLever(button) {
  if (body.dataset.link === "lost") return;
  const { number, next } = button.dataset;
  try {
    const answer = await fetch(`/levers/${number}/throw`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ position: next }),
    });
    const said = await answer.json();
    say(byId("refused"), answer.ok ? null : said.refused.message);
  } catch {
    say(byId("refused"), `Nobody answered when lever ${number} was thrown. Look where it stands before you throw it again.`);
  }
}

follow();
