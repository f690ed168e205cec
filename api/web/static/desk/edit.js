// Small parts of the programme editor.

import { Button, Field, html, useState } from "../base/ui.js";

/**
 * atOf gives a function from the rest of a pointer to what a Field needs: a
 * handle to be found by, and what is wrong there.
 */
export function atOf(problems, base) {
  return (rest) => {
    const pointer = base + rest;
    const found = problems.find((p) => p.pointer === pointer) ?? problems.find((p) => p.pointer.startsWith(`${pointer}/`) && !/\/(weeks|plans|blocks)$/.test(pointer));
    return { "data-at": pointer, error: found?.detail };
  };
}

/** Wrongs are the problems at exactly one place that is no field. */
export function Wrongs({ problems, at }) {
  const list = problems.filter((p) => p.pointer === at);
  return html`<div data-at=${at} tabindex="-1" class="wrongs-at">${list.map((p) => html`<p class="wrong" key=${p.detail}>${p.detail}</p>`)}</div>`;
}

/** show opens what hides the field at a pointer, and goes there. */
export function show(pointer, tries = 3) {
  const all = [...document.querySelectorAll("[data-at]")];
  for (let at = pointer; ; at = at.slice(0, at.lastIndexOf("/"))) {
    const found = all.find((e) => e.dataset.at === at);
    for (let e = found; e; e = e.parentElement) if (e.tagName === "DETAILS") e.open = true;
    // What is in a closed week is drawn only once it is open.
    if (found && at !== pointer && tries > 0) return setTimeout(() => show(pointer, tries - 1), 50);
    if (found) {
      found.scrollIntoView({ block: "center" });
      return (found.tagName === "DETAILS" ? found.firstElementChild : found).focus();
    }
    if (!at) return undefined;
  }
}

/** moved moves an entry of a list by so many places. */
export function moved(list, index, by) {
  const [entry] = list.splice(index, 1);
  list.splice(index + by, 0, entry);
}

/** Reorder is what can be done with an entry of a list. */
export function Reorder({ what, index, length, onMove, onCopy, onRemove }) {
  return html`<div class="row reorder">
    <${Button} class="small-button" aria-label=${`Move ${what} up`} disabled=${index === 0} onClick=${() => onMove(-1)}>Up</${Button}>
    <${Button} class="small-button" aria-label=${`Move ${what} down`} disabled=${index === length - 1} onClick=${() => onMove(1)}>Down</${Button}>
    <${Button} class="small-button" aria-label=${`Copy ${what}`} onClick=${onCopy}>Copy</${Button}>
    <${Button} class="small-button" aria-label=${`Remove ${what}`} onClick=${onRemove}>Remove</${Button}></div>`;
}

/**
 * Parsed is a text field for a value that is written some way: parse gives null
 * for text that says nothing, which is told and not taken.
 */
export function Parsed({ value, parse, write, wrong, error, onValue, ...rest }) {
  const [text, setText] = useState(write(value));
  const read = parse(text);
  // The value changed from outside: by undoing, moving, or the service.
  const stale = read !== null && JSON.stringify(read) !== JSON.stringify(value);
  const [typed, setTyped] = useState(false);
  const shown = stale && !typed ? write(value) : text;
  const input = (e) => {
    const now = e.currentTarget.value;
    setTyped(true);
    setText(now);
    const v = parse(now);
    if (v !== null) onValue(v);
  };
  const leave = () => {
    setTyped(false);
    if (read !== null) setText(write(value));
  };
  return html`<${Field} ...${rest} value=${shown} error=${typed && read === null ? wrong : read === null ? wrong : error} onInput=${input} onBlur=${leave} />`;
}
