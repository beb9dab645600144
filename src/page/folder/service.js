// Keeps the page of version @VERSION@ for when there is no network. A newer version is fetched beside it and taken the next time. A browser
// that needs the page for older browsers keeps that one.
const KEPT = "batchwright @VERSION@";
const PAGE = new URL(self.location).searchParams.get("page") ?? "./";
const PARTS = [PAGE, "manifest.webmanifest", "icon.svg"];

self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(PARTS)).then(() => self.skipWaiting())));

self.addEventListener("activate", (event) =>
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter((name) => name.startsWith("batchwright ") && name !== KEPT).map((name) => caches.delete(name)))).then(() => self.clients.claim())),
);

self.addEventListener("fetch", (event) => {
  const asked = event.request.mode === "navigate" ? PAGE : event.request;
  if (event.request.method === "GET") event.respondWith(caches.match(asked, { ignoreSearch: true }).then((kept) => kept ?? fetch(event.request)));
});
