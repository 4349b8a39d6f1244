// The pages work without this file. It adds three things: a word when the network fails, the focus on a form's
// errors after a swap, and the time since when a live part has had no answer.
"use strict";

function notify(text) {
  const notices = document.getElementById("notices");
  if (!notices) return;
  const notice = document.createElement("div");
  notice.className = "notice notice-offline";
  notice.textContent = text;
  notices.replaceChildren(notice);
}

function clock() {
  return new Date().toTimeString().slice(0, 5);
}

function isChange(event) {
  return event.detail.requestConfig && event.detail.requestConfig.verb !== "get";
}

function sayOffline(event) {
  if (isChange(event)) notify("No connection at " + clock() + ": nothing was saved for certain. Press the button again; it counts only once.");
  else if (!document.querySelector(".notice-offline")) notify("No connection since " + clock() + ". This page may be out of date.");
}

document.addEventListener("htmx:sendError", sayOffline);
document.addEventListener("htmx:timeout", sayOffline);

document.addEventListener("htmx:afterOnLoad", function () {
  const offline = document.querySelector(".notice-offline");
  if (offline) offline.remove();
});

document.addEventListener("htmx:afterSettle", function () {
  const errors = document.querySelector(".error-summary");
  if (errors && !errors.contains(document.activeElement)) errors.focus();
});
