// What was typed survives a reload, the back button and signing in again; secrets are never kept.
"use strict";

(() => {
  const OLDEST = 3600000;
  const TYPED = "input:not([type=hidden]):not([type=password]):not([type=file]), textarea, select";
  const nameOf = (form) => "typed " + location.pathname + " " + page.deedOf(form);
  const isTick = (field) => field.type === "checkbox" || field.type === "radio";

  function fieldsOf(form) {
    const all = [...form.querySelectorAll(TYPED)].filter((field) => field.name && field.name !== "pin");
    // What is ticked in a live part is about what stood there then.
    return form.closest("[data-live]") ? all.filter((field) => !isTick(field)) : all;
  }

  function isKept(form) {
    return form && form.method === "post" && !form.querySelector("input[type=password]") && fieldsOf(form).length;
  }

  function keep(form) {
    const typed = fieldsOf(form).map((field) => [field.name, isTick(field) ? [field.value, field.checked] : field.value]);
    const key = form.querySelector("input[name=operation_key]");
    try {
      sessionStorage.setItem(nameOf(form), JSON.stringify({ at: Date.now(), key: key && key.value, typed }));
    } catch {
      // A full or forbidden storage keeps nothing.
    }
  }

  function fill(form) {
    const draft = JSON.parse(sessionStorage.getItem(nameOf(form)) || "null");
    if (!draft || Date.now() - draft.at > OLDEST) return;
    for (const [name, value] of draft.typed) {
      for (const field of fieldsOf(form).filter((each) => each.name === name)) {
        if (!isTick(field)) field.value = value;
        else if (field.value === value[0]) field.checked = value[1];
      }
    }
  }

  function forgetDone() {
    const done = new URLSearchParams(location.search).get("done");
    for (const name of Object.keys(sessionStorage)) {
      if (name.startsWith("typed ") && done && JSON.parse(sessionStorage.getItem(name)).key === done) {
        sessionStorage.removeItem(name);
      }
    }
  }

  function isComingBack() {
    const [navigation] = performance.getEntriesByType("navigation");
    const from = document.referrer && new URL(document.referrer).pathname;
    const isFromSigningIn = from === "/sign-in" || from === "/desk/join";
    return isFromSigningIn || (navigation && ["reload", "back_forward"].includes(navigation.type));
  }

  for (const typed of ["input", "change"]) {
    addEventListener(typed, (event) => isKept(event.target.form) && keep(event.target.form));
  }
  // Who signs out leaves nothing typed for the next one at this tab.
  function forgetAll() {
    for (const name of Object.keys(sessionStorage)) if (name.startsWith("typed ")) sessionStorage.removeItem(name);
  }

  addEventListener("submit", (event) => isKept(event.target) && keep(event.target), true);
  addEventListener("submit", (event) => new URL(event.target.action).pathname.includes("/sign-out") && forgetAll(), true);
  document.addEventListener("page:shown", forgetDone);
  try {
    forgetDone();
    if (isComingBack() && !document.querySelector(".error-summary")) [...document.forms].filter(isKept).forEach(fill);
  } catch {
    // Nothing kept, or nothing that can be read.
  }
})();
