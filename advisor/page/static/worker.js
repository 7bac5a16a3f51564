/* By https only: keeps the last round, and shows it read-only where the house is out of reach. */
"use strict";
const KEPT = "advisor-round", STYLE = "/static/page.css";
const PATIENCE_MS = 8000;  // far from home a phone may wait minutes for an address of the house

const keep = async (answer) => {
  if (!answer.ok || answer.redirected) return;
  const headers = new Headers(answer.headers), text = await answer.text();
  headers.set("X-Kept", Date.now());
  headers.delete("Content-Encoding");  // the text is unpacked
  await (await caches.open(KEPT)).put("/", new Response(text, {headers}));
};

addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.add(STYLE))
    .then(() => fetch("/").then(keep).catch(() => {})).then(() => skipWaiting()));
});
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

const age = (then) => {
  const hours = (Date.now() - then) / 3600000;
  return hours < 1 ? `${Math.round(hours * 60)} min` : hours < 48 ? `${Math.round(hours)} h`
    : `${Math.round(hours / 24)} days`;
};

const fresh = async (request) => {
  const answer = await fetch(request);
  if (new URL(request.url).search === "") await keep(answer.clone());
  return answer;
};

const last = async () => {
  const answer = await (await caches.open(KEPT)).match("/");
  if (!answer) return null;
  const said = `<p class="fault" role="alert">The house is out of reach. This is the round of `
    + `${age(Number(answer.headers.get("X-Kept")))} ago, to be read only.</p>`;
  const text = (await answer.text()).replaceAll("<button", "<button hidden disabled")
    .replaceAll("<details", "<details hidden")
    .replace(/<script[^>]*><\/script>/, "").replace('<main id="main">', `<main id="main">${said}`);
  return new Response(text, {headers: answer.headers});
};

const patiently = (request) => {
  const answered = fresh(request);
  const waited = new Promise((_, over) => setTimeout(over, PATIENCE_MS));
  return Promise.race([answered, waited]).catch(async () => await last() || answered);
};

addEventListener("fetch", (event) => {
  const request = event.request, path = new URL(request.url).pathname;
  if (request.mode === "navigate" && request.method === "GET" && path === "/") {
    event.respondWith(patiently(request));
  } else if (path === STYLE) {
    event.respondWith(fetch(request).catch(() => caches.match(STYLE)));
  }
});
