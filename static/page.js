// The pages work without scripts. What the others share: a line among the notices, and a page put in place of this one.
"use strict";

const page = {
  shown: 0, // counts the pages shown in this document

  // One line among the notices, known by its kind. The words of one that stands already are not read out again.
  say(kind, text, ...more) {
    const notices = document.getElementById("notices");
    if (!notices) return;
    let line = notices.querySelector("." + kind);
    if (!line) {
      line = document.createElement("div");
      line.className = "notice " + kind;
      line.setAttribute("aria-live", "off");
      line.append(document.createElement("p"), ...more);
      notices.append(line);
    }
    if (line.firstChild.textContent !== text) line.firstChild.textContent = text;
  },

  hush(kind) {
    for (const line of document.querySelectorAll("." + kind)) line.remove();
  },

  // What a form does, whichever time it was drawn: its address and what it carries, without the keys of this drawing.
  deedOf(form) {
    const carried = [...form.querySelectorAll("input[type=hidden]")];
    const told = carried.filter((each) => !["csrf_token", "operation_key"].includes(each.name));
    return [form.action, ...told.map((each) => each.name + "=" + each.value)].join(" ");
  },

  read(html) {
    return new DOMParser().parseFromString(html, "text/html");
  },

  // `address`: where the page came from, or null for one that has no address of its own (a refused form).
  show(html, address) {
    const next = page.read(html);
    page.shown += 1;
    if (address && address !== location.href) history.pushState(null, "", address);
    document.title = next.title;
    const body = document.body;
    for (const { name } of [...body.attributes]) body.removeAttribute(name);
    for (const { name, value } of next.body.attributes) body.setAttribute(name, value);
    body.replaceChildren(...next.body.childNodes);
    htmx.process(body);
    const part = address && new URL(address).hash && document.getElementById(new URL(address).hash.slice(1));
    if (part) part.scrollIntoView();
    else scrollTo(0, 0);
    const first = document.querySelector("[autofocus]") || document.getElementById("main");
    if (first) first.focus({ preventScroll: true });
    // A live region that arrives with its words is seldom read out; words that come into one that stands are.
    setTimeout(() => {
      for (const words of document.querySelectorAll("#notices .notice-words")) words.replaceWith(words.cloneNode(true));
    }, 200);
    document.dispatchEvent(new Event("page:shown"));
  },
};

// A page that was pushed is loaded afresh on the way back: what it showed is old.
addEventListener("popstate", () => location.reload());
