/* By https only: keeps the last round, and shows it read-only where the house is out of reach. */
"use strict";
const KEPT = "advisor-round", STYLE = "/static/page.css";

addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll([STYLE])).then(() => skipWaiting()));
});
addEventListener("activate", (event) => event.waitUntil(clients.claim()));

const age = (then) => {
  const hours = (Date.now() - then) / 3600000;
  return hours < 1 ? `${Math.round(hours * 60)} min` : hours < 48 ? `${Math.round(hours)} h`
    : `${Math.round(hours / 24)} days`;
};

const fresh = async (request) => {
  const answer = await fetch(request);
  if (answer.ok && !answer.redirected && new URL(request.url).search === "") {
    const kept = await caches.open(KEPT), headers = new Headers(answer.headers);
    headers.set("X-Kept", Date.now());
    await kept.put("/", new Response(await answer.clone().text(), {headers}));
  }
  return answer;
};

const last = async () => {
  const answer = await (await caches.open(KEPT)).match("/");
  if (!answer) return Response.error();
  const said = `<p class="fault" role="alert">The house is out of reach. This is the round of `
    + `${age(Number(answer.headers.get("X-Kept")))} ago, to be read only.</p>`;
  const text = (await answer.text()).replaceAll("<button", "<button disabled")
    .replace(/<script[^>]*><\/script>/, "").replace('<main id="main">', `<main id="main">${said}`);
  return new Response(text, {headers: answer.headers});
};

addEventListener("fetch", (event) => {
  const request = event.request, path = new URL(request.url).pathname;
  if (request.mode === "navigate" && request.method === "GET" && path === "/") {
    event.respondWith(fresh(request).catch(last));
  } else if (path === STYLE) {
    event.respondWith(fetch(request).catch(() => caches.match(STYLE)));
  }
});
