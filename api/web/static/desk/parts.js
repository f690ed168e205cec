// Parts that several pages of the desk share.

import { fetched, kept } from "../base/load.js";
import { count, day, dayTime, isoDay, number, percent, span } from "../base/units.js";
import { tierText } from "../base/words.js";
import { Button, Dialog, Failed, html, Loading, useEffect, useRef, useSend, useState, Wrong } from "../base/ui.js";

/**
 * useAll gives { items, at, loading, problem, reload } of a list, all its pages
 * put together; items is undefined until something is known. An empty path loads
 * nothing.
 */
export function useAll(path) {
  const [state, set] = useState({ path: null, loading: true });
  const turn = useRef(0);
  const run = async (ask) => {
    const mine = ++turn.current;
    const show = (change) => turn.current === mine && set((s) => ({ ...(s.path === path ? s : { path }), ...change }));
    const before = await pages(path, kept);
    if (before) show({ items: before.items, at: before.at });
    if (!ask) return;
    show({ loading: true });
    try {
      show({ ...(await pages(path, fetched)), loading: false, problem: null });
    } catch (e) {
      if (!e.known) console.error(e);
      show({ loading: false, problem: e });
    }
  };
  useEffect(() => {
    if (path) run(true);
    return () => turn.current++;
  }, [path]);
  const current = state.path === path ? state : { loading: Boolean(path) };
  return { ...current, reload: () => run(true) };
}

/** pages follows a list to its end; undefined when a page is not there. */
async function pages(path, read) {
  const items = [];
  let at = Infinity;
  for (let next = path; next; ) {
    const page = await read(next);
    if (!page) return undefined;
    items.push(...page.body.items);
    at = Math.min(at, page.at);
    next = page.body.links?.next;
  }
  return { items, at };
}

/**
 * Missing stands for what is not there yet: loading, or why it failed. from is
 * what useLoad or useAll gave.
 */
export function Missing({ what, from }) {
  if (from.body || from.items) return null;
  if (from.problem) return html`<${Failed} what=${what[0].toUpperCase() + what.slice(1)} problem=${from.problem} retry=${from.reload} />`;
  return html`<${Loading} what=${what} />`;
}

/** AsOf tells that what is shown is not fresh, and why. */
export function AsOf({ from }) {
  if (!from.problem || !(from.body || from.items)) return null;
  return html`<p class="as-of" role="status">As of ${dayTime(from.at)}. ${from.problem.detail}</p>`;
}

/** agoText says how long ago an instant was: "3 days ago", "today". */
export function agoText(when, now = Date.now()) {
  const ms = now - Date.parse(when);
  if (ms < 60_000) return "just now";
  const days = Math.round((Date.parse(isoDay(now)) - Date.parse(isoDay(when))) / 86_400_000);
  if (days === 1) return "yesterday";
  return days > 1 ? `${span(days * 86_400_000)} ago` : `${span(ms)} ago`;
}

/** seenText says when a student was last seen. */
export const seenText = (lastAt) => (lastAt ? `last session ${day(lastAt)}, ${agoText(lastAt)}` : "no session yet");

/** ladderText says where a student stands at a skill's steps. */
export function ladderText(skill) {
  if (!skill.tiers) return "No steps.";
  if (!skill.next_tier) return `All ${skill.tiers} steps passed.`;
  const held = skill.held_tier ? `Passed ${tierText(skill.held_tier)}. ` : "";
  return `${held}Next ${tierText(skill.next_tier)} (step ${skill.held + 1} of ${skill.tiers}).`;
}

const phases = {
  running: "running", paused: "paused", finished: "finished", ended: "ended",
};

/** positionText says where an assignment stands: "week 2 of 6, day 3". */
export function positionText({ position, weeks }) {
  if (position.phase === "running") return `week ${position.week} of ${weeks}, day ${position.day}`;
  if (position.phase === "paused") return `paused in week ${position.week || 1} of ${weeks}${position.until ? ` until ${day(position.until)}` : ""}`;
  if (position.phase === "upcoming") return position.from ? `starts on ${day(position.from)}` : "not begun";
  return phases[position.phase] ?? position.phase;
}

/** progressText adds the sessions done, and those due by now, once there are any. */
export function progressText(a) {
  if (!a.planned && !a.done) return positionText(a);
  if (active(a)) return `${positionText(a)}, ${count(a.done, "session")} done, ${a.planned} due by now`;
  return `${positionText(a)}, ${a.done} of ${count(a.planned, "session")} done`;
}

/** active tells whether an assignment still asks something of its student. */
export const active = (a) => ["upcoming", "running", "paused"].includes(a.position.phase);

/** oddsText writes a probability with the care that small ones need. */
export const oddsText = (p) => (p > 0 && p < 0.095 && p >= 0.005 ? `${number(100 * p, 1)} %` : percent(p));

/** today is the date of now in the reader's time zone, "2026-05-04". */
export const today = () => isoDay(Date.now());

/** nextMonday is the first Monday after today, "2026-05-04". */
export function nextMonday() {
  const d = new Date(`${today()}T00:00:00Z`);
  d.setUTCDate(d.getUTCDate() + ((8 - d.getUTCDay()) % 7 || 7));
  return d.toISOString().slice(0, 10);
}

/**
 * Ask is a dialog with one thing to do: its fields, what went wrong, and two
 * buttons. onDo may be refused; when it was done, onClose is called.
 */
export function Ask({ title, verb, onDo, onClose, children }) {
  const send = useSend(async () => {
    await onDo();
    onClose(true);
  });
  const fields = typeof children === "function" ? children(send) : children;
  return html`<${Dialog} title=${title} onClose=${() => onClose(false)}>
    <form onSubmit=${send.run}>
      ${fields}
      <div role="alert"><${Wrong} problem=${send.problem} /></div>
      <div class="row"><${Button} kind="main" type="submit" busy=${send.busy}>${verb}</${Button}>
        <${Button} onClick=${() => onClose(false)}>Cancel</${Button}></div>
    </form>
  </${Dialog}>`;
}

/** copied writes text to the clipboard; it gives whether that worked. */
export async function copied(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}

/** CopyButton copies a text and says so. */
export function CopyButton({ text, label }) {
  const [said, say] = useState("");
  const copy = async () => say((await copied(text)) ? "Copied." : "Could not copy; select the text and copy it.");
  return html`<${Button} onClick=${copy}>${label}</${Button}> <span role="status">${said}</span>`;
}

/**
 * useKeptFocus gives [ref, heading]: when what had the focus within ref goes
 * away, the focus is taken to heading instead of being lost.
 */
export function useKeptFocus() {
  const ref = useRef(null);
  const heading = useRef(null);
  const inside = useRef(false);
  useEffect(() => {
    const look = () => (inside.current = Boolean(ref.current?.contains(document.activeElement)));
    document.addEventListener("focusin", look);
    return () => document.removeEventListener("focusin", look);
  }, []);
  useEffect(() => {
    if (inside.current && document.activeElement === document.body) heading.current?.focus();
  });
  return [ref, heading];
}

/** Subnav is the places within a tab. */
export function Subnav({ label, places, current }) {
  return html`<nav class="subnav screen-only" aria-label=${label}><ul>${places.map(
    ([href, text]) => html`<li><a href=${href} aria-current=${href === current ? "page" : undefined}>${text}</a></li>`,
  )}</ul></nav>`;
}
