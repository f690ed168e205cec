// What every module that draws something imports: the renderer, the signals,
// and the few parts that all pages are made of. A part is a function from its
// properties to html`…`; there is no other kind.

import { h } from "preact";
import { useEffect, useId, useLayoutEffect, useRef, useState } from "preact/hooks";
import htm from "htm";

export { render } from "preact";
export { useEffect, useId, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
export { batch, computed, effect, signal, useComputed, useSignal, useSignalEffect } from "@preact/signals";

/** html`<p>${text}</p>` makes what a part returns. Text is always escaped. */
export const html = htm.bind(h);

let opened = 0; // pages opened so far

/**
 * Page is one screen: it names the document, and takes the focus when it was
 * navigated to, so that a screen reader starts at its heading.
 */
export function Page({ title, lead, wide, children }) {
  const heading = useRef(null);
  useEffect(() => {
    document.title = `${title} · Fringework`;
  }, [title]);
  // Before the first paint, or a quick finger would meet a page that jumps.
  useLayoutEffect(() => {
    if (opened++ > 0) {
      scrollTo(0, 0);
      heading.current?.focus({ preventScroll: true });
    }
  }, []);
  return html`<main id="main" class=${wide ? "page wide" : "page"} tabindex="-1">
    <h1 ref=${heading} tabindex="-1">${title}</h1>
    ${lead && html`<p class="lead">${lead}</p>`}
    ${children}
  </main>`;
}

/** SkipLink is the first stop of the keyboard: past the navigation. */
export function SkipLink() {
  return html`<button type="button" class="skip" onClick=${() => document.getElementById("main")?.focus()}>Skip to the content</button>`;
}

/** Button does something; a link goes somewhere. kind is "main", "plain" or "quiet". */
export function Button({ kind = "plain", busy, disabled, children, class: more = "", ...rest }) {
  return html`<button type="button" class=${`button ${kind} ${more}`} aria-busy=${busy ? "true" : undefined}
    disabled=${busy || disabled} ...${rest}>${children}</button>`;
}

/**
 * Field is a labelled input with its hint and what is wrong with it. as is
 * "input", "textarea" or "select" (with options as children).
 */
export function Field({ label, hint, error, as = "input", children, class: more = "", ...rest }) {
  const id = useId();
  const about = [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(" ") || undefined;
  return html`<div class=${`field ${more}`}>
    <label for=${id}>${label}</label>
    ${hint && html`<p class="hint" id=${`${id}-hint`}>${hint}</p>`}
    ${h(as, { id, "aria-describedby": about, "aria-invalid": error ? "true" : undefined, ...rest }, children)}
    ${error && html`<p class="wrong" id=${`${id}-error`}>Wrong: ${error}</p>`}
  </div>`;
}

const prefix = { info: "Note", warn: "Take care", bad: "Not done", good: "Done" };

/**
 * Notice tells something out of the flow. kind is "info", "warn", "bad" or
 * "good"; the title says it in words, never the colour alone.
 */
export function Notice({ kind = "info", title, live, children }) {
  return html`<section class=${`notice ${kind}`} role=${live ? "status" : undefined}>
    <p class="notice-title">${title ?? prefix[kind]}</p>
    ${children && html`<div class="notice-body">${children}</div>`}
  </section>`;
}

/** Loading stands where something will be; it says what. */
export function Loading({ what }) {
  return html`<p class="loading" role="status">Loading ${what} …</p>`;
}

/** Failed tells why something could not be shown, and tries again. */
export function Failed({ what, problem, retry }) {
  return html`<${Notice} kind="bad" title=${`${what} could not be loaded`} live>
    <${Wrong} problem=${problem} />
    ${retry && html`<p><${Button} onClick=${retry}>Try again</${Button}></p>`}
  </${Notice}>`;
}

/** Wrong shows a problem in the service's own words. */
export function Wrong({ problem }) {
  if (!problem) return null;
  return html`<div class="wrongs">
    <p>${problem.detail ?? problem.message}</p>
    ${problem.status >= 500 && problem.requestID && html`<p class="small">request_id ${problem.requestID}</p>`}
    ${problem.errors?.length > 0 && html`<ul>${problem.errors.map((e) => html`<li>${placeOf(e)}${e.detail}</li>`)}</ul>`}
  </div>`;
}

function placeOf(error) {
  const at = (error.pointer || error.parameter || "").split("/").filter(Boolean);
  // Positions count from 0 in a pointer and from 1 for people.
  const words = at.map((part) => (/^\d+$/.test(part) ? String(Number(part) + 1) : part.replaceAll("_", " ")));
  return words.length ? `${words.join(" ")}: ` : "";
}

/**
 * useSend runs something that may be refused, one at a time:
 *
 *     const save = useSend(() => api.post("/v1/skills", skill));
 *     html`<${Button} busy=${save.busy} onClick=${save.run}>Save</${Button}><${Wrong} problem=${save.problem} />`
 *
 * save.at("/name") is what is wrong at a JSON pointer, for a Field's error.
 */
export function useSend(fn) {
  const [state, set] = useState({ busy: false, problem: null });
  const alive = useRef(true);
  useEffect(() => () => (alive.current = false), []);
  const run = async (event) => {
    event?.preventDefault?.();
    if (state.busy) return;
    set({ busy: true, problem: null });
    let problem = null;
    try {
      await fn();
    } catch (e) {
      problem = e;
      if (!e.known) console.error(e);
    }
    if (alive.current) set({ busy: false, problem });
  };
  const at = (pointer) => state.problem?.errors?.find((e) => e.pointer === pointer)?.detail;
  return { ...state, run, at };
}

/**
 * Dialog is a modal question. It closes on Escape, and gives the focus back.
 */
export function Dialog({ title, onClose, children }) {
  const ref = useRef(null);
  const id = useId();
  useEffect(() => {
    ref.current.showModal();
    return () => ref.current?.close();
  }, []);
  return html`<dialog ref=${ref} aria-labelledby=${id} onCancel=${(e) => (e.preventDefault(), onClose())}>
    <h2 id=${id}>${title}</h2>
    ${children}
  </dialog>`;
}

/** useNow gives the time in milliseconds, again at every step of so many. */
export function useNow(step) {
  const [now, set] = useState(Date.now());
  useEffect(() => {
    const tick = () => set(Date.now());
    const timer = setInterval(tick, step);
    document.addEventListener("visibilitychange", tick);
    return () => {
      clearInterval(timer);
      document.removeEventListener("visibilitychange", tick);
    };
  }, [step]);
  return now;
}
