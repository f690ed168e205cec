// Calls to the public API. The access token is held in memory alone; the
// refresh token is in a cookie that no script can read. A call that finds the
// access token missing or expired gets the next one first.
//
//     const me = await api.get("/v1/me");
//     await api.put(`/v1/sessions/${id}`, session);
//
// A refusal throws a Problem, a network that does not answer an Unreachable. One
// that goes silent counts as not answering, since phones keep such connections for
// minutes; what only reads is asked a second time then.

import { signal } from "./ui.js";

/** Problem is a refusal by the service (RFC 9457), in its own words. */
export class Problem extends Error {
  constructor(status, body, retryAfter = 0) {
    super(body.detail ?? `The service answered ${status}.`);
    Object.assign(this, {
      known: true, status, code: body.code ?? "", detail: body.detail ?? this.message,
      errors: body.errors ?? [], stored: body.stored, retryAfter,
      requestID: body.request_id ?? "",
    });
  }
}

/** Unreachable means that no answer came: no network, or the service is down. */
export class Unreachable extends Error {
  constructor() {
    super("The service cannot be reached now.");
    Object.assign(this, { known: true, status: 0, code: "unreachable", detail: this.message, errors: [] });
  }
}

/** signedIn is "unknown" until the service said "yes" or "no". */
export const signedIn = signal("unknown");

/** ended says why it is "no", in words for the person. */
export const ended = signal("");

/** grant is the service's last word on who is signed in, without its tokens. */
export const grant = signal(null);

/**
 * clockOffset is how far, in milliseconds, this device's clock is behind the
 * service's (negative: ahead); null until an answer told.
 */
export const clockOffset = signal(null);

let token = null; // { text, until }

export const get = (path, options) => call("GET", path, options);
export const post = (path, body, options) => call("POST", path, { body, ...options });
export const put = (path, body, options) => call("PUT", path, { body, ...options });
export const patch = (path, body, options) => call("PATCH", path, { body, ...options });
export const del = (path, options) => call("DELETE", path, options);

/** call gives the body of the answer; null when there is none. */
async function call(method, path, options) {
  return (await send(method, path, options)).body;
}

/**
 * send gives { status, body, etag }. options: body (a value), headers, open
 * (true for what needs no sign-in), signal (to abort).
 */
export async function send(method, path, { body, ...rest } = {}) {
  const options = { ...rest, body: body === undefined ? undefined : JSON.stringify(body) };
  if (!options.open && (!token || token.until < Date.now())) await refresh();
  let answer = await attempt(method, path, options);
  if (answer.status === 401 && !options.open) {
    // The token was ended early, or this device's clock jumped.
    await refresh();
    answer = await attempt(method, path, options);
  }
  if (answer.status >= 400) throw new Problem(answer.status, answer.body ?? {}, answer.retryAfter);
  return answer;
}

/** attempt asks once, and again after a silence when that does no harm. */
async function attempt(method, path, options, again = method === "GET") {
  try {
    return await timed((signal, heard) => exchange(method, path, { ...options, signal }, heard), options);
  } catch (e) {
    if (!again || !e.silent) throw e;
    return attempt(method, path, options, false);
  }
}

async function exchange(method, path, { body, headers, open, signal }, heard) {
  const began = Date.now();
  const response = await fetch(path, {
    method, signal, body, cache: "no-store", credentials: "same-origin",
    headers: {
      ...(body !== undefined && { "Content-Type": "application/json" }),
      ...(!open && { Authorization: `Bearer ${token.text}` }),
      ...headers,
    },
  });
  readClock(response, began);
  const json = /json/.test(response.headers.get("Content-Type") ?? "");
  return {
    status: response.status,
    etag: response.headers.get("ETag"),
    retryAfter: Number(response.headers.get("Retry-After")) || 0,
    body: json ? JSON.parse(await heardText(response, heard)) : null,
  };
}

