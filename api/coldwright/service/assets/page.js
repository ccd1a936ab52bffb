// What these pages do with a script: nothing that they could not do without one, only sooner.
"use strict";

// A start that changed is shown as it is now, unless somebody is filling in a form: then it only says so.
// Times are said in the zone of the device: whoever stands at the machine reads site time.
if (document.querySelector("main[data-live]") && !new URLSearchParams(location.search).has("tz")) {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if (zone) { const there = new URL(location); there.searchParams.set("tz", zone); location.replace(there); }
}

const main = document.querySelector("main[data-live]");
if (main && window.EventSource) {
  let edited = false;
  document.addEventListener("input", () => { edited = true; });
  const renew = async () => {
    const reply = await fetch(location.href, { headers: { Accept: "text/html" }, credentials: "same-origin" });
    if (!reply.ok) { return; }
    const next = new DOMParser().parseFromString(await reply.text(), "text/html");
    for (const part of ["header", "main", "footer"]) {
      const there = document.querySelector(part), then = next.querySelector(part);
      if (there && then) { there.replaceChildren(...then.childNodes); }
    }
    document.querySelector("header").className = next.querySelector("header").className;
    document.dispatchEvent(new Event("renewed"));
  };
  const source = new EventSource(main.dataset.live);
  let first = true;
  source.addEventListener("verdict", () => {
    if (first) { first = false; return; }
    if (edited) { const notice = document.getElementById("changed"); if (notice) { notice.hidden = false; } return; }
    renew();
  });
  window.setInterval(() => { if (!edited && !document.hidden) { renew(); } }, 60000);
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-copy]");
  if (button) { navigator.clipboard.writeText(document.getElementById(button.dataset.copy).textContent); button.textContent = button.dataset.done; }
});

// Finding in a long list: what does not have the words is hidden.
const find = document.querySelector("input[data-find]");
if (find) {
  find.addEventListener("input", () => {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const entry of document.querySelectorAll("[data-entry]")) {
      entry.hidden = !words.every((word) => entry.textContent.toLowerCase().includes(word));
    }
    for (const group of document.querySelectorAll("[data-group]")) {
      group.hidden = !group.querySelector("[data-entry]:not([hidden])");
    }
  });
}
