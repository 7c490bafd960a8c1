/**
 * A stand-in for the server, for the islands alone: it keeps the contract of the entry forms, and
 * can be told to misbehave. The real server is tested by the journeys.
 */

import { randomUUID } from "node:crypto";
import { readFile } from "node:fs/promises";
import { createServer } from "node:http";
import { extname, join, normalize } from "node:path";
import { builtUi } from "./ui.js";

const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self'",
  "font-src 'self'",
  "connect-src 'self'",
  "worker-src 'self'",
  "form-action 'self'",
  "base-uri 'none'",
  "frame-ancestors 'none'",
].join("; ");

const TYPES = { ".css": "text/css", ".js": "text/javascript", ".woff2": "font/woff2", ".svg": "image/svg+xml" };

/**
 * Starts it. `kept` lists the entries kept, in order; `answer`, when set, answers the next posts
 * instead: a function from the posted fields to `{ status, json }`, "hang", "drop" (nothing is kept)
 * or "lose" (it is kept, but no answer arrives), or to a promise of one of these, or of nothing, which
 * holds the post up and then lets it through. `hold` is a promise every page waits for.
 */
export async function standIn(pages) {
  const state = { kept: [], posts: [], natives: [], pages: { ...pages }, answer: undefined, hold: undefined, noStore: false };
  const ui = builtUi();
  const held = new Set();
  const server = createServer((request, response) => {
    handle(request, response, state, ui, held).catch((problem) => {
      response.writeHead(500).end(String(problem));
    });
  });
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  const { port } = server.address();
  state.url = `http://127.0.0.1:${port}`;
  state.plainUrl = `http://shop.test:${port}`;
  state.stop = () => {
    server.closeAllConnections();
    return new Promise((resolve) => server.close(resolve));
  };
  return state;
}

async function handle(request, response, state, ui, held) {
  const { pathname, href } = new URL(request.url, "http://stand.in");
  if (request.method === "POST") return post(request, response, state, held);
  if (pathname.startsWith("/ui/") || pathname === "/sw.js") {
    const file = join(ui, normalize(pathname.replace("/ui/", "/")));
    const bytes = await readFile(file).catch(() => undefined);
    if (!bytes) return response.writeHead(404).end();
    return response.writeHead(200, { "content-type": TYPES[extname(file)] ?? "text/plain", "cache-control": "no-cache" }).end(bytes);
  }
  if (state.hold) await state.hold;
  const page = state.pages[pathname];
  const html = typeof page === "function" ? page(href) : page;
  if (state.noStore) response.setHeader("cache-control", "no-store");
  send(response, html ? 200 : 404, html ?? sheet("Not here", "<h1>Not here</h1>"));
}

function send(response, status, html) {
  response.writeHead(status, { "content-type": "text/html; charset=utf-8", "content-security-policy": POLICY }).end(html);
}

async function post(request, response, state, held) {
  const chunks = [];
  for await (const chunk of request) chunks.push(chunk);
  const body = new Response(Buffer.concat(chunks), { headers: { "content-type": request.headers["content-type"] } });
  const fields = Object.fromEntries(await body.formData());
  const asked = (request.headers.accept ?? "").includes("application/json");
  state.posts.push(fields);
  const told = await state.answer?.(fields, asked);
  if (told === "hang") return;
  if (told === "drop") return request.socket.destroy();
  if (!asked) {
    state.natives.push(fields);
    const typed = String(fields.note ?? "").replaceAll("<", "&lt;");
    return send(response, 422, sheet("Put right", `<h1>Put right</h1><p id="typed">${typed}</p>`));
  }
  if (told?.status) return json(response, told.status, told.json);
  if (held.has(fields.entry) && told !== "lose") return json(response, 200, { kept: state.kept.length, go: "/kept", say: "Kept already." });
  if (!held.has(fields.entry)) state.kept.push(fields);
  held.add(fields.entry);
  if (told === "lose") return request.socket.destroy();
  json(response, 201, { kept: state.kept.length, go: "/kept", say: "Kept." });
}

