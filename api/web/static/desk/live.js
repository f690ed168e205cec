// What happens on the green, as it happens: the service's stream of events, and
// the sessions that it is about. One connection serves the whole page while
// anything on it follows.

import * as api from "../base/api.js";
import { useEffect, signal } from "../base/ui.js";

/** following is "off", "connecting", "on", or "lost" while the stream is down. */
export const following = signal("off");

/** sessions holds the sessions seen going on, by id: { session, at }. */
export const sessions = signal(new Map());

/** happened counts events of other kinds, so that pages know to read again. */
export const happened = signal(0);

let followers = 0;
let stop = null; // ends the present connection
let last = null; // the last event's id

/** useLive follows the stream while the part that calls it is shown. */
export function useLive() {
  useEffect(() => {
    if (++followers === 1) {
      stop = new AbortController();
      follow(stop.signal);
    }
    return () => {
      // A page that is left for another that follows keeps the connection.
      setTimeout(() => {
        if (--followers === 0) {
          stop.abort();
          following.value = "off";
        }
      }, 1_000);
    };
  }, []);
}

/** Waits between attempts, in milliseconds; the last one repeats. */
const WAITS = [1_000, 2_000, 5_000, 10_000, 30_000];

async function follow(signal) {
  let failed = 0;
  while (!signal.aborted) {
    following.value = failed ? "lost" : "connecting";
    try {
      await connect(signal, () => (failed = 0));
    } catch (e) {
      if (signal.aborted) return;
      if (e.status === 403) return; // whoever may not look will not by asking again
      failed++;
    }
    await wait(WAITS[Math.min(failed, WAITS.length - 1)], signal);
  }
}

/** How long the stream may be silent, in milliseconds; the service sends every 15 s. */
const SILENCE = 15_000 + api.SILENCE;

/** connect follows until the stream ends, as it does with the access token. */
async function connect(signal, begun) {
  const headers = { Accept: "text/event-stream", ...(await api.bearer()), ...(last && { "Last-Event-ID": last }) };
  await api.timed((signal, heard) => listen({ headers, signal }, begun, heard), { signal, silence: SILENCE });
}

async function listen({ headers, signal }, begun, heard) {
  const response = await fetch("/v1/live", { headers, signal, cache: "no-store", credentials: "same-origin" });
  if (response.status === 401) return api.refresh();
  if (!response.ok) throw new api.Problem(response.status, {});
  begun();
  if (following.value === "lost" && !last) happened.value++; // what was missed is not known
  following.value = "on";
  // A session that grew while nobody listened is told of by no event.
  for (const id of sessions.peek().keys()) read(id);
  for await (const event of events(response.body, heard)) hear(event);
}

function wait(ms, signal) {
  return new Promise((resolve) => {
    const done = () => (clearTimeout(timer), resolve());
    const timer = setTimeout(done, ms);
    signal.addEventListener("abort", done, { once: true });
    addEventListener("online", done, { once: true });
  });
}

/** events reads server-sent events (WHATWG HTML §9.2) from a body; it calls heard for each piece. */
export async function* events(body, heard = () => {}) {
  const decoder = new TextDecoder();
  const reader = body.getReader();
  let text = "";
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    heard();
    text += decoder.decode(value, { stream: true });
    const parts = text.split("\n\n");
    text = parts.pop();
    for (const part of parts) {
      const event = {};
      for (const line of part.split("\n")) {
        const colon = line.indexOf(":");
        if (colon > 0) event[line.slice(0, colon)] = line.slice(colon + 1).trimStart();
      }
      if (event.data) yield event;
    }
  }
}

function hear({ id, data }) {
  last = id ?? last;
  const event = JSON.parse(data);
  if (event.kind.startsWith("session.")) read(event.subject_id);
  else happened.value++;
}

const reading = new Map(); // session id → whether it changed again meanwhile

/** read reads a session and shows it; of many asked at once, the last counts. */
export async function read(id) {
  if (reading.has(id)) return reading.set(id, true);
  try {
    do {
      reading.set(id, false);
      show(id, await api.get(`/v1/sessions/${id}`));
    } while (reading.get(id));
  } catch (e) {
    if (e.status === 404) show(id, null); // deleted
    else if (!e.known) console.error(e);
  } finally {
    reading.delete(id);
  }
}

function show(id, session) {
  const before = sessions.value.get(id)?.session;
  const after = new Map(sessions.value);
  if (session) after.set(id, { session, at: Date.now() });
  else after.delete(id);
  sessions.value = after;
  // What a session did to the student is told by the dashboard.
  if (!before || !session || session.ended_at || session.milestones.length !== before.milestones.length) happened.value++;
}

/** How long after its last ball a session still counts as going on, in milliseconds. */
const SILENT = 2 * 3_600_000;

/** How long one that ended stays in view, in milliseconds. */
const LINGER = 30 * 60_000;

/**
 * playedUntil is until when a session was played, in milliseconds, as far as it is
 * known: by its balls and the time spent, not by when it arrived.
 */
export function playedUntil({ started_at: start, ended_at: end, blocks }) {
  if (end) return Date.parse(end);
  const spent = blocks.reduce((sum, b) => sum + (b.seconds ?? 0), 0);
  const balls = blocks.flatMap((b) => (b.balls ?? []).map((ball) => ball.after_s ?? 0));
  return Date.parse(start) + 1_000 * Math.max(spent, ...balls);
}

/** goingOn tells whether a session is still being played. */
export const goingOn = (session, now = Date.now()) => !session.ended_at && now - playedUntil(session) < SILENT;

/** inView lists the sessions to show at a time, latest start last. */
export function inView(now) {
  return [...sessions.value.values()].map((s) => s.session)
    .filter((s) => goingOn(s, now) || now - Date.parse(s.ended_at ?? 0) < LINGER)
    .sort((a, b) => Date.parse(a.started_at) - Date.parse(b.started_at));
}

const asked = new Set();

/**
 * seed looks for sessions that were going on before the page was opened, or have
 * just ended. rows are the dashboard's; only sessions that may be in view are asked for.
 */
export async function seed(rows, now = Date.now()) {
  for (const { last_session: last } of rows) {
    if (!last || now - Date.parse(last.started_at) - 1_000 * last.seconds >= SILENT || asked.has(last.id)) continue;
    asked.add(last.id);
    await read(last.id);
  }
}