/** heardText is the text of an answer; it calls heard for each piece that comes. */
async function heardText({ body }, heard) {
  const text = new TextDecoder();
  const reader = body.getReader();
  for (let all = ""; ; heard()) {
    const { done, value } = await reader.read();
    if (done) return all + text.decode();
    all += text.decode(value, { stream: true });
  }
}

/** How long nothing may be heard of a request, in milliseconds. */
export const SILENCE = 12_000;

/**
 * timed runs fn(signal, heard), which aborts by the signal when heard was not
 * called for too long. A request that sends much is given longer. Whatever fails
 * on the way is Unreachable, silent when nothing was heard, unless options.signal
 * aborted it.
 */
export async function timed(fn, { signal: abort, body, silence = SILENCE } = {}) {
  const limit = new AbortController();
  const stop = () => limit.abort();
  abort?.addEventListener("abort", stop);
  if (abort?.aborted) stop();
  let timer;
  const heard = (more = 0) => {
    clearTimeout(timer);
    timer = setTimeout(stop, silence + more);
  };
  heard((body?.length ?? 0) / 8); // 8 kB a second
  try {
    return await fn(limit.signal, () => heard());
  } catch (e) {
    if (e.known || abort?.aborted) throw e;
    throw Object.assign(new Unreachable(), { silent: limit.signal.aborted });
  } finally {
    clearTimeout(timer);
    abort?.removeEventListener("abort", stop);
  }
}

/** readClock compares the service's clock, which tells whole seconds, with ours. */
function readClock(response, began) {
  const theirs = Date.parse(response.headers.get("Date") ?? "");
  if (!Number.isNaN(theirs)) clockOffset.value = theirs + 500 - (began + Date.now()) / 2;
}

let refreshing = null;
let goes = 0; // how often somebody has left

/**
 * refresh gets the next access token by the cookie, which repeats its answer when
 * that was lost. All calls of this tab share one, and tabs take turns. academy,
 * when given, moves the sign-in to another academy of the account.
 */
export function refresh(academy) {
  if (academy) return next({ academy_id: academy });
  refreshing ??= next({}).finally(() => (refreshing = null));
  return refreshing;
}

function next(question) {
  return inTurn(TURN, async () => {
    const here = goes;
    const answer = await attempt("POST", "/v1/tokens/refresh", { open: true, body: JSON.stringify(question) }, true);
    if (here !== goes) throw new Problem(401, {}); // whoever asked has left meanwhile
    if ([400, 401, 422].includes(answer.status)) {
      // No cookie, or one that is good no more: somebody has to sign in.
      forget(answer.status === 401 ? answer.body?.detail : LOST);
      throw new Problem(401, answer.body ?? {});
    }
    if (answer.status >= 400) throw new Problem(answer.status, answer.body ?? {}, answer.retryAfter);
    accept(answer.body);
  });
}

const LOST = "This browser has lost your sign-in. That can happen when it is not used for long, when its data is cleared, or when the phone dies.";

/** TURN names what only one tab does at a time: to change the cookie. */
export const TURN = "fringework-refresh";

/** accept takes the answer of a sign-in. */
export function accept({ access_token, expires_in, ...who }) {
  // Ask for the next one a little early, so that none expires on its way.
  token = { text: access_token, until: Date.now() + Math.max(5, expires_in - 20) * 1000 };
  grant.value = who;
  signedIn.value = "yes";
}

/** forget drops what a sign-in gave, for a reason in words. */
export function forget(why = "") {
  goes++;
  token = null;
  ended.value = why;
  signedIn.value = "no";
}

/** bearer gives the header for calls that are no JSON, such as event streams. */
export async function bearer() {
  if (!token || token.until < Date.now()) await refresh();
  return { Authorization: `Bearer ${token.text}` };
}

/** inTurn runs fn while no other tab runs one of the same name. */
export function inTurn(name, fn) {
  // Without a secure context there are no locks, and no cookie to share either.
  return navigator.locks ? navigator.locks.request(name, fn) : fn();
}
