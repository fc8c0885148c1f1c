// Keeps the page and what it needs, so that a home screen opens the panel at once and says that it is out of touch when it
// is. What the railroad says is never kept: it would be old.

const KEPT = "panel";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { pathname } = new URL(event.request.url);
  const isKept = pathname === "/" || pathname === "/panel.webmanifest" || pathname.startsWith("/assets/");
  if (event.request.method === "GET" && isKept) event.respondWith(newestOrKept(event.request));
});

async function newestOrKept(request) {
  const kept = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    if (answer.ok) await kept.put(request, answer.clone());
    return answer;
  } catch (error) {
    const old = await kept.match(request);
    if (old) return old;
    throw error;
  }
}
