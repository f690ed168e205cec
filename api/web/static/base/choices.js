// What one chooses from: one of several, and what is on or off.

import { html, useId } from "./ui.js";

/** Choice is a set of radio buttons. options are [value, label] pairs. */
export function Choice({ label, hint, value, options, onChange }) {
  const name = useId();
  return html`<fieldset class="choice">
    <legend>${label}</legend>
    ${hint && html`<p class="hint">${hint}</p>`}
    <div class="options">${options.map(
      ([v, text]) => html`<label class="option"><input type="radio" name=${name} value=${v} checked=${v === value}
        onChange=${() => onChange(v)} /><span>${text}</span></label>`,
    )}</div>
  </fieldset>`;
}

/** Switch is one thing that is on or off. */
export function Switch({ label, hint, on, onChange }) {
  const id = useId();
  return html`<div class="switch">
    <label class="option"><input type="checkbox" checked=${on} aria-describedby=${hint ? id : undefined}
      onChange=${(e) => onChange(e.currentTarget.checked)} /><span>${label}</span></label>
    ${hint && html`<p class="hint" id=${id}>${hint}</p>`}
  </div>`;
}
