// Sends what people ask for, and says why it was refused. Each thing that is asked for has a key, so that asking once more
// because no answer came does not do it twice.

const byId = (id) => document.getElementById(id);

/** What is refused only until a route is released. */
const IN_THE_WAY = new Set(["lever-held", "route-in-the-way"]);

/** What others see when this device asks for something. */
export function by() {
  return localStorage.getItem("by") ?? "";
}

/** Asks for something; gives back whether it was done. */
export async function ask(path, what, about) {
  return Boolean(await told(path, what, about));
}

/** Asks for something; gives back what was answered, or null when it was refused. */
export async function told(path, what, about) {
  const key = crypto.randomUUID ? crypto.randomUUID() : String(Math.random()).slice(2) + Date.now();
  const send = () => fetch(path, {
    method: "POST",
    // A page of another layout may mean another lever by the same number: then nothing is done.
    headers: { "content-type": "application/json", "idempotency-key": key, "if-match": `"${document.body.dataset.sheet}"` },
    body: JSON.stringify({ ...what, by: by() }),
  });
  try {
    const answer = await send().catch(send);
    const said = await answer.json();
    refuse(answer.ok ? null : said.refused.message, IN_THE_WAY.has(said.refused?.code));
    return answer.ok ? said : null;
  } catch {
    refuse(`Nobody answered when ${about} was asked for. Look at the railroad before you ask again.`);
    return null;
  }
}

/** Says why something was refused, until it is closed or something else is done; where a route is in the way, leads to it. */
export function refuse(message, isRoute = false) {
  byId("refused-says").textContent = message ?? "";
  byId("refused-route").hidden = !isRoute;
  byId("refused").hidden = !message;
}

byId("refused-close").addEventListener("click", () => refuse(null));
byId("refused-route").addEventListener("click", () => refuse(null));
