// Keeps the sheet and the last pages seen, so that a phone without signal can
// open them again. It runs only where the browser trusts the address. What is
// written goes through the outbox, never through here.
const name = "sodalake-VERSION";
const assets = ASSETS;
const kept = (path) => path === "/" || path === "/note" || path === "/checks" || path === "/vessels" || path.startsWith("/vessels/") || path === "/harvests" || /^\/lots\/[^/]+$/.test(path);

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(name)
      .then((c) => c.addAll([...assets, "/note", "/"]))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((all) => Promise.all(all.filter((n) => n !== name).map((n) => caches.delete(n))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/")) {
    event.respondWith(caches.match(event.request).then((hit) => hit || fetch(event.request)));
    return;
  }
  if (event.request.mode !== "navigate" || !kept(url.pathname)) return;
  event.respondWith(
    fetch(event.request)
      .then(async (answer) => {
        if (answer.ok && !answer.redirected) {
          const c = await caches.open(name);
          await c.put(url.pathname, answer.clone());
        }
        return answer;
      })
      .catch(async (fault) => {
        const hit = await caches.match(url.pathname);
        if (hit) return hit;
        throw fault;
      }),
  );
});
