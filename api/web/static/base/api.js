// Calls to the public API. The access token is held in memory alone; the
// refresh token is in a cookie that no script can read. A call that finds the
// access token missing or expired gets the next one first.
//
//     const me = await api.get("/v1/me");
//     await api.put(`/v1/sessions/${id}`, session);
//
// A refusal throws a Problem, a network that does not answer an Unreachable.

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
export async function send(method, path, options = {}) {
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

async function attempt(method, path, { body, headers, open, signal: abort }) {
  const began = Date.now();
  const response = await reach(path, {
    method, signal: abort, cache: "no-store", credentials: "same-origin",
    headers: {
      ...(body !== undefined && { "Content-Type": "application/json" }),
      ...(!open && { Authorization: `Bearer ${token.text}` }),
      ...headers,
    },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  readClock(response, began);
  const json = /json/.test(response.headers.get("Content-Type") ?? "");
  return {
    status: response.status,
    etag: response.headers.get("ETag"),
    retryAfter: Number(response.headers.get("Retry-After")) || 0,
    body: json ? await response.json().catch(() => { throw new Unreachable(); }) : null,
  };
}

async function reach(path, init) {
  try {
    return await fetch(path, init);
  } catch (e) {
    if (e.name === "AbortError") throw e;
    throw new Unreachable();
  }
}

/** readClock compares the service's clock, which tells whole seconds, with ours. */
function readClock(response, began) {
  const theirs = Date.parse(response.headers.get("Date") ?? "");
  if (!Number.isNaN(theirs)) clockOffset.value = theirs + 500 - (began + Date.now()) / 2;
}

let refreshing = null;

/**
 * refresh gets the next access token by the cookie. All calls of this tab share
 * one, and tabs take turns, since the cookie is good once. academy, when given,
 * moves the sign-in to another academy of the account.
 */
export function refresh(academy) {
  refreshing ??= inTurn("fringework-refresh", async () => {
    try {
      const answer = await attempt("POST", "/v1/tokens/refresh", { open: true, body: academy ? { academy_id: academy } : {} });
      if ([400, 401, 422].includes(answer.status)) {
        // No cookie, or one that is good no more: somebody has to sign in.
        forget();
        throw new Problem(401, answer.body ?? {});
      }
      if (answer.status >= 400) throw new Problem(answer.status, answer.body ?? {}, answer.retryAfter);
      accept(answer.body);
    } finally {
      refreshing = null;
    }
  });
  return refreshing;
}

/** accept takes the answer of a sign-in. */
export function accept({ access_token, expires_in, ...who }) {
  // Ask for the next one a little early, so that none expires on its way.
  token = { text: access_token, until: Date.now() + Math.max(5, expires_in - 20) * 1000 };
  grant.value = who;
  signedIn.value = "yes";
}

/** forget drops what a sign-in gave. */
export function forget() {
  token = null;
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