function json(response, status, value) {
  const html = typeof value === "string";
  response.writeHead(status, { "content-type": html ? "text/html" : "application/json" });
  response.end(html ? value : JSON.stringify(value));
}

/** A page in the frame every page has. */
export function sheet(title, main, { ground = "", top = "" } = {}) {
  return `<!doctype html><html lang="en" class="${ground}"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width,initial-scale=1"><title>${title} - guidecoat</title>
<link rel="icon" href="/ui/mark.svg"><link rel="stylesheet" href="/ui/guidecoat.css"><script type="module" src="/ui/guidecoat.js"></script></head>
<body><a class="skip" href="#main">To the sheet</a>
<header class="top"><nav class="crumb" aria-label="Where you are"><a href="/">Cars</a><a href="/cars/1">Invented car</a></nav>${top}</header>
<div class="sheet"><main id="main">${main}</main>
<aside class="margin" aria-label="Margin of the sheet"><div class="stick"><dl class="block"><div><dt>Unsent</dt><dd data-unsent="count">nothing</dd></div></dl></div></aside></div>
<nav class="bar no-print" aria-label="Quick"><a href="/">Cars</a><a href="#sheets">Sheets</a><button class="main" form="look">Keep</button></nav>
</body></html>`;
}

/** An Add page with a look and a photograph, each drawing with identifiers of its own. */
export function addPage() {
  const hidden = (kind) =>
    `<input type="hidden" name="entry" value="${randomUUID()}"><input type="hidden" name="base" value="7">` +
    `<input type="hidden" name="kind" value="${kind}"><input type="hidden" name="zone" value="sill_outer.left">` +
    `<input type="hidden" name="noted" value="">`;
  const who =
    `<fieldset><legend>Who is writing?</legend><div class="picks side">` +
    ["p1|Bench A", "p2|Bench B"].map((one) => {
      const [value, name] = one.split("|");
      return `<label class="pick"><input type="radio" name="who" value="${value}"><span>${name}</span></label>`;
    }).join("") + `</div></fieldset>`;
  const form = (kind, label, fields) =>
    `<section><h2>${label}</h2><form id="${kind === "looked" ? "look" : "photo"}" class="stack-l" method="post" enctype="multipart/form-data" action="/cars/1/entries" data-queue data-label="${label}, outer sill skin left">
${hidden(kind)}${fields}${who}<p><button class="btn main wide" name="then" value="stay">Keep this</button></p></form></section>`;
  const look = form("looked", "Look", `<fieldset><legend>What did the look say?</legend><div class="picks">
<label class="pick"><input type="radio" name="result" value="clear" data-say="clear" checked><span><b>Looked: clear</b></span></label>
<label class="pick"><input type="radio" name="result" value="bad" data-say="bad"><span><b>Looked: bad</b></span></label></div></fieldset>
<div class="field"><label for="note">Note</label><textarea id="note" name="note"></textarea></div>`);
  const photo = form("photographed", "Photograph", `<div class="field"><label for="file">Photograph</label>
<input id="file" name="photo" type="file" accept="image/jpeg,image/png" data-max-bytes="30000000"></div>
<input type="hidden" name="mark_view" value=""><input type="hidden" name="mark_u" value=""><input type="hidden" name="mark_v" value="">
<figure class="map"><svg viewBox="0 0 872 300" role="img" aria-label="Left side" data-view="left" data-u0="-900" data-v1="1500" data-mm-per-px="5">
<g class="z none"><path d="M258 226L560 226 560 248 258 248Z"/></g><path class="d" d="M22 200Q20 172 42 148Q150 114 285 118"/></svg></figure>`);
  return sheet("Add", `<h1>Add to the record</h1>${look}${photo}`);
}
