// Shows the key to the panel. It comes behind the # of a scanned address, which is never sent, or is typed. The panel's page
// then takes this page's place, so that the key stays in no history.

const form = document.getElementById("enter");
const says = document.getElementById("says");

async function show(key) {
  says.textContent = "The key is being shown…";
  try {
    const answer = await fetch("/enter", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ key }),
    });
    if (answer.ok) location.replace("/");
    else says.textContent = (await answer.json()).refused.message;
  } catch {
    says.textContent = "The panel does not answer. Look whether this device is on the layout room’s network, and try again.";
  }
}

function takeFromAddress() {
  const key = decodeURIComponent(location.hash.slice(1));
  if (!key) return;
  history.replaceState(null, "", location.pathname);
  show(key);
}

form?.addEventListener("submit", (event) => {
  event.preventDefault();
  show(document.getElementById("key").value);
});
addEventListener("hashchange", takeFromAddress);
if (form) takeFromAddress();
