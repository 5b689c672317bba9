// Asks for the page anew and puts it in place of what is shown, keeping where the
// reader is. Says how old it is when it can't. Nothing here is needed to read.
"use strict";
const seconds = Number(document.currentScript.dataset.seconds);
let made = Date.parse(document.getElementById("made").dateTime);
let tag = null;

async function refresh() {
  if (document.hidden) return;
  try {
    const answer = await fetch(location.href, { headers: tag ? { "If-None-Match": tag } : {}, redirect: "error" });
    if (answer.status === 304) { made = Date.now(); return; }
    if (!answer.ok) return;
    tag = answer.headers.get("ETag");
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const active = document.activeElement && document.activeElement.id;
    document.getElementById("content").replaceWith(page.getElementById("content"));
    document.getElementById("made").replaceWith(page.getElementById("made"));
    if (active && document.getElementById(active)) document.getElementById(active).focus();
    made = Date.now();
  } catch (e) { /* said by tell */ }
}

function tell() {
  const age = Math.round((Date.now() - made) / 1000);
  const text = age > 3 * seconds ? ". This is " + Math.round(age / 60) + " min old: the service can't be reached." : "";
  const said = document.getElementById("age");
  if (said.textContent !== text) said.textContent = text;
  document.body.classList.toggle("old", text !== "");
}

// What is recorded is told at once; the interval is for when nobody tells.
let due = null;
function soon() {
  if (due === null) due = setTimeout(() => { due = null; refresh(); }, 1000);
}
const mill = location.pathname.match(/^\/board\/mills\/([^/]+)/);
new EventSource("/board/events" + (mill ? "?mill=" + mill[1] : "")).onmessage = soon;

setInterval(refresh, seconds * 1000);
setInterval(tell, 1000);
