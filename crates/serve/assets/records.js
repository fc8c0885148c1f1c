// The log and the health of the panel: fetched while they are looked at.

import { lookUpPractice } from "./practice.js";

const byId = (id) => document.getElementById(id);
const today = new Intl.DateTimeFormat(undefined, { timeStyle: "medium" });
const hour = new Intl.DateTimeFormat(undefined, { dateStyle: "short", timeStyle: "medium" });

/** A time as this device has it: of today without the date. */
function written(ms) {
  return (new Date(ms).toDateString() === new Date().toDateString() ? today : hour).format(ms);
}

/** Writes times as this device has them. */
export function writeTimes() {
  for (const time of document.querySelectorAll("time[data-ms]")) time.textContent = written(Number(time.dataset.ms));
}

let asking = false;

/** Brings the view that is looked at up to date. */
export async function lookUp(view) {
  if (asking || (view !== "log" && view !== "health")) return;
  asking = true;
  try {
    const told = await (await fetch(`/${view}`)).json();
    if (view === "log") showLog(told);
    else {
      showHealth(told);
      await lookUpPractice();
    }
  } catch {
    // The page says that it is out of touch; what was told last stays.
  } finally {
    asking = false;
  }
}

function showLog(told) {
  const cell = (inside) => Object.assign(document.createElement("td"), { textContent: inside });
  byId("log-rows").replaceChildren(...told.rows.map((row) => {
    const line = document.createElement("tr");
    line.append(cell(row.number), cell(written(row.at_ms)), cell(row.says));
    return line;
  }));
}

function showHealth(told) {
  byId("pages").textContent = `${told.pages} of ${told.pages_max} at most`;
  if (byId("put-in")) byId("put-in").textContent = told.faults_put_in || "none";
  byId("journal").textContent = `${told.journal_rows} rows, ${told.trouble ? "and no more can be written" : "written before anyone is told"}`;
  byId("signs").textContent = told.signs.join(" ") || "None gets slow, and none misses reports.";
  for (const [link, inTouch] of told.links) {
    const place = document.querySelector(`[data-link-name="${CSS.escape(link)}"]`);
    const why = told.link_troubles?.[link];
    if (place) place.textContent = inTouch ? "in touch" : `out of touch${why ? `: ${why}` : ""}`;
  }
}
