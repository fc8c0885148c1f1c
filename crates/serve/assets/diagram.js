// The diagram: a leg is whole when the machines it depends on have all reported so; a mark has the shape of where its
// machine stands, or was sent; a route that is set lies as a pale band under its tracks.

const railroad = document.querySelector(".railroad");
const svg = railroad?.querySelector("svg");
const all = (what) => (railroad ? [...railroad.querySelectorAll(what)] : []);
const legs = all(".leg[data-when]");
const marks = all(".mark[data-machine]");
const whens = new Map(legs.map((leg) => [leg, JSON.parse(leg.dataset.when)]));

// How small the diagram may be drawn, as a share of its true size, before it scrolls instead.
const LEAST_SHARE = 0.72;

/** Half a fingertip, in pixels: a tap this close to a thing means it. */
const REACH = 22;

let bands = null;
if (svg) {
  railroad.style.setProperty("--least", `${svg.width.baseVal.value * LEAST_SHARE}px`);
  new ResizeObserver(measure).observe(railroad);
  bands = document.createElementNS(svg.namespaceURI, "g");
  bands.setAttribute("class", "bands");
  svg.querySelector(".paper").after(bands);
}

/** Says whether there is more of the diagram than is seen. */
function measure() {
  railroad.toggleAttribute("data-wide", railroad.scrollWidth > railroad.clientWidth + 1);
}

// Its size: as wide as the page until someone wants it otherwise.

/** How much larger than on paper it may be drawn. */
const MOST_SHARE = 3;

/** Draws the diagram this wide, in pixels, and leaves what lies at this place of the window where it is. */
function widen(width, at = railroad.clientWidth / 2) {
  const before = svg.getBoundingClientRect().width;
  const wide = Math.max(railroad.clientWidth, Math.min(width, svg.width.baseVal.value * MOST_SHARE));
  const point = (railroad.scrollLeft + at) / before;
  railroad.style.setProperty("--wide", `${wide}px`);
  railroad.toggleAttribute("data-zoomed", true);
  railroad.scrollLeft = point * wide - at;
  measure();
}

const gap = ([a, b]) => Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
let pinched = null;

if (svg) {
  const zoom = document.getElementById("zoom");
  const share = { smaller: 1 / 1.4, larger: 1.4, whole: 0 };
  zoom.hidden = false;
  zoom.addEventListener("click", (event) => {
    const { zoom: to } = event.target.closest("button")?.dataset ?? {};
    if (to) widen(svg.getBoundingClientRect().width * share[to]);
  });
  // Two fingers change the size of the diagram instead of the page's; one scrolls as everywhere.
  railroad.addEventListener("touchstart", (event) => {
    pinched = event.touches.length === 2 ? { gap: gap(event.touches), width: svg.getBoundingClientRect().width } : null;
    if (pinched) event.preventDefault();
  }, { passive: false });
  railroad.addEventListener("touchmove", (event) => {
    if (!pinched || event.touches.length !== 2) return;
    event.preventDefault();
    const [a, b] = event.touches;
    widen(pinched.width * gap([a, b]) / pinched.gap, (a.clientX + b.clientX) / 2 - railroad.getBoundingClientRect().left);
  }, { passive: false });
}

const SHAPES = { normal: "normal", reverse: "reverse", "to-normal": "normal", "to-reverse": "reverse" };

/** Draws every machine as these states have it. */
export function drawMachines(states) {
  const holds = ([machine, position]) => states.get(machine) === position;
  for (const leg of legs) setShown(leg, whens.get(leg).some((needs) => needs.every(holds)));
  for (const mark of marks) {
    const state = states.get(mark.dataset.machine) ?? "unknown";
    if (mark.dataset.state !== state) mark.dataset.state = state;
    setShown(mark, mark.dataset.position === (SHAPES[state] ?? "unknown"));
  }
}

/** Draws a band under each of these routes; one that is only looked at has the state `looked-at`. */
export function drawRoutes(routes) {
  if (!bands) return;
  bands.replaceChildren(...routes.flatMap((route) => pieces(route).map((piece) => band(piece, route.state))));
}

/** Slides the diagram to a route, where not all of the diagram is seen. */
export function slideTo(route) {
  const boxes = svg ? pieces(route).map((piece) => piece.getBoundingClientRect()).filter((box) => box.width + box.height > 0) : [];
  if (!boxes.length) return;
  const left = Math.min(...boxes.map((box) => box.left));
  const right = Math.max(...boxes.map((box) => box.right));
  const seen = railroad.getBoundingClientRect();
  railroad.scrollLeft += (left + right) / 2 - (seen.left + seen.right) / 2;
}

function pieces(route) {
  const tracks = new Set(route.tracks);
  const joints = new Map(route.joints);
  const needs = new Map(route.machines);
  const isOpen = (leg) => whens.get(leg)?.some((all) => all.every(([machine, position]) => needs.get(machine) === position));
  return all(".track, .leg").filter((piece) => {
    if (piece.matches(".leg")) return joints.has(piece.dataset.joint) && isOpen(piece);
    return piece.dataset.track ? tracks.has(piece.dataset.track) : joints.get(piece.dataset.joint) === "curved";
  });
}

function band(piece, state) {
  const path = piece.cloneNode(false);
  for (const name of [...path.getAttributeNames()]) if (name !== "d") path.removeAttribute(name);
  path.setAttribute("class", "band");
  path.dataset.state = state;
  return path;
}

/** Marks levers that are locked. */
export function drawLocks(levers) {
  for (const number of all(".number")) number.toggleAttribute("data-locked", levers.has(number.dataset.lever));
}

/** Marks the stops that were chosen. */
export function drawStops(stops) {
  for (const name of all(".end-name, .track-name")) {
    const at = stops.some((stop) => stop.stop === name.dataset.track || stop.ends.includes(name.dataset.joint));
    name.toggleAttribute("data-chosen", at);
  }
}

/** Calls back with what was tapped: the nearest of these things within a fingertip, or what lies right under it. */
export function onTap(call) {
  railroad?.addEventListener("click", (event) => call((what, under) => {
    let [nearest, least] = [null, REACH];
    for (const element of all(what)) {
      const box = element.getBoundingClientRect();
      const across = Math.max(box.left - event.clientX, 0, event.clientX - box.right);
      const along = Math.max(box.top - event.clientY, 0, event.clientY - box.bottom);
      const distance = Math.hypot(across, along);
      if (distance < least) [nearest, least] = [element, distance];
    }
    return nearest ?? (under ? event.target.closest(under) : null);
  }));
}

function setShown(element, shown) {
  if (element.hasAttribute("data-shown") !== shown) element.toggleAttribute("data-shown", shown);
}
