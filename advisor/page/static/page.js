/* What is ticked is kept here until the house has answered, and is sent once and only once:
   every tick has an identifier, and the house enters an identifier one time. */
"use strict";
(() => {
  const KEPT = "advisor.waiting";
  const TAKE_BACK_MS = 10000, AGAIN_MS = 8000;
  const bar = document.getElementById("sent");
  let token = document.querySelector("meta[name=token]").content;
  let sending = false, shown = null;

  const read = () => { try { return JSON.parse(localStorage.getItem(KEPT)) || []; }
    catch { return []; } };
  const write = (ticks) => localStorage.setItem(KEPT, JSON.stringify(ticks));
  const drop = (id) => write(read().filter((each) => each.id !== id));
  const identifier = () => Array.from(crypto.getRandomValues(new Uint8Array(16)),
    (byte) => byte.toString(16).padStart(2, "0")).join("");

  const stop = () => { clearTimeout(shown); shown = null; };
  const say = (text, buttons = []) => {
    stop();
    const said = document.createElement("p");
    said.textContent = text;
    bar.replaceChildren(said, ...buttons.map(([words, act]) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = words;
      button.addEventListener("click", act);
      return button;
    }));
  };
  const quiet = () => { stop(); bar.replaceChildren(); tellWaiting(); };

  const post = (path, fields) => {
    const body = new URLSearchParams(fields);
    body.set("token", token);
    return fetch(path, {method: "POST", body, redirect: "manual",
      headers: {"X-Page": "script", "X-Token": token}});
  };
  const renewToken = async () => {
    const answer = await fetch("/token", {headers: {"X-Page": "script"}});
    if (answer.ok) token = (await answer.json()).token;
    return answer.ok;
  };
  const sendOne = async (tick, renewed = false) => {
    const ago = Math.max(0, Math.round((Date.now() - tick.when) / 1000));
    const answer = await post(tick.path, [...tick.fields, ["identifier", tick.id], ["ago", ago]]);
    if (answer.status === 403 && !renewed && await renewToken()) return sendOne(tick, true);
    return answer;
  };

  const send = async () => {
    if (sending) return;
    sending = true;
    let entered = null;
    try {
      for (const tick of read().filter((each) => !each.fault)) {
        const answer = await sendOne(tick);
        if (answer.status === 200) {
          entered = await answer.json();
          drop(tick.id);
        } else if (answer.status === 401) {
          say("This phone is not paired any more. What was ticked is kept here.",
            [["Pair it", () => location.assign("/pair")]]);
          return;
        } else if (answer.status >= 500 || answer.status === 0) {
          break;
        } else {
          const told = await answer.json().catch(() => ({fault: `Refused (${answer.status}).`}));
          write(read().map((each) => each.id === tick.id ? {...each, fault: told.fault} : each));
        }
      }
    } catch { /* out of reach: kept, and tried again */ } finally { sending = false; }
    if (entered) { sayEntered(entered); await renew(); }
    else tellWaiting();
    mark();
  };

  const sayEntered = (answer) => {
    say(answer.text || "Entered.", answer.entry ? [["Take back", async () => {
      try {
        const back = await post("/undo", [["entry", answer.entry], ["identifier", identifier()]]);
        const told = await back.json();
        say(told.text || told.fault);
      } catch { say("The house is out of reach: take it back later, under Entered."); }
      shown = setTimeout(quiet, TAKE_BACK_MS);
      await renew();
    }]] : []);
    shown = setTimeout(quiet, TAKE_BACK_MS);
  };

  const tellWaiting = () => {
    const ticks = read(), refused = ticks.find((each) => each.fault);
    if (refused) {
      say(`${refused.words}: ${refused.fault}`, [["Leave it out", () => {
        drop(refused.id); quiet(); mark(); }]]);
    } else if (ticks.length) {
      say(`The house is out of reach. Waiting to be sent: ${ticks.map((e) => e.words).join("; ")}.`,
        [["Take back the last", () => { drop(ticks[ticks.length - 1].id); quiet(); renew(); mark(); }]]);
    } else if (shown === null) { bar.replaceChildren(); }
  };

  /* Trees whose tick still waits are shown so. */
  const mark = () => {
    const waiting = new Set(read().filter((each) => !each.fault).flatMap((each) => each.trees));
    for (const button of document.querySelectorAll("#round button[name=tree]")) {
      const row = button.closest("li"), said = row.querySelector(".wait");
      row.classList.toggle("waiting", waiting.has(button.value));
      if (waiting.has(button.value) && !said) {
        const line = document.createElement("p");
        line.className = "wait";
        line.textContent = "Watered, waiting to be sent";
        row.firstElementChild.append(line);
      } else if (!waiting.has(button.value) && said) { said.remove(); }
    }
  };

  /* The list as it is now, in place of the one on the screen. */
  const renew = async () => {
    if (!document.getElementById("round")) return;
    try {
      const answer = await fetch("/", {headers: {"X-Page": "script"}});
      if (!answer.ok) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const open = [...document.querySelectorAll("#round section")].filter(
        (each) => each.querySelector("details[open]")).map((e) => e.getAttribute("aria-labelledby"));
      const held = document.activeElement;
      const back = held && held.name ? `[name="${CSS.escape(held.name)}"][value="${CSS.escape(held.value)}"]` : "";
      document.getElementById("main").replaceWith(document.adoptNode(page.getElementById("main")));
      for (const bench of open) {
        const part = document.querySelector(`[aria-labelledby="${bench}"] details`);
        if (part) part.open = true;
      }
      if (back) document.querySelector(`#main ${back}`)?.focus({preventScroll: true});
      mark();
    } catch { /* out of reach: the list stays as it is */ }
  };

  const treesOf = (form, fields, by) => {
    const told = new Map(fields);
    if (by?.name === "tree") return [by.value];
    const key = by?.name === "listed" ? `due-${by.value}` : by?.name === "bench" ? `of-${by.value}` : "";
    return key ? fields.filter(([name]) => name === key).flatMap(([, value]) => value.split(/\r?\n/))
      : [told.get("label")].filter(Boolean);
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.dataset.queue) return;
    const by = event.submitter;
    let fields = [...new FormData(form)].filter(([name]) => !["token", "identifier"].includes(name));
    if (by?.name) fields.push([by.name, by.value]);
    const trees = treesOf(form, fields, by);
    if (by?.name === "bench" && !trees.length) return;  // the house says what is wrong
    const wanted = by?.name === "listed" ? `due-${by.value}` : by?.name === "bench" ? `of-${by.value}` : "";
    if (form.id === "round") {
      fields = fields.filter(([name]) => name === by?.name || name === wanted);
    }
    const words = by?.name === "nothing" ? "Walked, and nothing watered"
      : `${form.dataset.queue.split(" ")[0] === "A" ? "A reading of" : "Watered"} ${trees.join(", ")}`;
    try {
      write([...read(), {id: identifier(), path: new URL(form.action).pathname, fields, trees,
        words, when: Date.now()}]);
    } catch { return; }  // nothing can be kept here: the form goes the plain way
    event.preventDefault();
    mark();
    if (form.classList.contains("asked")) { sendForm(form); } else { send(); }
  });

  /* A reading that is refused goes back to its form; nothing typed is lost. */
  const sendForm = async (form) => {
    await send();
    const refused = read().find((each) => each.fault && each.path === new URL(form.action).pathname);
    form.querySelector("p.fault")?.remove();
    if (refused) {
      drop(refused.id);
      const line = document.createElement("p");
      line.className = "fault";
      line.setAttribute("role", "alert");
      line.textContent = refused.fault;
      form.prepend(line);
      line.scrollIntoView({block: "center"});
      quiet();
    } else { form.reset(); }
  };

  addEventListener("online", send);
  addEventListener("storage", () => { mark(); tellWaiting(); });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") { send().then(renew); }
  });
  setInterval(() => { if (read().some((each) => !each.fault)) send(); }, AGAIN_MS);
  if (read().length) { mark(); send(); }
  if (document.body.hasAttribute("data-secure") && "serviceWorker" in navigator) {
    navigator.serviceWorker.register("/worker.js").catch(() => {});
  }
})();
