// Served over https alone: the roll call in and the wrap-up of one group open again without signal. Nothing of
// health stands on these two pages. They are kept half a day at most, and go when somebody signs out (daybuoy.js).
"use strict";
const FILES = "daybuoy-files";
const PAGES = "daybuoy-water-pages";
const LONGEST_MS = 12 * 60 * 60 * 1000;
const PATIENCE_MS = 8 * 1000;
const KEPT_FILES = ["daybuoy.css", "htmx.min.js", "daybuoy.js", "outbox.js", "daybuoy.svg"].map((name) => `/static/${name}`);
const KEPT_PAGE = /^\/water\/(\d+)\/(?:back|wrap)$/;

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(FILES).then((files) => files.addAll(KEPT_FILES)));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

const nothing = () => new Response(
  "<!doctype html><html lang=en><meta charset=utf-8><meta name=viewport content='width=device-width'>"
  + "<title>No signal</title><h1>No signal</h1><p>This page is not on this phone. What you entered is kept and is sent "
  + "when there is signal. Count everybody by name on paper until then.</p>",
  { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } },
);

const file = async (request) => {
  try {
    const answer = await fetch(request);
    if (answer.ok) await (await caches.open(FILES)).put(request, answer.clone());
    return answer;
  } catch {
    return (await caches.match(request)) || Response.error();
  }
};

const page = async (request, path, group) => {
  const pages = await caches.open(PAGES);
  try {
    const answer = await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.redirected || answer.type === "opaqueredirect") await caches.delete(PAGES);
    else if (answer.ok) {
      for (const old of await pages.keys()) {
        if (KEPT_PAGE.exec(new URL(old.url).pathname)?.[1] !== group) await pages.delete(old);
      }
      await pages.put(path, answer.clone());
    }
    return answer;
  } catch {
    const kept = await pages.match(path);
    const age = kept ? Date.now() - Date.parse(kept.headers.get("date")) : Infinity;
    return age < LONGEST_MS ? kept : nothing();
  }
};

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== location.origin) return;
  if (event.request.method !== "GET") return;
  const group = KEPT_PAGE.exec(url.pathname)?.[1];
  if (group) event.respondWith(page(event.request, url.pathname, group));
  else if (KEPT_FILES.includes(url.pathname)) event.respondWith(file(event.request));
  else if (event.request.mode === "navigate") event.respondWith(fetch(event.request).catch(nothing));
});
