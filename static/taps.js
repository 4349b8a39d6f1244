// A tap at the field is sent until it is answered, or until it is given up. It carries the operation key of its form, so
// it counts once however often it is sent.
"use strict";

const taps = (() => {
  const KEPT = "unsent taps";
  const FIELD = /^\/(desk|my|t|alarms|undo)\/(?!join)/;
  const PATIENCE = 10000;
  const QUICK = 2000; // until then a tap is only on its way
  const PAUSES = [1000, 2000, 4000, 8000];
  const OLDEST = 600000; // after ten minutes a person decides: the field has moved on
  let queue = kept();
  const lanes = {};
  let skipPause = () => {};

  function kept() {
    try {
      return JSON.parse(sessionStorage.getItem(KEPT) || "[]").map((tap) => ({ ...tap, shown: -1 }));
    } catch {
      return [];
    }
  }

  function keep() {
    try {
      sessionStorage.setItem(KEPT, JSON.stringify(queue));
    } catch {
      // Without storage a tap lives as long as its page.
    }
  }

  const field = (form, name) => form.querySelector(`input[type=hidden][name=${name}]`);

  function isTap(form) {
    return (
      form.method === "post" &&
      FIELD.test(new URL(form.action).pathname) &&
      field(form, "operation_key") &&
      !form.querySelector("input[type=password], input[type=file]")
    );
  }

  function tapOf(form, button) {
    const fields = [...new FormData(form)];
    if (button && button.name) fields.push([button.name, button.value]);
    const words = (button || form).textContent.trim().replace(/\s+/g, " ");
    return { action: form.action, fields, deed: page.deedOf(form), words, at: Date.now(), tries: 0, shown: page.shown };
  }

  addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || !isTap(form)) return;
    event.preventDefault();
    if (queue.some((tap) => tap.deed === page.deedOf(form))) return;
    queue.push(tapOf(form, event.submitter));
    keep();
    work();
    setTimeout(mark, QUICK + 50);
  });

  async function send(tap) {
    const control = new AbortController();
    const patience = setTimeout(() => control.abort(), PATIENCE);
    try {
      const body = new URLSearchParams(tap.fields);
      const answer = await fetch(tap.action, { method: "POST", body, signal: control.signal });
      // A middleman that can't reach the club's laptop is no answer.
      if ([502, 503, 504].includes(answer.status)) return null;
      return { html: await answer.text(), address: answer.redirected ? answer.url : null, status: answer.status };
    } catch {
      return null;
    } finally {
      clearTimeout(patience);
    }
  }

  const laneOf = (tap) => (tap.action.includes("/alarms/") ? "alarms" : "others");
  const isDue = (tap) => tap.again || Date.now() - tap.at < OLDEST;

  // One after the other, in the order they were made; an alarm waits for nobody.
  async function work() {
    mark();
    for (const lane of ["alarms", "others"]) workLane(lane);
  }

  async function workLane(lane) {
    if (lanes[lane]) return;
    lanes[lane] = true;
    let tap;
    while ((tap = queue.find((each) => laneOf(each) === lane && isDue(each)))) {
      const answer = await send(tap);
      if (!queue.includes(tap)) continue; // given up meanwhile
      if (answer) {
        queue = queue.filter((each) => each !== tap);
        keep();
        settle(tap, answer);
        mark();
      } else {
        tap.tries += 1;
        keep();
        mark();
        await pause(PAUSES[Math.min(tap.tries, PAUSES.length) - 1]);
      }
    }
    lanes[lane] = false;
    mark();
  }

  function pause(ms) {
    return new Promise((go) => {
      const timer = setTimeout(go, ms);
      const before = skipPause;
      skipPause = () => {
        clearTimeout(timer);
        before();
        go();
      };
    });
  }

  function retry() {
    const skip = skipPause;
    skipPause = () => {};
    skip();
  }

  // The answer takes the place of the page it was asked from; elsewhere only what it says is shown.
  function settle(tap, answer) {
    if (tap.shown === page.shown || answer.status === 401) return page.show(answer.html, answer.address);
    const said = page.read(answer.html).querySelector("#notices");
    document.getElementById("notices").append(...(said ? said.childNodes : []));
    if (!answer.address) page.say("notice-refused", "Not done: " + tap.words + ". Look at it again.");
    live.ask();
  }

  // 'Not sent yet' stands beside the button that was tapped, or among the notices where that is not in sight.
  function mark() {
    for (const old of document.querySelectorAll(".unsent")) old.remove();
    for (const form of document.querySelectorAll("form[aria-busy]")) {
      form.removeAttribute("aria-busy");
      for (const button of form.querySelectorAll("button")) button.disabled = false;
    }
    document.documentElement.toggleAttribute("data-sending", queue.some((tap) => isDue(tap)));
    for (const tap of queue) {
      const forms = [...document.forms].filter((form) => isTap(form) && page.deedOf(form) === tap.deed);
      for (const form of forms) {
        form.setAttribute("aria-busy", "true");
        for (const button of form.querySelectorAll("button")) button.disabled = true;
      }
      if (!tap.tries && tap.shown >= 0 && Date.now() - tap.at < QUICK) continue;
      const place = forms[0];
      if (place) place.after(lineOf(tap, ""));
      else document.getElementById("notices").append(lineOf(tap, tap.words + ": "));
    }
  }

  function lineOf(tap, about) {
    const line = document.createElement("div");
    line.className = about ? "unsent notice" : "unsent";
    line.setAttribute("role", "status");
    const words = line.appendChild(document.createElement("p"));
    words.textContent = about + wordsOf(tap);
    if (!isDue(tap)) line.append(button("Send it now", () => ((tap.again = true), work())));
    line.append(button("Give it up", () => giveUp(tap)));
    return line;
  }

  function wordsOf(tap) {
    if (isDue(tap)) return "Not sent yet, as far as this page knows. It tries again; it counts once.";
    return "Not sent yet, from " + Math.floor((Date.now() - tap.at) / 60000) + " min ago.";
  }

  function button(words, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "button button-quiet";
    made.textContent = words;
    made.addEventListener("click", act);
    return made;
  }

  function giveUp(tap) {
    queue = queue.filter((each) => each !== tap);
    keep();
    retry();
    mark();
    page.say("notice-unsaved", "Given up: " + tap.words + ". If it got through all the same, the page will show it.");
    live.ask();
  }

  addEventListener("online", retry);
  document.addEventListener("live:heard", retry);
  document.addEventListener("page:shown", mark);
  document.addEventListener("htmx:afterSettle", mark);
  addEventListener("pageshow", (event) => event.persisted && mark());
  work();
})();
