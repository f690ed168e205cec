// What others who use this device have left on it, unsent: the same person in
// another academy, or somebody else.

import { who } from "./account.js";
import { whose } from "./db.js";
import { isMine, keptHere, whatOf, whomOf } from "./kept.js";
import { SignIn } from "./signin.js";
import { GoThere } from "./signout.js";
import { Button, html, Notice, useEffect, useState } from "./ui.js";

export function Elsewhere() {
  const [kept, set] = useState([]);
  useEffect(() => void keptHere().then((all) => set(all.filter((m) => m.id !== whose.value)), console.error), [whose.value]);
  return kept.map((m) => html`<${Notice} key=${m.id} kind="warn" title=${`${whomOf(m)}: ${whatOf(m)}`}>
    ${isMine(m)
      ? html`<p>Kept on this device, and sent once you are there.</p><p><${GoThere} to=${m.person.membership} /></p>`
      : html`<p>Kept on this device, and sent once that person signs in here. Signing out would throw it away.</p>${m.person && html`<${SignInAs} account=${m.person.account} />`}`}
  </${Notice}>`);
}

/** SignInAs signs somebody else in, without wiping what is kept here. */
function SignInAs({ account }) {
  const [asking, ask] = useState(false);
  if (asking) return html`<${SignIn} email=${account.email} />`;
  return html`<p><${Button} onClick=${() => ask(true)}>Sign in as ${account.name}</${Button}></p>`;
}
