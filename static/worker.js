// Beside the pages, while there is a signal and while there is none. It opens the log forms from the phone itself, without
// waiting for the network, if this phone has a member's kit. It keeps static files and one page that holds nothing of any
// member: never another. /sw.js says which (book.files, book.shell), which only from the second visit on (book.later), so that
// the first one is light, and as which version.
(() => {
  "use strict";
  const { version, shell, logs, files, later } = book;
  const NAME = `book-${version}`;

  const keep = async () => {
    const cache = await caches.open(NAME);
    // The browser has just fetched these for the page: they come from what it keeps itself.
    await cache.addAll(files);
    const page = await fetch(shell, { credentials: "omit", cache: "no-cache" });
    if (!page.ok || page.redirected) throw new Error(`${shell}: ${page.status}`);
    await cache.put(shell, page);
  };

  const renew = async () => {
    for (const name of await caches.keys()) if (name !== NAME) await caches.delete(name);
    await self.clients.claim();
  };

  const kept = async (address) => (await caches.open(NAME)).match(address, { ignoreVary: true });
  // Whether this phone has a member's kit. That is all the worker asks of what outbox.js keeps, so it does not load it: a
  // browser fetches a worker's own scripts once more.
  const isMembers = () => new Promise((done) => {
    const asked = indexedDB.open("book", 1);
    asked.onupgradeneeded = () => asked.transaction.abort();
    asked.onerror = () => done(false);
    asked.onsuccess = () => {
      const found = asked.result.transaction("kept").objectStore("kept").count("kit");
      found.onsuccess = () => { asked.result.close(); done(found.result > 0); };
      found.onerror = () => done(false);
    };
  });

  // What asks without a signal comes while one looks at another page than a log page, whose first visit is to be light.
  const keepLater = async () => {
    const cache = await caches.open(NAME);
    for (const path of later) if (!(await cache.match(path))) await cache.add(path);
  };

  const page = async (request, path, search) => {
    // A log page with more in its address asks for something of its own, which only the book can answer.
    const isOurs = path === shell || (logs.includes(path) && !search);
    if (isOurs && (await isMembers())) {
      const found = await kept(shell);
      if (found) return found;
    }
    return fetch(request).catch(async (lost) => {
      const found = await kept(shell);
      if (found) return found;
      throw lost;
    });
  };

  // A file with its hash in its address never changes. Another may have: only for the page that was kept with it, and
  // for the stylesheet's faces, is it taken from here at once.
  const file = async (request, path) => {
    const from = new URL(request.referrer || location.href).pathname;
    const first = /\.[0-9a-f]{12}\.\w+$/.test(path) || logs.includes(from) || from === shell || from.endsWith(".css");
    const found = await kept(path);
    if (found && first) return found;
    if (found) return fetch(request).catch(() => found);
    const fetched = await fetch(request);
    if (fetched.ok && later.includes(path)) await (await caches.open(NAME)).put(path, fetched.clone());
    return fetched;
  };

  self.addEventListener("install", (event) => {
    self.skipWaiting();
    event.waitUntil(keep());
  });
  self.addEventListener("activate", (event) => event.waitUntil(renew()));
  self.addEventListener("fetch", (event) => {
    const { request } = event, { origin, pathname, search } = new URL(request.url);
    if (request.method !== "GET" || origin !== location.origin) return;
    if (request.mode === "navigate") {
      event.respondWith(page(request, pathname, search));
      if (!logs.includes(pathname)) event.waitUntil(keepLater().catch(() => {}));
    } else if (files.includes(pathname) || later.includes(pathname)) event.respondWith(file(request, pathname));
  });
  // The browser wakes the worker once there is a signal again: pages that are open in the background send what waits.
  const wakePages = async () => {
    for (const client of await self.clients.matchAll()) client.postMessage("send");
  };
  self.addEventListener("sync", (event) => { if (event.tag === "send") event.waitUntil(wakePages()); });
})();
