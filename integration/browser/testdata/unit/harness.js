// What the tests of the pages' modules share. A test file exports tests, by name:
// a function, or a list of them when the phone dies between one and the next, which
// takes all that was not stored. Each test begins on a device that knows nothing.

const preact = JSON.parse(document.querySelector("script[type=importmap]").text).imports.preact;

/** load imports a module of the pages: "base/outbox.js". */
export const load = (name) => import(preact.replace("vendor/preact.js", name));

/** same is a value as text, with the members of objects in order; a space is a space, whatever it keeps together. */
function same(value) {
  return JSON.stringify(value, (_, v) => {
    if (v === undefined) return "(undefined)";
    if (typeof v === "string") return v.replaceAll("\u00a0", " ");
    if (v && typeof v === "object" && !Array.isArray(v)) return Object.fromEntries(Object.keys(v).sort().map((k) => [k, v[k]]));
    return v;
  });
}

/** equal ends the test unless two values are the same. */
export function equal(got, want, what) {
  if (same(got) !== same(want)) throw new Error(`${what}: got ${same(got)}, want ${same(want)}`);
}

/** rejects ends the test unless a promise fails; it gives the failure. */
export async function rejects(promise, what) {
  try {
    await promise;
  } catch (e) {
    return e;
  }
  throw new Error(`${what}: it did not fail`);
}

// The page's own, whatever handClock puts in their place.
const later = globalThis.setTimeout.bind(globalThis);

/** until waits for something that comes by itself. */
export async function until(holds, what) {
  for (const end = performance.now() + 120_000; !(await holds()); await new Promise((done) => later(done, 5))) {
    if (performance.now() > end) throw new Error(`${what}: it did not come`);
  }
}

/**
 * handClock puts a clock in place of the page's that stands until it is moved, and
 * then goes from one timer to the next, each time once all that the last one set
 * off has come to rest. It gives now(), run(ms), and by(holds, ms), which moves it
 * until something holds and gives whether it did within so many milliseconds.
 */
export async function handClock() {
  const db = await load("base/db.js");
  let now = Date.now();
  let last = 0;
  const timers = new Map();
  globalThis.setTimeout = (fn, ms = 0) => (timers.set(++last, { at: now + Math.max(0, ms), fn }), last);
  globalThis.clearTimeout = (id) => timers.delete(id);
  Date.now = () => now;
  // Locks and transactions are granted in turn: once ours are, those asked for
  // before are done, and what they set off is asked for.
  const rest = async () => {
    for (let i = 0; i < 12; i++) {
      await navigator.locks.request("rest", () => {});
      await Promise.all([db.recall("nothing"), db.change("sessions", "nothing", () => undefined).catch(() => {})]); // nobody may be here
      await new Promise((done) => later(done));
    }
  };
  const by = async (holds, ms) => {
    const end = now + ms;
    for (;;) {
      await rest();
      if (await holds()) return true;
      const [id, timer] = [...timers].reduce((a, b) => (b[1].at < a[1].at ? b : a), [0, { at: Infinity }]);
      if (timer.at > end) break;
      timers.delete(id);
      now = timer.at;
      timer.fn();
    }
    now = end;
    return false;
  };
  return { now: () => now, by, run: (ms) => by(() => false, ms) };
}

/**
 * service answers what the modules ask, in place of the network: answer gets
 * { method, path, body, headers } and gives { status, body, headers }, a Response,
 * null for no network, or a promise, which a request that is given up does not wait
 * for. It gives the list of what was asked.
 */
export function service(answer) {
  const asked = [];
  globalThis.fetch = async (path, { method = "GET", body, headers = {}, signal } = {}) => {
    const question = { method, path: String(path), body: body === undefined ? undefined : JSON.parse(body), headers };
    asked.push(question);
    const a = await Promise.race([answer(question), new Promise((_, fail) => signal?.addEventListener("abort", () => fail(signal.reason)))]);
    if (a instanceof Response) return a;
    if (!a) throw new TypeError("Failed to fetch");
    const empty = a.status === 204 || a.status === 304;
    const type = { "Content-Type": a.status >= 400 ? "application/problem+json" : "application/json" };
    return new Response(empty ? null : JSON.stringify(a.body ?? {}), { status: a.status, headers: { ...(!empty && type), Date: new Date(a.at ?? Date.now()).toUTCString(), ...a.headers } });
  };
  return asked;
}

/** signedIn makes a member be at the device, with a token that is good. */
export async function signedIn(member = "anouk", token = "good") {
  const [api, db] = [await load("base/api.js"), await load("base/db.js")];
  await load("base/account.js"); // says whose the device is
  api.accept({ access_token: token, expires_in: 600, account: { name: member }, membership: { member_id: member, role: "student" }, memberships: [] });
  return { api, db };
}
