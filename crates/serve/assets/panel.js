// Keeps the page up to date and sends throws. The page comes complete from the server; nothing here decides what is shown,
// it only carries what the server says into the elements that carry a lever's number or a machine's name.

const body = document.body;
const byId = (id) => document.getElementById(id);

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
  for (const lever of told.levers) show(lever, !told.whole);
  body.dataset.seen = told.id;
}

function show(lever, aloud) {
  for (const element of document.querySelectorAll(`[data-lever="${lever.number}"]`)) {
    element.dataset.state = lever.state;
    element.dataset.next = lever.next;
  }
  for (const machine of lever.machines) {
    for (const element of document.querySelectorAll(`[data-machine="${CSS.escape(machine.machine)}"]`)) {
      element.dataset.state = machine.state;
    }
  }
  const button = document.querySelector(`button[data-lever="${lever.number}"]`);
  if (!button) return;
  const changed = setText(button.querySelector(".says"), lever.says);
  setText(button.querySelector(".next"), lever.next);
  const settled = lever.state !== "to-normal" && lever.state !== "to-reverse";
  if (aloud && changed && settled) byId("heard").textContent = `Lever ${lever.number}: ${lever.says}.`;
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
  byId("link").textContent = link === "following" ? "Following" : "Out of touch";
  const lost = "The panel does not answer, so what is drawn may be old. This page tries again by itself.";
  say(byId("lost"), link === "lost" ? lost : null);
}

// What people ask for.

document.addEventListener("click", (event) => {
  const element = event.target.closest("[data-lever][data-next]");
  if (element) throwLever(element.dataset.lever, element.dataset.next);
});

async function throwLever(number, position) {
  if (body.dataset.link === "lost") return;
  try {
    const answer = await fetch(`/levers/${number}/throw`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ position }),
    });
    const said = await answer.json();
    say(byId("refused"), answer.ok ? null : said.refused.message);
  } catch {
    say(byId("refused"), `Nobody answered when lever ${number} was thrown. Look where it stands before you throw it again.`);
  }
}

follow();
