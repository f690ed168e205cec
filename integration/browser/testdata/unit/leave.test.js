import { equal, handClock, load, service, signedIn, until } from "./harness.js";

const problem = (status) => ({ status, body: { code: "no", detail: "No." } });
const paths = (asked) => asked.map((q) => `${q.method} ${q.path}`);
const kept = async () => (await indexedDB.databases()).map((d) => d.name).sort();

/** practised is a phone on which anouk left a session unsent, and bastian two. */
async function practised() {
  const { api, db } = await signedIn("bastian");
  for (const id of ["s1", "s2"]) await db.write("sessions", { id, unsent: 1, content: { started_at: "2026-05-06T08:00:00Z" } });
  await signedIn("anouk");
  await db.write("sessions", { id: "s3", unsent: 1, content: { started_at: "2026-05-06T08:00:00Z" } });
  await db.write("sessions", { id: "s4", unsent: 0, content: { started_at: "2026-05-06T08:00:00Z" } });
  await db.write("drafts", { id: "p1", content: {} });
  document.cookie = "test-kept=1"; // beside the cookie that no script can read
  return { api, db };
}

const signOut = async () => (await load("base/leave.js")).signOut();
const start = async () => (await load("base/account.js")).start();

export const tests = {
  "who signs out without a network is signed out, and the service is told when there is one": [
    async () => {
      await practised();
      service(() => null);
      await signOut();
      equal(await kept(), ["fringework"], "databases");
    },
    async () => {
      let network = false;
      const asked = service(() => (network ? { status: 204 } : null));
      const { who } = await load("base/account.js");
      const { leaving } = await load("base/leave.js");
      const api = await load("base/api.js");
      const told = start();
      await until(() => asked.length > 0, "the first attempt to tell");
      equal([who.value, api.signedIn.value, leaving.value], [null, "no", true], "who, signed in, leaving");
      network = true;
      dispatchEvent(new Event("online"));
      await told;
      equal([[...new Set(paths(asked))], leaving.value], [["POST /v1/sign-out"], false], "what was asked, and leaving");
    },
    async () => {
      document.cookie = "test-kept=; max-age=0";
      const asked = service(() => problem(500));
      await start();
      equal(paths(asked), [], "what is asked once it was told");
    },
  ],

  async "the service is told by itself, also when it goes silent or is busy at first"() {
    await practised();
    const answers = [null, new Promise(() => {}), problem(503), null, { status: 204 }];
    const asked = service(() => answers.shift());
    await signOut();
    const clock = await handClock();
    const { leaving } = await load("base/leave.js");
    start();
    equal(await clock.by(() => asked.length > 0 && !leaving.value, 60_000), true, "told within a minute");
    equal([paths(asked), await (await load("base/db.js")).recall("leaving")], [Array(5).fill("POST /v1/sign-out"), null], "what was asked, and what is left to tell");
  },

  "a phone that dies while it is wiped is wiped when it is opened": [
    async () => {
      const { db } = await practised();
      service(() => null);
      await db.remember({ leaving: true, who: null });
    },
    async () => {
      const asked = service(() => problem(401)); // the sign-in has ended by itself
      await start();
      equal([await kept(), paths(asked)], [["fringework"], ["POST /v1/sign-out"]], "databases, and what was asked");
    },
  ],

  async "who signs in before that was told tells it first, and stays signed in"() {
    await practised();
    const grant = { status: 200, body: { access_token: "good", expires_in: 600, account: { id: "b", name: "Bastian" }, membership: { member_id: "bastian", role: "student" }, memberships: [] } };
    const asked = service((q) => (q.path === "/v1/sign-out" ? { status: 204 } : q.path === "/v1/sign-in" ? grant : { status: 200, body: { member: { units: "feet" } } }));
    await signOut();
    const { signIn, who } = await load("base/account.js");
    await signIn("bastian@example.org", "a password");
    equal([paths(asked), who.value.membership.member_id], [["POST /v1/sign-out", "POST /v1/sign-in", "GET /v1/me"], "bastian"], "what was asked, and who is here");
    equal(await (await load("base/db.js")).recall("leaving"), null, "what is left to tell");
  },

  async "what waits in another academy, and what somebody else left, is shown and asked about"() {
    const { api, db } = await signedIn("anouk");
    const be = (account, academy) => api.accept({ access_token: "good", expires_in: 600, account: { id: account, name: account, email: `${account}@example.org` }, membership: { member_id: `${account}-${academy}`, academy_id: academy, academy_name: academy, role: "student" }, memberships: [] });
    const left = async (n) => { for (let i = 0; i < n; i++) await db.write("sessions", { id: `s${i}`, unsent: 1, content: { started_at: "2026-05-06T08:00:00Z" } }); };
    for (const [account, academy, n] of [["Tomas", "Dune Hill", 1], ["Anouk", "Moor End", 3], ["Anouk", "Links End", 2]]) {
      be(account, academy);
      await left(n);
    }
    const { html, render } = await load("base/ui.js");
    const [{ Elsewhere }, { SignOut }] = [await load("base/elsewhere.js"), await load("base/signout.js")];
    render(html`<${Elsewhere} /><${SignOut} />`, document.body);
    const says = (...texts) => until(() => texts.every((t) => document.body.innerText.includes(t)), texts.join(", "));
    const press = (name) => [...document.querySelectorAll("button")].find((b) => b.innerText === name).click();
    await says("Moor End: 3 sessions not sent", "Go to Moor End", "Tomas, Dune Hill: 1 session not sent", "Sign in as Tomas");
    equal(document.body.innerText.includes("2 sessions"), false, "whether one's own are told as if of others");
    press("Sign out");
    await says("2 sessions not sent.", "Moor End: 3 sessions not sent.", "Tomas, Dune Hill: 1 session not sent.", "Signing out now throws them away.", "Send first");
    const asked = service((q) => (q.path === "/v1/tokens/refresh" ? (be("Anouk", "Moor End"), { status: 200, body: { access_token: "good", expires_in: 600, ...api.grant.value } }) : q.method === "PUT" ? { status: 200, body: {} } : { status: 200, body: { member: {} } }));
    [...document.querySelectorAll("dialog button")].find((b) => b.innerText === "Go to Moor End").click();
    await until(() => asked.some((q) => q.path === "/v1/me"), "the move");
    const at = (path) => asked.findIndex((q) => q.path.startsWith(path));
    equal([asked.filter((q) => q.method === "PUT").length >= 2, at("/v1/sessions/") < at("/v1/tokens/refresh"), asked[at("/v1/tokens/refresh")].body], [true, true, { academy_id: "Moor End" }], "one's own sent, before the move, which was to there");
    await says("Links End", "Tomas, Dune Hill: 1 session not sent.");
  },

  async "what everybody leaves unsent is counted, and nothing made by looking"() {
    await practised();
    const { keptHere, whatOf } = await load("base/kept.js");
    const all = await keptHere();
    equal(all.map((m) => [m.id, m.person.account.name, whatOf(m)]).sort(), [["anouk", "anouk", "1 session not sent, 1 draft not saved"], ["bastian", "bastian", "2 sessions not sent"]], "kept");
    await signedIn("cleo");
    equal((await keptHere()).map((m) => m.id).sort(), ["anouk", "bastian"], "kept, with a third who has nothing");
  },
};
