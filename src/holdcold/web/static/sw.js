// Keeps the whole shell as one release: all of its files or none, swapped only when the person agrees. RELEASE
// and FILES stand above, written by the server from the files it serves.
const CACHE = `holdcold-${RELEASE}`;

self.addEventListener("install", (event) => {
  event.waitUntil(keepRelease());
});

async function keepRelease() {
  const cache = await caches.open(CACHE);
  await cache.addAll(FILES.map((path) => new Request(path, { cache: "reload" })));
}

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOthers());
});

async function dropOthers() {
  for (const name of await caches.keys()) {
    if (name.startsWith("holdcold-") && name !== CACHE) await caches.delete(name);
  }
  await self.clients.claim();
}

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || new URL(request.url).origin !== self.location.origin) return;
  event.respondWith(fromRelease(request));
});

async function fromRelease(request) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(request.mode === "navigate" ? "/" : request, { ignoreSearch: true });
  return kept ?? fetch(request);
}
