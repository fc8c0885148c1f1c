// Sends what people ask for, and says why it was refused. Each thing that is asked for has a key, so that asking once more
// because no answer came does not do it twice.

const byId = (id) => document.getElementById(id);

/** What others see when this device asks for something. */
export function by() {
  return localStorage.getItem("by") ?? "";
}

/** Asks for something; gives back whether it was done. */
export async function ask(path, what, about) {
  const key = crypto.randomUUID ? crypto.randomUUID() : String(Math.random()).slice(2) + Date.now();
  const send = () => fetch(path, {
    method: "POST",
    headers: { "content-type": "application/json", "idempotency-key": key },
    body: JSON.stringify({ ...what, by: by() }),
  });
  try {
    const answer = await send().catch(send);
    const said = await answer.json();
    refuse(answer.ok ? null : said.refused.message);
    return answer.ok;
  } catch {
    refuse(`Nobody answered when ${about} was asked for. Look at the railroad before you ask again.`);
    return false;
  }
}

/** Says why something was refused, until it is closed or something else is done. */
export function refuse(message) {
  byId("refused-says").textContent = message ?? "";
  byId("refused").hidden = !message;
}

byId("refused-close").addEventListener("click", () => refuse(null));
