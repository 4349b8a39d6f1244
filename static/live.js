// Live parts ask for themselves when they are older than what the server's stream says; a pilot's own part comes with the
// news. Where the stream can't be had, the page asks every few seconds; where nothing answers, it says how old it is.
"use strict";

const live = (() => {
  const LATE = 12000; // a stream says something every 5 s
  const ASK = 4000;
  const OLD = 10000; // two of these are missing
  const AGAIN = 15000;
  let source = null;
  let isForOwn = false; // whether it was opened for a pilot's own page
  let openedAt = 0;
  let streamAt = 0; // when the stream said something
  let heardAt = Date.now(); // when the server answered anything
  let askedAt = 0;
  let tickedAt = Date.now();
  let words = null;
  let timer = null;
  let dueAt = Infinity;
  let isOver = false;
  let thumbAt = 0; // since when a finger lies on the page

  const address = () => document.body.dataset.liveUrl;
  const parts = () => [...document.querySelectorAll("[data-live]")];
  const ownPart = () => document.querySelector("[data-live=own]");
  const isOld = (part) => words && part.dataset.seen !== words[part.dataset.live];
  const isHeld = () => thumbAt && Date.now() - thumbAt < 3000;

  function hear(said) {
    words = said;
    heardAt = Date.now();
    page.hush("notice-stale");
    document.dispatchEvent(new Event("live:heard"));
    if (said.part) put(said.part);
    if (parts().some(isOld)) refreshWithin(said.spread_ms);
  }

  // Under a finger nothing changes: the part is asked for once it is lifted.
  function put(html) {
    const part = ownPart();
    if (part && isOld(part) && !isHeld()) htmx.swap(part, html, { swapStyle: "outerHTML" });
  }

  // Not all pages at the same moment; a question that is due sooner stays.
  function refreshWithin(ms) {
    const at = Date.now() + Math.random() * ms;
    if (at >= dueAt) return;
    clearTimeout(timer);
    dueAt = at;
    timer = setTimeout(refresh, at - Date.now());
  }

  function refresh() {
    dueAt = Infinity;
    if (isHeld()) return refreshWithin(500);
    for (const part of parts().filter(isOld)) {
      const around = part.parentElement.closest("[data-live]");
      if (!around || !isOld(around)) htmx.trigger(part, "live");
    }
  }

  // Whose page it is and what it shows already: who comes back is told only what is new.
  function question(address) {
    const part = ownPart();
    return part ? address + "?shows=" + part.dataset.seen : address;
  }

  function connect() {
    if (source) source.close();
    source = null;
    openedAt = Date.now();
    isForOwn = Boolean(ownPart());
    if (document.hidden || isOver || !address() || !parts().length || !window.EventSource) return;
    source = new EventSource(question(address()));
    source.onmessage = (event) => {
      streamAt = Date.now();
      hear(JSON.parse(event.data));
    };
    source.addEventListener("over", signedOut);
  }

  async function ask() {
    if (isOver || !address() || !parts().length) return;
    askedAt = Date.now();
    const control = new AbortController();
    const patience = setTimeout(() => control.abort(), 8000);
    try {
      const answer = await fetch(question(address() + "/now"), { signal: control.signal, cache: "no-store" });
      if (answer.status === 401) signedOut();
      else if (answer.ok) hear(await answer.json());
    } catch {
      // Nobody answered: the age says so.
    } finally {
      clearTimeout(patience);
    }
  }

  function signedOut() {
    isOver = true;
    if (source) source.close();
    const again = document.createElement("a");
    again.href = location.href;
    again.textContent = "Sign in again";
    page.hush("notice-stale");
    page.say("notice-out", "You are signed out here: what you see may be old.", again);
  }

  // Minutes and seconds, never a clock time: the page shows the site's zone, and this device may be set to another.
  function sayAge(silent) {
    const seconds = Math.floor(silent / 1000);
    const age = seconds < 20 ? seconds : Math.floor(seconds / 10) * 10;
    const howLong = seconds < 120 ? age + " s" : Math.floor(seconds / 60) + " min";
    page.say("notice-stale", "No answer from the club's laptop for " + howLong + ": what you see may be old.");
  }

  function tick() {
    const now = Date.now();
    const slept = now - tickedAt > LATE;
    tickedAt = now;
    if (document.hidden || isOver || !parts().length) return;
    if (slept) return wake();
    const streamIsLate = now - streamAt > LATE;
    if (streamIsLate && now - openedAt > AGAIN) connect();
    if (streamIsLate && now - openedAt > ASK && now - askedAt > ASK) ask();
    if (now - heardAt > OLD) sayAge(now - heardAt);
  }

  // Out of a pocket, out of sleep, back by the back button: ask at once, whatever the stream says later.
  function wake() {
    tickedAt = Date.now();
    ask();
    connect();
  }

  // A page that the browser kept and shows again: until an answer is there, how old it is.
  function comeBack() {
    const silent = Date.now() - heardAt;
    if (silent > OLD && !isOver && parts().length) sayAge(silent);
    wake();
  }

  addEventListener("visibilitychange", () => (document.hidden ? source && source.close() : wake()));
  addEventListener("pagehide", () => source && source.close());
  addEventListener("pageshow", (event) => event.persisted && comeBack());
  addEventListener("online", wake);
  document.addEventListener("page:shown", () => {
    isOver = false;
    heardAt = Date.now();
    const isTheSame = source && new URL(source.url).pathname === address() && isForOwn === Boolean(ownPart());
    if (!isTheSame) connect();
  });

  // What lies under a finger stays until it is lifted.
  addEventListener("pointerdown", () => (thumbAt = Date.now()));
  for (const lifted of ["pointerup", "pointercancel"]) addEventListener(lifted, () => setTimeout(() => (thumbAt = 0)));
  document.addEventListener("htmx:beforeSwap", (event) => {
    const part = event.detail.target;
    if (event.detail.xhr.status < 300 && part.matches("[data-live]") && isHeld()) {
      event.detail.shouldSwap = false;
      refreshWithin(500);
    }
  });
  // A part that is refused isn't asked for again until something changes.
  document.addEventListener("htmx:responseError", (event) => {
    const part = event.detail.elt;
    if (words && part.matches("[data-live]")) part.dataset.seen = words[part.dataset.live];
  });

  connect();
  setInterval(tick, 1000);
  return { ask };
})();
