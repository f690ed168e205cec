// The line that is always there: what has not been sent, whether the phone's
// clock is wrong, and whether a newer version is ready.

import { ended, signedIn } from "./api.js";
import { whose } from "./db.js";
import { clockOff, flush, parked, sending, sessions, waiting } from "./outbox.js";
import { newer, useNewer } from "./update.js";
import { count, span } from "./units.js";
import { Button, html, Notice, useEffect, useState } from "./ui.js";

/** sendingText says in words how the queue does; nothing until it is known. */
export function sendingText() {
  if (!sessions.value) return "";
  const n = waiting.value.length - parked.value.length;
  const one = waiting.value.every((r) => r.kind) ? "round" : "session";
  if (parked.value.length) return `${count(parked.value.length, one)} refused: see History`;
  if (n === 0) return "All sent";
  const what = `${count(n, one)} not sent`;
  if (sending.value === "sign-in") return `${what}: sign in again`;
  if (sending.value === "offline") return `${what}: no answer yet, kept on this phone`;
  return waiting.value.every((r) => r.waits) ? `${what}: see History` : `${what} yet, sending`;
}

/** Sending is that line. */
export function Sending() {
  const bad = parked.value.length > 0 || sending.value === "sign-in";
  return html`<p class=${`sending ${waiting.value.length ? "unsent" : ""} ${bad ? "bad" : ""}`} role="status">${sendingText()}</p>`;
}

/** Banners are what a person should know wherever they are. */
export function Banners({ signInAt }) {
  return html`<div class="banners">
    ${clockOff.value !== 0 && html`<${Notice} kind="warn" title=${`This phone's clock is ${span(clockOff.value)} ${clockOff.value > 0 ? "slow" : "fast"}`}>
      <p>Sessions are stored with the right time. Set the phone to the network's time when you can.</p>
    </${Notice}>`}
    ${signedIn.value === "no" && html`<${Notice} kind="warn" title="You are signed out">
      <p>${ended.value} What you log is kept on this phone and sent once you <a href=${signInAt}>sign in again</a>.</p>
    </${Notice}>`}
    <${Elsewhere} key=${whose.value} /><${Lately} key=${signedIn.value} />
    ${newer.value && html`<${Notice} title="A newer version of these pages is ready">
      <p><${Button} onClick=${useNewer}>Use it now</${Button}></p>
    </${Notice}>`}
  </div>`;
}

/** Elsewhere loads what to say of others at this phone, if there are any. */
function Elsewhere() {
  const [part, set] = useState(null);
  useEffect(() => {
    // One database says who is at the phone, one is the member's own.
    indexedDB.databases?.().then((all) => all.length > 2 && import("./elsewhere.js").then(set)).catch(() => {});
  }, []);
  return part && html`<${part.Elsewhere} />`;
}

/** Lately loads what a person is told at a sign-in, if there is anything. */
export function Lately() {
  const [part, set] = useState(null);
  useEffect(() => {
    if (localStorage.getItem("told")) import("./told.js").then(set);
  }, []);
  return part && html`<${part.Told} />`;
}

/** SendNow tries to send at once. */
export function SendNow() {
  return html`<${Button} busy=${sending.value === "sending"} onClick=${flush}>Send now</${Button}>`;
}
