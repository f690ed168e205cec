// Who is using this device. The person is remembered on it (never their tokens),
// so that the pages open without a network; what belongs to them is in a
// database of their own (db.js).

import * as api from "./api.js";
import * as db from "./db.js";
import { onTold } from "./bus.js";
import { effect, signal } from "./ui.js";

/**
 * who is the person at this device: { account, membership, memberships,
 * member }, where member (with units and time zone) may be missing until it was
 * read once; null when nobody is.
 */
export const who = signal(await db.recall("who"));

/**
 * remember keeps who is at this device; null for nobody. Everybody who was is kept
 * under a name of their own, for what they leave unsent (kept.js).
 */
export function remember(person) {
  const id = person?.membership?.member_id ?? null;
  who.value = person;
  db.use(id);
  return db.remember({ who: person, ...(id && { [`who.${id}`]: person }) });
}

db.use(who.value?.membership?.member_id ?? null);

// The service's word on who is signed in wins over what was remembered.
effect(() => {
  const g = api.grant.value;
  if (!g) return;
  const before = who.peek();
  const same = before?.membership?.member_id === g.membership?.member_id;
  remember({ account: g.account, membership: g.membership, memberships: g.memberships, member: same ? before?.member : undefined });
});

onTold("signed-out", () => {
  api.forget();
  remember(null);
});

/** start finds out whether the service still knows us. It never throws. */
export async function start() {
  try {
    if (await db.recall("leaving")) return await (await import("./leave.js")).leave();
    if (!who.peek() && !document.cookie.includes("-kept=")) return api.forget(); // nobody signed in here
    await api.refresh();
    await readMe();
  } catch (e) {
    if (!e.known) console.error(e);
    if (!who.peek()) api.forget();
  }
}

/**
 * enter signs in by fn, which gives the service's answer: tokens, or what is left to
 * do before there are any, which enter then gives back. Whoever signed out before
 * without a network is signed out there first: the cookie is theirs till then.
 */
export async function enter(fn) {
  if (await db.recall("leaving")) await (await import("./leave.js")).tellOnce();
  const second = await api.inTurn(api.TURN, async () => {
    const answer = await fn();
    if (answer.notices) localStorage.setItem("told", JSON.stringify(answer.notices));
    return answer.access_token ? api.accept(answer) : answer;
  });
  if (second) return second;
  await db.remember({ leaving: null });
  await readMe();
}

/** readMe reads the member's own settings. */
export async function readMe() {
  const me = await api.get("/v1/me");
  if (who.peek()) remember({ ...who.peek(), member: me.member }); // unless they signed out meanwhile
}

/** signIn signs in; the refresh token stays in a cookie. */
export const signIn = (email, password) => enter(() => api.post("/v1/sign-in", { email, password, keep: "cookie" }, { open: true }));

/** homeOf is the page of a role. */
export function homeOf(role) {
  return role === "student" ? "/green" : "/desk";
}
