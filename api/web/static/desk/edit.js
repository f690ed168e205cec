// Small parts of the programme editor.

import { Button, Field, html, useLayoutEffect, useRef, useState } from "../base/ui.js";
import { useNarrow } from "./narrow.js";

/** here is what is told at a place, without naming the place. */
const here = ({ place, detail }) => (place ? detail.slice(place.length + 2) : detail);

const capital = (text) => text[0].toUpperCase() + text.slice(1);

/**
 * atOf gives a function from the rest of a pointer to what a Field needs: a
 * handle to be found by, and what is wrong there.
 */
export function atOf(problems, base) {
  return (rest) => {
    const pointer = base + rest;
    const found = problems.find((p) => p.pointer === pointer) ?? problems.find((p) => p.pointer.startsWith(`${pointer}/`) && !/\/(weeks|plans|blocks)$/.test(pointer));
    return { "data-at": pointer, error: found && here(found) };
  };
}

/** Wrongs are the problems at exactly one place that is no field. */
export function Wrongs({ problems, at }) {
  const list = problems.filter((p) => p.pointer === at);
  return html`<div data-at=${at} tabindex="-1" class="wrongs-at">${list.map((p) => html`<p class="wrong" key=${p.detail}>${capital(here(p))}.</p>`)}</div>`;
}

/** Remarks are what the service would have the coach look at, at a place and within it unless that is shown elsewhere. */
export function Remarks({ warnings, at, except = /^$/ }) {
  const list = warnings.filter((w) => w.pointer === at || (w.pointer.startsWith(`${at}/`) && !except.test(w.pointer.slice(at.length))));
  if (list.length === 0) return null;
  return html`<ul class="remarks">${list.map((w) => html`<li key=${w.pointer + w.detail}>${capital(here(w))}.</li>`)}</ul>`;
}

/** countsWithin says how much there is to do, and to look at, at a place and within it. */
export function countsWithin(base, problems, warnings) {
  const within = (list) => list.filter((p) => p.pointer === base || p.pointer.startsWith(`${base}/`)).length;
  return [[within(problems), "to do"], [within(warnings), "to look at"]].filter(([n]) => n > 0).map(([n, what]) => `${n} ${what}`);
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
      found.scrollIntoView({ block: found.tagName === "DETAILS" ? "start" : "center" });
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

/** useOpened gives which entries of a list are open, and what moves that along with them. */
export function useOpened(first) {
  const [opened, set] = useState(first);
  const change = (fn) => set((all) => {
    const now = [...all];
    fn(now);
    return now;
  });
  return {
    is: (i) => Boolean(opened[i]),
    set: (i, on) => opened[i] !== on && change((all) => (all[i] = on)),
    moved: (i, by) => change((all) => moved(all, i, by)),
    added: (i) => change((all) => {
      while (all.length < i) all.push(false);
      all.splice(i, 0, true);
    }),
    removed: (i) => change((all) => all.splice(i, 1)),
  };
}

/** What the focus is to follow: the place that an entry has moved to, and the button that moved it. */
let following = null;

/**
 * Reorder is what can be done with an entry of a list. group names the list;
 * the focus stays with an entry that is moved. On a phone it is folded.
 */
export function Reorder({ what, group, index, length, onMove, onCopy, onRemove, children }) {
  const ref = useRef(null);
  const narrow = useNarrow();
  const unfold = (open) => narrow && (ref.current.parentElement.open = open);
  useLayoutEffect(() => {
    if (following?.group !== group || following.index !== index) return;
    unfold(true);
    const [up, down] = ref.current.querySelectorAll("button");
    ((following.by < 0 && !up.disabled) || down.disabled ? up : down).focus();
    following = null;
  });
  const move = (by) => {
    following = { group, index: index + by, by };
    unfold(false);
    onMove(by);
  };
  const buttons = html`<div class="row reorder" ref=${ref}>
    ${length > 1 && html`<${Button} class="small-button" aria-label=${`Move up ${what}`} disabled=${index === 0} onClick=${() => move(-1)}>Move up</${Button}>
    <${Button} class="small-button" aria-label=${`Move down ${what}`} disabled=${index === length - 1} onClick=${() => move(1)}>Move down</${Button}>`}
    <${Button} class="small-button" aria-label=${`Copy ${what}`} onClick=${onCopy}>Copy</${Button}>
    <${Button} class="small-button" aria-label=${`Remove ${what}`} onClick=${onRemove}>Remove</${Button}>${children}</div>`;
  return narrow ? html`<details class="reorder-fold"><summary class="button small-button" aria-label=${`More for ${what}`}>More</summary>${buttons}</details>` : buttons;
}

/** How near to the edge of the window a drag scrolls, and how far at a time, in pixels. */
const EDGE = 90;
const SCROLL = 12;

/**
 * Grip drags an entry of a list to another place; the entries are the elements
 * with data-entry=group, in order. The keyboard has the buttons of Reorder.
 */
export function Grip({ group, index, length, onMove }) {
  if (length < 2) return null;
  return html`<span class="grip" title="Drag to another place" aria-hidden="true" onClick=${(e) => e.preventDefault()} onPointerDown=${(e) => e.button === 0 && drag(e, group, index, onMove)}></span>`;
}

function drag(start, group, index, onMove) {
  start.preventDefault();
  const all = [...document.querySelectorAll("[data-entry]")].filter((e) => e.dataset.entry === group);
  const mine = all[index];
  const others = all.filter((e) => e !== mine);
  let y = start.clientY;
  let to = index;
  const look = () => {
    to = others.filter((e) => e.getBoundingClientRect().top + e.getBoundingClientRect().height / 2 < y).length;
    others.forEach((e, i) => {
      e.classList.toggle("drop-above", to !== index && i === to);
      e.classList.toggle("drop-below", to !== index && to === others.length && i === to - 1);
    });
  };
  const move = (e) => {
    y = e.clientY;
    look();
  };
  let frame;
  const scroll = () => {
    frame = requestAnimationFrame(scroll);
    const by = y < EDGE ? -SCROLL : y > innerHeight - EDGE ? SCROLL : 0;
    if (by) scrollBy(0, by), look();
  };
  const end = (e) => {
    if (e.type === "keydown" && e.key !== "Escape") return;
    cancelAnimationFrame(frame);
    stop.abort();
    mine.classList.remove("dragged");
    others.forEach((o) => o.classList.remove("drop-above", "drop-below"));
    if (e.type === "pointerup" && to !== index) onMove(to - index);
  };
  const stop = new AbortController();
  const { signal } = stop;
  addEventListener("pointermove", move, { signal });
  for (const kind of ["pointerup", "pointercancel", "keydown"]) addEventListener(kind, end, { signal });
  mine.classList.add("dragged");
  scroll();
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
