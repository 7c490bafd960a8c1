/**
 * Keeps the last seen pages for when there is no signal: network first, at most 60 pages and
 * 8 MB, never anything posted, never photographs, never what is marked `no-store`. A kept copy
 * says so at its head.
 */

declare const self: ServiceWorkerGlobalScope;

const PAGES = "pages-1";
const INTERFACE = "ui-1";
const MOST_PAGES = 60;
const MOST_BYTES = 8_000_000;
const BIGGEST_PAGE = 1_000_000;
/** A page that has not come by then is shown from the kept copy, if there is one. */
const PATIENCE_MS = 6_000;
/** Another person may be at the device after these; their pages are theirs. */
const CHANGES_PERSON = ["/sign-in", "/sign-out"];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(INTERFACE)
      .then((cache) => cache.addAll(["/ui/guidecoat.css", "/ui/guidecoat.js"]))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name !== PAGES && name !== INTERFACE) await caches.delete(name);
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && CHANGES_PERSON.includes(url.pathname)) event.waitUntil(caches.delete(PAGES));
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/ui/")) event.respondWith(part(request));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
});

/** A part of the interface: from the network, else as it was. */
async function part(request: Request): Promise<Response> {
  const cache = await caches.open(INTERFACE);
  try {
    const fresh = await fetch(request);
    if (fresh.ok) await cache.put(request, fresh.clone());
    return fresh;
  } catch {
    return (await cache.match(request, { ignoreVary: true })) ?? Response.error();
  }
}

async function page(event: FetchEvent, url: URL): Promise<Response> {
  url.hash = "";
  const key = url.href;
  const fresh = fetch(event.request);
  event.waitUntil(fresh.then((response) => keep(key, response.clone())).catch(() => {}));
  const late = new Promise<undefined>((resolve) => setTimeout(resolve, PATIENCE_MS));
  const first = await Promise.race([fresh, late]).catch(() => "none" as const);
  if (first instanceof Response) return first;
  const copy = await kept(key, first === "none" ? "no signal" : "no answer yet");
  if (copy) return copy;
  return fresh.catch(() => nothingKept());
}

async function keep(key: string, response: Response): Promise<void> {
  const { headers } = response;
  const html = headers.get("content-type")?.startsWith("text/html");
  if (response.status !== 200 || response.redirected || !html || headers.get("cache-control")?.includes("no-store")) return;
  const text = await response.text();
  if (text.length > BIGGEST_PAGE) return;
  const held = new Headers(headers); // the content policy among them
  for (const name of ["content-encoding", "content-length"]) held.delete(name);
  held.set("x-kept-at", new Date().toISOString());
  held.set("x-kept-length", String(text.length));
  const cache = await caches.open(PAGES);
  await cache.delete(key, { ignoreVary: true });
  await cache.put(key, new Response(text, { headers: held }));
  await trim(cache);
}

/** Drops the pages seen longest ago until the rest is within the limits. */
async function trim(cache: Cache): Promise<void> {
  const newestFirst = [...(await cache.keys())].reverse();
  let bytes = 0;
  for (const [index, key] of newestFirst.entries()) {
    const held = await cache.match(key, { ignoreVary: true });
    bytes += Number(held?.headers.get("x-kept-length") ?? 0);
    if (index >= MOST_PAGES || bytes > MOST_BYTES) await cache.delete(key, { ignoreVary: true });
  }
}

async function kept(key: string, why: string): Promise<Response | undefined> {
  const copy = await (await caches.open(PAGES)).match(key, { ignoreVary: true });
  if (!copy) return undefined;
  const at = new Date(copy.headers.get("x-kept-at") ?? 0);
  const time = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const day = at.toLocaleDateString("en-GB", { day: "numeric", month: "short" });
  const when = at.toDateString() === new Date().toDateString() ? time : `${day}, ${time}`;
  const line = `<p class="flash wait" role="status">Kept copy from ${when}, ${why}.</p>`;
  const text = (await copy.text()).replace(/<main\b[^>]*>/, (main) => main + line);
  return new Response(text, { headers: copy.headers });
}

function nothingKept(): Response {
  const policy = "default-src 'none'; style-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'";
  const text =
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">' +
    '<title>No signal - guidecoat</title><link rel="stylesheet" href="/ui/guidecoat.css">' +
    '<header class="top"><nav class="crumb" aria-label="Where you are"><a href="/">Cars</a></nav></header>' +
    '<div class="sheet solo"><main id="main"><h1>No signal</h1><p class="says">This page has not been seen here before, so there is no copy of it.</p>' +
    "<p>Go back to the page you came from: what you typed there, and what waits to be sent, is still kept.</p></main></div>";
  return new Response(text, {
    status: 503,
    headers: { "content-type": "text/html; charset=utf-8", "content-security-policy": policy },
  });
}

export {}; // a module: its names are its own
