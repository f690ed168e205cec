// The service worker. The service puts BUILD, PAGES and ASSETS before this text.
//
// It keeps one whole build of the pages, so that they open without a network,
// and never a reply of the API: those are the member's data and live in
// IndexedDB, under the member's own name. Pages come from the kept build at once
// and all together; a newer build is fetched whole in the background and takes
// over when a page asks for it (base/update.js).

const CACHE = `fringework-${BUILD}`;

addEventListener("install", (event) => event.waitUntil(fill()));
addEventListener("activate", (event) => event.waitUntil(takeOver()));
addEventListener("message", (event) => {
  if (event.data === "take over") skipWaiting();
});
addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/assets/") || PAGES.includes(url.pathname)) {
    event.respondWith(kept(event.request, url.pathname));
  }
});

async function fill() {
  const cache = await caches.open(CACHE);
  await Promise.all([...PAGES.map((path) => keep(cache, path, "reload")), ...ASSETS.map((path) => keep(cache, path, "default"))]);
}

async function keep(cache, path, mode) {
  // All are asked for at once, so each may take long.
  const response = await fetch(path, { cache: mode, signal: AbortSignal.timeout(60_000) });
  const build = response.headers.get("Fringework-Build");
  // While replicas are being replaced, two builds answer; take none of it then.
  if (!response.ok || (build && build !== BUILD)) throw new Error(`${path} is not of build ${BUILD}`);
  await cache.put(path, response);
}

async function takeOver() {
  for (const name of await caches.keys()) {
    if (name.startsWith("fringework-") && name !== CACHE) await caches.delete(name);
  }
  await clients.claim();
}

async function kept(request, path) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? asked(request.url).catch(() => asked(request.url)); // the first may have gone silent
}

function asked(url) {
  return fetch(url, { signal: AbortSignal.timeout(12_000) });
}
