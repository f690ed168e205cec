// Sessions on their way to the service; README.md tells what is kept of one.
// Everything goes through store and change here, so that the person always sees
// what is unsent.

import * as api from "./api.js";
import * as db from "./db.js";
import { onTold, tell } from "./bus.js";
import { computed, effect, signal } from "./ui.js";

/** How far a clock must be off before times are corrected, in milliseconds. */
export const CLOCK_TOLERANCE = 120_000;

/** sessions are the records of this device, latest start first; null until read. */
export const sessions = signal(null);

/** waiting are those that the service has not taken yet. */
export const waiting = computed(() => (sessions.value ?? []).filter((r) => r.unsent));

/** parked are those of them that the service refused. */
export const parked = computed(() => waiting.value.filter((r) => r.parked));

/** sending tells how the queue does: "idle", "sending", "offline" or "sign-in". */
export const sending = signal("idle");

/** clockOff is how far this device's clock is off, in milliseconds; 0 within tolerance. */
export const clockOff = computed(() => {
  const offset = api.clockOffset.value ?? 0;
  return Math.abs(offset) > CLOCK_TOLERANCE ? offset : 0;
});

/** store keeps a record whole and sends it before long. */
export async function store(record) {
  changed(await db.write("sessions", record));
}

/** change keeps fn(record) of the record that stands, as one step; see db.change. */
export async function change(id, fn) {
  const known = sessions.peek()?.find((r) => r.id === id);
  const record = await (known ? db.changeFrom(known, fn) : db.change("sessions", id, fn));
  changed(record);
  return record;
}

/** drop forgets a record. */
export async function drop(id) {
  await db.remove("sessions", id);
  sessions.value = sessions.value?.filter((r) => r.id !== id);
  tell("sessions", id);
}

/** revised gives the record as its next revision, to be sent. */
export function revised(record, edit) {
  return { ...record, ...edit, revision: record.revision + 1, unsent: 1, parked: null, note: null, changed: Date.now() };
}

/** changed shows a record in the list, tells the other tabs, and sends before long. */
function changed(record) {
  if (!record) return;
  if (sessions.value) sessions.value = sorted([record, ...sessions.value.filter((r) => r.id !== record.id)]);
  tell("sessions", record.id);
  if (record.unsent && !record.parked) soon(record.waits ? ASK : GATHER);
}

const sorted = (list) => list.sort((a, b) => Date.parse(b.content.started_at) - Date.parse(a.content.started_at));

/** reread reads the list anew. */
export async function reread() {
  sessions.value = db.whose.value ? await tidied(sorted(await db.readAll("sessions"))) : [];
}

/** How many sessions that the service has are kept on the device as well. */
const KEPT = 30;

/** tidied forgets the oldest of those that the service has. */
async function tidied(list) {
  const old = list.filter((r) => !r.unsent && !r.note && (!r.live || r.live.phase === "over")).slice(KEPT);
  for (const r of old) await db.remove("sessions", r.id);
  return list.filter((r) => !old.includes(r));
}

// --- sending ---------------------------------------------------------------

let timer = null;
let attempts = 0; // failed ones in a row
let notBefore = 0;
let flushing = null;
let wanted = false;

/** How long changes are gathered before they are sent, in milliseconds. */
const GATHER = 3_000;

/** How long before a guardian is taken to have agreed perhaps, in milliseconds. */
const ASK = 600_000;

/** start begins to send, now and whenever there is reason to. */
export function start() {
  effect(() => {
    if (db.whose.value) sessions.value = null; // whose they are is known, and not yet which
    reread();
    soon(0, true);
  });
  onTold("sessions", () => (reread(), soon(GATHER)));
  addEventListener("online", () => soon(0, true));
  document.addEventListener("visibilitychange", () => soon(0, document.visibilityState === "visible"));
  effect(() => api.signedIn.value === "yes" && soon(0, true));
}

/** onTaken calls fn whenever the queue has run empty after something was taken. */
export function onTaken(fn) {
  taken.add(fn);
}

const taken = new Set();

/** soon sends within so many milliseconds; afresh ends a back-off. */
export function soon(ms, afresh = false) {
  if (afresh) notBefore = attempts = 0;
  const due = Math.max(Date.now() + ms, notBefore);
  if (timer && timer.due <= due) return;
  clearTimeout(timer?.id);
  timer = { due, id: setTimeout(() => ((timer = null), flush()), due - Date.now()) };
}

/** flush sends what is unsent, one tab at a time, and never throws. */
export function flush() {
  wanted = true;
  flushing ??= run().finally(() => (flushing = null));
  return flushing;
}

