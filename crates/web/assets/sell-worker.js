// Keeps the selling page of a market day, and what it is drawn with, so that it
// opens where there is no signal. It answers for nothing else, and sends
// nothing: sales wait in the page's own store.
"use strict";

const KEPT = "selling";
// How long a weak signal is waited for before the kept copy is shown.
const PATIENCE = 3000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// The page says what it is made of, and is told whether all of it is kept.
self.addEventListener("message", (event) => {
  const answer = keep(event.data.keep).then(() => true, () => false);
  event.waitUntil(answer.then((kept) => event.ports[0].postMessage(kept)));
});

const keep = async (files) => {
  const cache = await caches.open(KEPT);
  await Promise.all(files.map(async (file) => {
    try {
      const reply = await fetch(file);
      if (!reply.ok || reply.redirected) throw new Error(String(reply.status));
      await cache.put(file, reply);
    } catch (problem) {
      if (!await cache.match(file, { ignoreVary: true })) throw problem;
    }
  }));
};

self.addEventListener("fetch", (event) => {
  const asked = event.request, url = new URL(asked.url);
  if (asked.method !== "GET" || url.origin !== self.location.origin) return;
  if (asked.mode === "navigate" && /^\/stall\/day\/\d+\/sell$/.test(url.pathname)) event.respondWith(freshOrKept(asked, url.pathname));
  else if (url.pathname.startsWith("/assets/")) event.respondWith(freshOrKept(asked, url.pathname + url.search));
});

// What the workshop says now; what it said last where it cannot be reached.
const freshOrKept = async (asked, name) => {
  const cache = await caches.open(KEPT);
  const fresh = fetch(asked).then(async (reply) => {
    if (reply.ok && !reply.redirected) await cache.put(name, reply.clone());
    return reply;
  });
  const late = new Promise((done) => setTimeout(done, PATIENCE));
  const reply = await Promise.race([fresh.catch(() => undefined), late]);
  if (reply && reply.status < 500) return reply;
  return await cache.match(name, { ignoreVary: true }) || fresh;
};
