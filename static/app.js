// The pages work without this file. It says one thing the server can't: that the network failed.
"use strict";

let offlineSince = null;

function say(kind, text) {
  const notices = document.getElementById("notices");
  if (!notices) return;
  const shown = notices.querySelector("." + kind);
  const notice = shown || document.createElement("p");
  if (notice.textContent === text) return;
  notice.className = "notice " + kind;
  notice.textContent = text;
  if (!shown) notices.append(notice);
}

// Minutes, never a clock time: the page shows the site's zone, and this device may be set to another.
function sayOffline(event) {
  offlineSince = offlineSince || Date.now();
  const minutes = Math.floor((Date.now() - offlineSince) / 60000);
  const howLong = minutes ? " for " + minutes + " min" : "";
  if (event.detail.requestConfig.verb === "get") say("notice-stale", "No connection" + howLong + ": this page may be out of date.");
  else say("notice-unsaved", "No answer: it may not be saved. Press the button again; it counts only once.");
}

document.addEventListener("htmx:sendError", sayOffline);
document.addEventListener("htmx:timeout", sayOffline);

document.addEventListener("htmx:afterOnLoad", function (event) {
  offlineSince = null;
  const wasChange = event.detail.requestConfig.verb !== "get";
  for (const notice of document.querySelectorAll(wasChange ? ".notice-stale, .notice-unsaved" : ".notice-stale")) notice.remove();
});
