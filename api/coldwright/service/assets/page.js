// What these pages do with a script: nothing that they could not do without one, only sooner.
"use strict";

// A start that changed is shown as it is now, unless somebody is filling in a form: then it only says so.
// Times are said in the zone of the device: whoever stands at the machine reads site time.
if (document.querySelector("main[data-live]") && !new URLSearchParams(location.search).has("tz")) {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if (zone) { const there = new URL(location); there.searchParams.set("tz", zone); location.replace(there); }
}

const main = document.querySelector("main[data-live]");
let edited = false;
document.addEventListener("input", () => { edited = true; });
document.addEventListener("toggle", (event) => {
  if (event.target.open && event.target.closest(".screen")) { edited = true; }  // somebody looks for a form
}, true);

const parsed = (text) => new DOMParser().parseFromString(text, "text/html");
const said = (page) => {  // all but the forms
  const main = page.querySelector("main").cloneNode(true);
  for (const form of main.querySelectorAll(".screen")) { form.remove(); }
  return main.textContent.replace(/\s+/g, " ");
};
const nameOf = (details) => details.querySelector("summary").textContent;
const show = (next) => {
  const open = new Set([...document.querySelectorAll("main details[open]")].map(nameOf));
  for (const part of ["header", "main", "footer"]) {
    const there = document.querySelector(part), then = next.querySelector(part);
    if (there) { there.replaceChildren(...(then ? then.childNodes : [])); }
  }
  for (const details of document.querySelectorAll("main details")) {
    if (open.has(nameOf(details))) { details.open = true; }
  }
  document.querySelector("header").className = next.querySelector("header").className;
  document.title = next.title;
  document.dispatchEvent(new Event("renewed"));
};

if (main && window.EventSource) {
  const renew = async () => {
    const reply = await fetch(location.href, { headers: { Accept: "text/html" }, credentials: "same-origin" }).catch(() => null);
    if (!reply || !reply.ok || reply.redirected) { return; }
    const next = parsed(await reply.text());
    if (!edited) { show(next); return; }
    const notice = document.getElementById("changed");
    if (notice && said(next) !== said(document)) { notice.hidden = false; }
  };
  const source = new EventSource(main.dataset.live);
  let first = true;
  source.addEventListener("verdict", () => {
    if (first) { first = false; return; }
    renew();
  });
  window.setInterval(() => { if (!document.hidden) { renew(); } }, 60000);
}

// A record is sent without leaving the page: whatever fails, what was entered stays, and what is sent twice counts once.
const SECONDS = 20;
const post = (form) => {
  const sent = { method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "text/html" } };
  return fetch(form.action, { ...sent, credentials: "same-origin", signal: AbortSignal.timeout(SECONDS * 1000) });
};
// The service was started anew, or somebody signed in again: the form gets the token of now.
const retoken = async (form) => {
  const page = await (await fetch(location.href, { headers: { Accept: "text/html" }, credentials: "same-origin" })).text();
  const token = parsed(page).querySelector("form.record [name=form_token]");
  if (token) { form.elements.form_token.value = token.value; }
};
document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form.record");
  if (!form) { return; }
  event.preventDefault();
  if (form.dataset.sending) { return; }
  const button = form.querySelector("button"), label = button.textContent;
  const say = (which) => { for (const p of form.querySelectorAll("[data-unsent]")) { p.hidden = p.dataset.unsent !== which; } };
  form.dataset.sending = "yes";
  button.textContent = button.dataset.sending;
  say("");
  try {
    let reply = await post(form);
    if (reply.status === 403) { await retoken(form); reply = await post(form); }
    if (reply.status === 401) { say("ended"); return; }
    if (reply.status === 429 || reply.status >= 500) { throw new Error(reply.statusText); }
    const text = await reply.text();
    if (reply.redirected) { history.pushState(null, "", reply.url); }
    edited = reply.status === 422;
    show(parsed(text));
    window.scrollTo(0, 0);
  } catch {
    say("failed");
  } finally {
    delete form.dataset.sending;
    button.textContent = label;
  }
});
window.addEventListener("popstate", () => location.reload());

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-copy]");
  if (button) { navigator.clipboard.writeText(document.getElementById(button.dataset.copy).textContent); button.textContent = button.dataset.done; }
});

// An office reads the times of its machines on its own clock, with the zone beside them; without a script they are in UTC.
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const onOwnClock = (whole, hour, minute, _day, day, month) => {
  const now = new Date(), at = new Date(now);
  at.setUTCHours(Number(hour), Number(minute), 0, 0);
  if (day) { at.setUTCMonth(MONTHS.indexOf(month), Number(day)); }
  const shown = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZoneName: "short" };
  if (at.toDateString() !== now.toDateString()) { shown.day = "numeric"; shown.month = "short"; }
  return at.toLocaleString(document.documentElement.lang || "en", shown);
};
for (const text of document.querySelectorAll("main[data-zoned] .card p")) {
  for (const node of text.childNodes) {
    if (node.nodeType === Node.TEXT_NODE) {
      node.data = node.data.replace(/\b(\d\d):(\d\d)(, (\d{1,2}) ([A-Z][a-z]{2}))? UTC\b/g, onOwnClock);
    }
  }
}

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
