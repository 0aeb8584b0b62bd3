/*
 * Opens sheets, strobe sessions and road notes without a network. The view puts SETTINGS in front: release, files,
 * pages, stylesheets.
 *
 * Pages come from the network as long as it answers; their copies are for the dead spot. Entries never pass through
 * here: the page's own queue sends them.
 */

const FILES = `crankmark-files-${SETTINGS.release}`;
const COPIES = "crankmark-pages"; // emptied by copies.js whenever another person is at the bench
const PATIENCE_MS = 5_000;
const SPOKEN_FOR = [502, 503, 504];

const KEPT = Object.entries(SETTINGS.pages).map(([end, called]) => [new RegExp(`^/jobs/([^/]+)/${end}/$`), called]);
const isKept = (path) => KEPT.some(([pattern]) => pattern.test(path));
const THUMBNAIL = /^\/jobs\/photographs\/[^/]+\/small\/$/;

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const cache = await caches.open(FILES);
      await cache.addAll(SETTINGS.files.map((url) => new Request(url, { cache: "reload" })));
      await self.skipWaiting();
    })(),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const names = await caches.keys();
      await Promise.all(names.filter((name) => name.startsWith("crankmark-files-") && name !== FILES).map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

const isPage = (response) =>
  response.ok && response.type === "basic" && !response.redirected && (response.headers.get("Content-Type") ?? "").startsWith("text/html");

const fetched = async (request, worthKeeping) => {
  const response = await fetch(request);
  if (worthKeeping(response)) {
    const cache = await caches.open(COPIES);
    await cache.put(new URL(request.url).pathname, response.clone());
  }
  return response;
};

const after = (milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));

/* The network's answer; its copy if the network fails or is slower than a person's patience. */
const keptPage = async (event) => {
  const path = new URL(event.request.url).pathname;
  const copy = async () => (await caches.open(COPIES)).match(path);
  const fromNetwork = fetched(event.request, isPage);
  event.waitUntil(fromNetwork.catch(() => undefined));
  try {
    const first = (await Promise.race([fromNetwork, after(PATIENCE_MS).then(copy)])) ?? (await fromNetwork);
    // Something in between speaks for a server that is down.
    return SPOKEN_FOR.includes(first.status) ? ((await copy()) ?? first) : first;
  } catch {
    return (await copy()) ?? noAnswer();
  }
};

const otherPage = async (request) => {
  try {
    return await fetch(request);
  } catch {
    return noAnswer();
  }
};

const thumbnail = async (request) => {
  const cache = await caches.open(COPIES);
  try {
    return await fetched(request, (response) => response.ok);
  } catch {
    return (await cache.match(new URL(request.url).pathname)) ?? Response.error();
  }
};

const file = async (request) => {
  const cache = await caches.open(FILES);
  return (await cache.match(request, { ignoreSearch: true })) ?? fetch(request);
};

/* The page for a page that was not kept: what is kept, and that nothing entered is lost. */
const noAnswer = async () => {
  const cache = await caches.open(COPIES);
  const paths = (await cache.keys()).map((request) => new URL(request.url).pathname);
  const links = paths.flatMap((path) =>
    KEPT.filter(([pattern]) => pattern.test(path)).map(
      ([pattern, called]) => `<li><a class="button" href="${path}">Open ${called}, job ${pattern.exec(path)[1]}</a></li>`,
    ),
  );
  const kept = links.length
    ? `<p>Kept on this tablet:</p><ul class="lines">${links.join("")}</ul>`
    : "<p>No page is kept on this tablet. Open it with the network first.</p>";
  const styles = SETTINGS.stylesheets.map((url) => `<link rel="stylesheet" href="${url}">`).join("");
  const text = `<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>No answer · Crankmark</title>${styles}</head><body><div class="page"><main class="stack"><h1>The workshop computer does not answer</h1><p>Entries that wait on this tablet are safe; they are sent once it answers again.</p>${kept}</main></div></body></html>`;
  return new Response(text, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    event.respondWith(isKept(url.pathname) ? keptPage(event) : otherPage(request));
  } else if (THUMBNAIL.test(url.pathname)) event.respondWith(thumbnail(request));
  else if (SETTINGS.files.includes(url.pathname)) event.respondWith(file(request));
});

self.addEventListener("message", (event) => {
  const path = event.data?.keep;
  if (!path || !isKept(path)) return;
  event.waitUntil(
    (async () => {
      const cache = await caches.open(COPIES);
      if (await cache.match(path)) return;
      const response = await fetch(path, { credentials: "same-origin", redirect: "manual" });
      if (isPage(response)) await cache.put(path, response);
    })().catch(() => undefined),
  );
});
