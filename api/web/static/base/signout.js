// The button to sign out, and the question before: it says all that would be lost.

import { who } from "./account.js";
import { whose } from "./db.js";
import { isMine, keptHere, whatOf, whomOf } from "./kept.js";
import { signOut } from "./leave.js";
import { moveTo } from "./me.js";
import { flush, waiting } from "./outbox.js";
import { Button, Dialog, html, Loading, useEffect, useSend, useState, Wrong } from "./ui.js";

export function SignOut() {
  const [asking, ask] = useState(false);
  return html`<h3>Sign out</h3>
    <p>All that is kept here, of everybody who has signed in on this device, will be erased.</p>
    <${Button} onClick=${() => ask(true)}>Sign out</${Button}>
    ${asking && html`<${Question} onClose=${() => ask(false)} />`}`;
}

function Question({ onClose }) {
  const [kept, set] = useState(null);
  const member = who.value?.membership?.member_id;
  useEffect(() => void keptHere().then(set, (e) => (console.error(e), set([]))), [waiting.value.length, member]);
  const out = useSend(async () => {
    await signOut();
    location.assign("/");
  });
  return html`<${Dialog} title="Sign out?" onClose=${onClose}>
    ${kept ? html`<${Unsent} kept=${kept} />` : html`<${Loading} what="what is unsent" />`}
    <div class="stack">
      ${kept?.some((m) => m.id === whose.value && m.sessions) && html`<${Button} kind="main" onClick=${flush}>Send first</${Button}>`}
      ${kept?.filter((m) => m.id !== whose.value && isMine(m)).map((m) => html`<${GoThere} key=${m.id} to=${m.person.membership} />`)}
      <${Button} kind=${kept?.length ? "plain" : "main"} disabled=${!kept} busy=${out.busy} onClick=${out.run}>${kept?.length ? "Throw away and sign out" : "Sign out"}</${Button}>
      <${Button} onClick=${onClose}>Stay signed in</${Button}>
    </div><${Wrong} problem=${out.problem} />
  </${Dialog}>`;
}

function Unsent({ kept }) {
  if (!kept.length) return html`<p>Everything is sent. What is kept here will be erased.</p>`;
  return html`${kept.map((m) => html`<p><strong>${m.id !== whose.value && `${whomOf(m)}: `}${whatOf(m)}.</strong></p>`)}
    <p>Signing out now throws ${kept.length === 1 && kept[0].sessions + kept[0].drafts === 1 ? "it" : "them"} away.</p>`;
}

/** GoThere moves to another academy of this account, which sends what waits for it. */
export function GoThere({ to }) {
  const go = useSend(() => moveTo(to.academy_id));
  return html`<${Button} kind="main" busy=${go.busy} onClick=${go.run}>Go to ${to.academy_name}</${Button}><${Wrong} problem=${go.problem} />`;
}
