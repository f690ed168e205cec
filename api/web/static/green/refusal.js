// A session or round that the service refused or cannot take yet: its words, and
// what can be done. The data stay on the phone whatever is chosen.

import { drop, insist, retry } from "../base/outbox.js";
import { Button, Dialog, html, Notice, useState, Wrong } from "../base/ui.js";

/** Waits says why a session or round waits, if it does. */
export function Waits({ record }) {
  return record.waits && html`<p>${record.waits} It goes by itself then.</p>`;
}

/** Refusal shows one that was refused. */
export function Refusal({ record }) {
  const [asking, ask] = useState(false);
  const { parked } = record;
  const what = record.kind ? "round" : "session";
  return html`<${Notice} kind="bad" title=${`The service has not taken this ${what}`}>
    <${Wrong} problem=${parked} />
    <p>It is kept on this phone.</p>
    <p class="row">
      <${Button} onClick=${() => retry(record.id)}>Send again</${Button}>
      ${parked.stored?.revision >= record.revision && html`<${Button} onClick=${() => insist(record.id)}>Let this phone's version stand</${Button}>`}
      <${Button} onClick=${() => ask(true)}>Throw it away</${Button}>
    </p>
    ${asking && html`<${Dialog} title=${`Throw this ${what} away?`} onClose=${() => ask(false)}>
      <p>What this phone has of it cannot be brought back.</p>
      <div class="stack"><${Button} onClick=${() => drop(record.id)}>Throw it away</${Button}><${Button} kind="main" onClick=${() => ask(false)}>Keep it</${Button}></div>
    </${Dialog}>`}
  </${Notice}>`;
}