async function run() {
  while (wanted) {
    wanted = false;
    try {
      const member = db.whose.value;
      if (!member) return;
      await api.inTurn(`fringework-outbox-${member}`, sendAll);
    } catch (e) {
      if (!e.known) console.error(e);
      backOff();
    }
  }
}

async function sendAll() {
  const queue = (await db.unsent()).filter((r) => !r.parked);
  if (queue.length === 0) {
    sending.value = "idle";
    return;
  }
  sending.value = "sending";
  for (const record of queue) {
    if (!(await sendOne(record))) return;
  }
  attempts = 0;
  sending.value = "idle";
  for (const fn of taken) fn();
}

/** sendOne sends a record; it gives false when the rest had better wait. */
async function sendOne(queued) {
  let record = queued;
  try {
    if (api.signedIn.value !== "yes") await api.refresh(); // tells the clock, too
    record = await inServiceTime(queued);
    const result = await upload(record);
    await change(record.id, (now) => now && settled(now, record, result));
    return true;
  } catch (e) {
    if (!e.known) throw e;
    return refused(record, e);
  }
}

function upload(record) {
  const path = `/v1/${record.kind ?? "sessions"}/${record.id}`;
  if (record.deleted) return api.del(`${path}?revision=${record.revision}`);
  return api.put(path, { ...record.content, revision: record.revision });
}

/** settled is a record after the service took a revision of it. */
function settled(now, sent, result) {
  const after = { ...now, result: result ?? now.result, taken: sent.revision, takenAt: Date.now(), waits: undefined };
  return now.revision === sent.revision ? { ...after, unsent: 0, parked: null } : after;
}

/**
 * inServiceTime corrects the times of a session that this device recorded while
 * its clock was off. What was corrected or taken once is not again: the clock may
 * have been set since.
 */
async function inServiceTime(record) {
  const off = clockOff.value;
  const shiftable = (r) => r?.clock === 0 && r.taken === undefined;
  if (!off || !shiftable(record)) return record;
  return change(record.id, (now) => {
    if (!shiftable(now)) return undefined;
    return { ...revised(now, { content: shift(now.content, off) }), clock: off };
  });
}

/** shift moves the times of a session by so many milliseconds. */
export function shift(content, ms) {
  const moved = (time) => time && new Date(Date.parse(time) + ms).toISOString();
  const after = { ...content, started_at: moved(content.started_at) };
  if (content.ended_at) after.ended_at = moved(content.ended_at);
  return after;
}

async function refused(record, e) {
  switch (true) {
    case e.status === 0:
      sending.value = "offline";
      backOff({ most: NETWORK });
      return false;
    case e.status === 401:
      sending.value = "sign-in"; // the queue waits for it
      return false;
    case e.status === 429 || e.status >= 500 || e.code === "try_again":
      sending.value = "offline";
      backOff({ least: e.retryAfter * 1000 });
      return false;
    case e.code === "revision_superseded":
      await change(record.id, (now) => now && { ...now, unsent: 0, taken: e.stored?.revision, superseded: true, note: e.detail });
      return true;
    case e.code?.startsWith("consent_"):
      // What is known is not told again, or two tabs would ask by turns.
      if (record.waits !== e.detail) await change(record.id, (now) => now && { ...now, waits: e.detail });
      soon(ASK);
      return true;
    default:
      await change(record.id, (now) => now && now.revision === record.revision ? { ...now, parked: parkedAs(e) } : undefined);
      return true;
  }
}

function parkedAs(e) {
  return { status: e.status, code: e.code, detail: e.detail, errors: e.errors, stored: e.stored ?? null, at: Date.now() };
}

/**
 * How long to wait at most before a network is tried again, in milliseconds: not
 * every phone tells when it has one. With the silence that may come before (api.js),
 * what is kept is on its way within half a minute of the network's return.
 */
const NETWORK = 8_000;

/** backOff waits longer after each failure, by chance a little more or less. */
function backOff({ least = 0, most = 300_000 } = {}) {
  const wait = Math.min(most, 2_000 * 2 ** attempts++) * (0.5 + Math.random());
  notBefore = Date.now() + Math.max(least, wait);
  soon(0);
}

/** retry sends a parked session again as it is. */
export function retry(id) {
  return change(id, (r) => r && { ...r, parked: null });
}

/**
 * insist makes a parked session stand over what the service has, by taking the
 * revision after the one that stands.
 */
export function insist(id) {
  return change(id, (r) => r?.parked && revised({ ...r, revision: Math.max(r.revision, r.parked.stored?.revision ?? 0) }, {}));
}
