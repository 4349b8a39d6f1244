// The pages work without this file. It says one thing the server can't: that the network failed.
"use strict";

function say(kind, text) {
  const notices = document.getElementById("notices");
  if (!notices || notices.querySelector("." + kind)) return;
  const notice = document.createElement("p");
  notice.className = "notice " + kind;
  notice.textContent = text;
  notices.append(notice);
}

function sayOffline(event) {
  const at = new Date().toTimeString().slice(0, 5);
  if (event.detail.requestConfig.verb === "get") say("notice-stale", "No connection since " + at + ": this page may be out of date.");
  else say("notice-unsaved", "No answer at " + at + ": it may not be saved. Press the button again; it counts only once.");
}

document.addEventListener("htmx:sendError", sayOffline);
document.addEventListener("htmx:timeout", sayOffline);

document.addEventListener("htmx:afterOnLoad", function (event) {
  const wasChange = event.detail.requestConfig.verb !== "get";
  for (const notice of document.querySelectorAll(wasChange ? ".notice-stale, .notice-unsaved" : ".notice-stale")) notice.remove();
});
