// The log and the health of the panel: fetched while they are looked at.

const byId = (id) => document.getElementById(id);
const hour = new Intl.DateTimeFormat(undefined, { dateStyle: "short", timeStyle: "medium" });

/** Writes times as this device has them. */
export function writeTimes() {
  for (const time of document.querySelectorAll("time[data-ms]")) time.textContent = hour.format(Number(time.dataset.ms));
}

let asking = false;

/** Brings the view that is looked at up to date. */
export async function lookUp(view) {
  if (asking || (view !== "log" && view !== "health")) return;
  asking = true;
  try {
    const told = await (await fetch(`/${view}`)).json();
    if (view === "log") showLog(told);
    else showHealth(told);
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
    line.append(cell(row.number), cell(hour.format(row.at_ms)), cell(row.says));
    return line;
  }));
}

function showHealth(told) {
  byId("pages").textContent = `${told.pages} of ${told.pages_max} at most`;
  byId("journal").textContent = `${told.journal_rows} rows, ${told.trouble ? "and no more can be written" : "written before anyone is told"}`;
  for (const [link, inTouch] of told.links) {
    const place = document.querySelector(`[data-link-name="${CSS.escape(link)}"]`);
    const why = told.link_troubles?.[link];
    if (place) place.textContent = inTouch ? "in touch" : `out of touch${why ? `: ${why}` : ""}`;
  }
}
