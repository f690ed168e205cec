import { equal, handClock, load, rejects, service, signedIn, until } from "./harness.js";

const T0 = Date.UTC(2026, 4, 6, 8, 0, 0);

/** record is a session with one ball, in the store's form. */
const record = (id, more = {}) => ({
  id, revision: 1, unsent: 1, parked: null, note: null,
  content: { started_at: new Date(T0 + Number(id.replace(/\D/g, "")) * 60_000).toISOString(), blocks: [{ kind: "test", balls: [{ outcome: "in", after_s: 1 }] }] },
  ...more,
});

/** opened is an outbox with its member at the device, its list read. */
async function opened() {
  const { api, db } = await signedIn();
  const outbox = await load("base/outbox.js");
  await outbox.reread();
  return { api, db, outbox };
}

const taken = (q) => ({ status: 200, body: { revision: q.body?.revision, milestones: [] } });
const uploads = (asked) => asked.filter((q) => q.path.startsWith("/v1/sessions/")).map((q) => [q.method, q.path.split("/").at(-1), q.body?.revision]);
const problem = (status, code, more = {}, headers = {}) => ({ status, headers, body: { code, detail: `It is ${code}.`, ...more } });
const inStore = async (db, id) => db.read("sessions", id);

export const tests = {
  async "what is stored is sent whole, and then no more"() {
    const asked = service(taken);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    equal(outbox.waiting.value.map((r) => r.id), ["s1"], "waiting");
    await outbox.flush();
    await outbox.flush();
    equal(uploads(asked), [["PUT", "s1", 1]], "uploads");
    equal(asked[0].body, { ...record("s1").content, revision: 1 }, "the body");
    const r = await inStore(db, "s1");
    equal([r.unsent, r.taken, r.result, outbox.sending.value, outbox.waiting.value], [0, 1, { revision: 1, milestones: [] }, "idle", []], "unsent, taken, result, sending, waiting");
  },

  async "a round goes to the rounds, and its deletion too"() {
    const asked = service(taken);
    const { outbox } = await opened();
    await outbox.store(record("r1", { kind: "rounds" }));
    await outbox.flush();
    await outbox.store(outbox.revised(record("r1", { kind: "rounds" }), { deleted: true }));
    await outbox.flush();
    equal(asked.filter((q) => q.path.includes("r1")).map((q) => [q.method, q.path]), [["PUT", "/v1/rounds/r1"], ["DELETE", "/v1/rounds/r1?revision=2"]], "what was sent");
  },

  "a phone that dies between keeping and sending sends afterwards": [
    async () => {
      service(() => null);
      const { outbox } = await opened();
      await outbox.store(record("s1"));
    },
    async () => {
      const asked = service(taken);
      const { db, outbox } = await opened();
      equal(outbox.waiting.value.map((r) => [r.id, r.revision]), [["s1", 1]], "waiting after the phone died");
      await outbox.flush();
      equal(uploads(asked), [["PUT", "s1", 1]], "uploads");
      equal((await inStore(db, "s1")).unsent, 0, "unsent");
    },
  ],

  "a phone that dies before the reply repeats the very same": [
    async () => {
      const asked = service((q) => (q.path.startsWith("/v1/sessions/") ? new Promise(() => {}) : taken(q))); // no reply, ever
      const { outbox } = await opened();
      await outbox.store(record("s1"));
      outbox.flush();
      await until(() => uploads(asked).length === 1, "the first upload");
      localStorage.setItem("body", JSON.stringify(asked[0].body));
    },
    async () => {
      const asked = service(taken);
      const { outbox } = await opened();
      await outbox.flush();
      equal(uploads(asked), [["PUT", "s1", 1]], "uploads");
      equal(asked[0].body, JSON.parse(localStorage.getItem("body")), "the body");
    },
  ],

  async "a lost reply is replayed with the same revision"() {
    let lost = 2;
    const asked = service((q) => (lost-- > 0 ? null : taken(q)));
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.flush();
    equal([outbox.sending.value, (await inStore(db, "s1")).unsent], ["offline", 1], "sending and unsent after the first");
    await outbox.flush();
    await outbox.flush();
    equal(uploads(asked), [["PUT", "s1", 1], ["PUT", "s1", 1], ["PUT", "s1", 1]], "uploads");
    equal(asked[2].body, asked[0].body, "the last body");
    equal((await inStore(db, "s1")).unsent, 0, "unsent at the end");
  },

  async "what is kept is sent within half a minute of the network's return, also after connections that were accepted and silent"() {
    const { outbox } = await opened();
    const clock = await handClock();
    const tokens = { status: 200, body: { access_token: "next", expires_in: 600, account: { name: "anouk" }, membership: { member_id: "anouk", role: "student" }, memberships: [] } };
    let network = null;
    const slow = (a) => new Promise((done) => setTimeout(() => done(a), 2_000));
    service((q) => network(q));
    const back = (q) => slow(q.path === "/v1/tokens/refresh" ? tokens : taken(q));
    const silent = () => new Promise(() => {});
    const none = () => null;
    const away = [[silent, 500], [silent, 4_000], [none, 9_000], [silent, 15_100], [none, 40_000], [silent, 61_000], [silent, 300_000], [none, 900_000], [silent, 1_000_000]];
    for (const [i, [gone, ms]] of away.entries()) {
      network = gone;
      await outbox.store(record(`s${i}`));
      await clock.run(ms);
      equal(outbox.waiting.value.map((r) => r.id), [`s${i}`], "waiting while there is no network");
      network = back;
      equal(await clock.by(() => outbox.waiting.value.length === 0, 30_000), true, `after ${ms} ms without: sent within 30 s`);
    }
  },

  async "a session that no guardian has agreed to waits, and goes by itself once they have"() {
    const { db, outbox } = await opened();
    const clock = await handClock();
    const tokens = { status: 200, body: { access_token: "next", expires_in: 600, account: { name: "anouk" }, membership: { member_id: "anouk", role: "student" }, memberships: [] } };
    for (const code of ["consent_missing", "consent_withdrawn"]) {
      let agreed = false;
      const asked = service((q) => (q.path === "/v1/tokens/refresh" ? tokens : agreed ? taken(q) : problem(409, code)));
      await outbox.store(record("s1", { revision: code.length }));
      await clock.run(60_000);
      const kept = await inStore(db, "s1");
      equal([kept.unsent, kept.parked, kept.waits, outbox.parked.value.length, uploads(asked).length], [1, null, `It is ${code}.`, 0, 1], `${code}: unsent, parked, waits, how many are parked and were sent`);
      agreed = true;
      equal(await clock.by(() => outbox.waiting.value.length === 0, 900_000), true, `${code}: sent within a quarter of an hour`);
      equal((await inStore(db, "s1")).waits, undefined, `${code}: waits no more`);
    }
  },

  async "what waits of a member is sent as soon as that member is at the device again"() {
    let network = false;
    service((q) => (network ? taken(q) : null));
    const { db, outbox } = await opened();
    const clock = await handClock();
    outbox.start();
    await outbox.store(record("s1"));
    await clock.run(60_000);
    await signedIn("bastian");
    network = true;
    await clock.run(60_000);
    await signedIn("anouk");
    equal(await clock.by(async () => (await inStore(db, "s1")).unsent === 0, 100), true, "sent at once");
  },

  async "it tries again by itself"() {
    let lost = 1;
    const asked = service((q) => (lost-- > 0 ? null : taken(q)));
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.flush();
    await until(async () => (await inStore(db, "s1")).unsent === 0, "the second attempt");
    equal(uploads(asked).length, 2, "uploads");
  },

  async "what changes while it is sent is sent again"() {
    let outbox;
    const asked = service(async (q) => {
      if (q.body?.revision === 1) await outbox.change("s1", (r) => outbox.revised(r, { content: { ...r.content, note: "Windy." } }));
      return taken(q);
    });
    let db;
    ({ db, outbox } = await opened());
    await outbox.store(record("s1"));
    await outbox.flush();
    const r = await inStore(db, "s1");
    equal([r.revision, r.unsent, r.taken], [2, 1, 1], "revision, unsent, taken");
    await outbox.flush();
    equal(uploads(asked), [["PUT", "s1", 1], ["PUT", "s1", 2]], "uploads");
    equal(asked[1].body.note, "Windy.", "the note that was sent");
    equal((await inStore(db, "s1")).unsent, 0, "unsent at the end");
  },

  async "flushing twice at once sends once"() {
    const asked = service(taken);
    const { outbox } = await opened();
    await outbox.store(record("s1"));
    await Promise.all([outbox.flush(), outbox.flush(), outbox.flush()]);
    equal(uploads(asked), [["PUT", "s1", 1]], "uploads");
  },

  async "a deletion is sent as one"() {
    const asked = service((q) => (q.method === "DELETE" ? { status: 204 } : taken(q)));
    const { outbox } = await opened();
    await outbox.store(record("s1", { revision: 4 }));
    await outbox.change("s1", (r) => outbox.revised(r, { deleted: true }));
    await outbox.flush();
    equal(uploads(asked), [["DELETE", "s1?revision=5", undefined]], "uploads");
    equal(outbox.waiting.value, [], "waiting");
  },

  async "what was overtaken is dropped from the queue, with a note"() {
    const asked = service((q) => (q.path.endsWith("/s1") ? problem(409, "revision_superseded", { stored: { revision: 9 } }) : taken(q)));
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.store(record("s2"));
    await outbox.flush();
    const r = await inStore(db, "s1");
    equal([r.unsent, r.superseded, r.taken, r.note], [0, true, 9, "It is revision_superseded."], "unsent, superseded, taken, note");
    equal(uploads(asked), [["PUT", "s1", 1], ["PUT", "s2", 1]], "uploads: the next one is not held up");
  },

  async "what is refused is parked with its data, and sent once the person says so"() {
    let refuse = true;
    const asked = service((q) => (refuse ? problem(422, "session_invalid", { errors: [{ pointer: "/note", detail: "is too long" }] }) : taken(q)));
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.flush();
    await outbox.flush();
    equal(uploads(asked).length, 1, "uploads of what is parked");
    let r = await inStore(db, "s1");
    equal([r.unsent, r.parked.status, r.parked.errors[0].detail, r.content], [1, 422, "is too long", record("s1").content], "unsent, status, reason, data");
    equal(outbox.parked.value.map((p) => p.id), ["s1"], "parked");
    refuse = false;
    await outbox.retry("s1");
    await outbox.flush();
    r = await inStore(db, "s1");
    equal([r.unsent, r.parked, r.revision], [0, null, 1], "unsent, parked, revision");
  },

  async "correcting what is parked sends it by itself"() {
    const asked = service((q) => (q.body.revision === 1 ? problem(422, "session_invalid") : taken(q)));
    const { outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.flush();
    await outbox.change("s1", (r) => outbox.revised(r, { content: { ...r.content, note: "" } }));
    equal(outbox.parked.value, [], "parked after the correction");
    await outbox.flush();
    equal(uploads(asked), [["PUT", "s1", 1], ["PUT", "s1", 2]], "uploads");
  },

  async "insisting takes the revision after the one that stands"() {
    const asked = service((q) => (q.body.revision < 8 ? problem(409, "revision_conflict", { stored: { revision: 7 } }) : taken(q)));
    const { outbox } = await opened();
    await outbox.store(record("s1", { revision: 3 }));
    await outbox.flush();
    await outbox.insist("s1");
    await outbox.flush();
    equal(uploads(asked), [["PUT", "s1", 3], ["PUT", "s1", 8]], "uploads");
    equal(outbox.waiting.value, [], "waiting");
  },

  async "a refusal of what was changed meanwhile does not park the change"() {
    let outbox;
    service(async (q) => {
      if (q.body.revision > 1) return taken(q);
      await outbox.change("s1", (r) => outbox.revised(r, {}));
      return problem(422, "session_invalid");
    });
    ({ outbox } = await opened());
    await outbox.store(record("s1"));
    await outbox.flush();
    equal(outbox.parked.value, [], "parked");
    await outbox.flush();
    equal(outbox.waiting.value, [], "waiting");
  },

  async "a sign-in that is over holds the queue, and a new one lets it go"() {
    let signed = false;
    const asked = service((q) => (q.path === "/v1/tokens/refresh" ? problem(401, "unauthenticated") : signed ? taken(q) : problem(401, "unauthenticated")));
    const { api, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.flush();
    equal([outbox.sending.value, api.signedIn.value, outbox.waiting.value.length], ["sign-in", "no", 1], "sending, signed in, waiting");
    signed = true;
    await signedIn("anouk", "fresh");
    await outbox.flush();
    equal([outbox.sending.value, outbox.waiting.value.length], ["idle", 0], "sending and waiting after signing in");
    equal(asked.at(-1).headers.Authorization, "Bearer fresh", "the token");
  },

  async "a busy service is not asked for the rest of the queue"() {
    let busy = true;
    const asked = service((q) => (busy ? problem(503, "unavailable", {}, { "Retry-After": "1" }) : taken(q)));
    const { outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.store(record("s2"));
    await outbox.flush();
    equal([uploads(asked).length, outbox.sending.value, outbox.parked.value.length], [1, "offline", 0], "uploads, sending, parked");
    busy = false;
    await outbox.flush();
    equal([uploads(asked).length, outbox.waiting.value.length], [3, 0], "uploads and waiting once it answers");
  },

  async "times by a wrong clock are corrected once, before the first upload"() {
    const hours = 3 * 3_600_000;
    const asked = service((q) => ({ ...taken(q), at: Date.now() + hours }));
    const { api, db, outbox } = await opened();
    await api.get("/v1/me"); // tells the clock
    await outbox.store(record("s1", { clock: 0, content: { ...record("s1").content, ended_at: "2026-05-06T09:00:00.000Z" } }));
    await outbox.flush();
    const sent = asked.at(-1).body;
    const near = (got, want) => Math.abs(Date.parse(got) - want) < 60_000;
    equal([near(sent.started_at, T0 + 60_000 + hours), near(sent.ended_at, T0 + 3_600_000 + hours), sent.revision], [true, true, 2], "start, end and revision that were sent");
    const r = await inStore(db, "s1");
    equal(Math.abs(r.clock - hours) < 60_000, true, "the clock that the record holds is three hours");
    await outbox.change("s1", (x) => outbox.revised(x, {}));
    await outbox.flush();
    equal(asked.at(-1).body.started_at, sent.started_at, "the start of a later upload");
    // Times that are not by this phone's clock stay as they are.
    await outbox.store(record("s2"));
    await outbox.flush();
    equal(asked.at(-1).body.started_at, record("s2").content.started_at, "the start of a session that was typed in");
  },

  async "a clock that is a minute off is left alone"() {
    const asked = service((q) => ({ ...taken(q), at: Date.now() + 60_000 }));
    const { api, outbox } = await opened();
    await api.get("/v1/me");
    await outbox.store(record("s1", { clock: 0 }));
    await outbox.flush();
    equal([asked.at(-1).body.started_at, asked.at(-1).body.revision], [record("s1").content.started_at, 1], "start and revision");
  },

  async "nobody sends what another member left on the device"() {
    const asked = service(taken);
    const { outbox } = await opened();
    await outbox.store(record("s1"));
    await signedIn("bastian");
    await outbox.reread();
    await outbox.flush();
    equal([uploads(asked), outbox.sessions.value], [[], []], "uploads and list of the other member");
    await signedIn("anouk");
    await outbox.reread();
    equal(outbox.waiting.value.map((r) => r.id), ["s1"], "waiting, back again");
  },

  async "the list is in order, and the oldest that were sent are forgotten"() {
    service(() => null);
    const { db, outbox } = await opened();
    for (let i = 0; i < 35; i++) await db.write("sessions", record(`s${i}`, { unsent: 0 }));
    await db.write("sessions", record("s900", { unsent: 0 }));
    await db.write("sessions", record("s0", { unsent: 1 })); // the oldest, unsent
    await db.write("sessions", record("s1", { unsent: 0, note: "It was deleted." }));
    await db.write("sessions", record("s2", { unsent: 0, live: { phase: "paused" } }));
    await outbox.reread();
    const ids = outbox.sessions.value.map((r) => r.id);
    equal(ids, ["s900", ...Array.from({ length: 29 }, (_, i) => `s${34 - i}`), "s2", "s1", "s0"], "the list: thirty that were sent, what goes on, what has a note and what is unsent");
    equal((await db.readAll("sessions")).length, 33, "records in the store");
  },

  async "a record that was dropped is gone"() {
    service(taken);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.drop("s1");
    equal([outbox.sessions.value, await inStore(db, "s1")], [[], undefined], "list and store");
    await outbox.flush();
    equal(await inStore(db, "s1"), undefined, "the store after sending");
  },

  async "a change by another tab is not written over"() {
    service(() => null);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    // Another tab strikes a ball, unseen by this one's list.
    await db.change("sessions", "s1", (r) => ({ ...r, balls: ["theirs"], revision: 2 }));
    let asked = 0;
    await outbox.change("s1", (r) => (asked++, { ...r, balls: [...(r.balls ?? []), "ours"], revision: r.revision + 1 }));
    const r = await inStore(db, "s1");
    equal([r.balls, r.revision, asked], [["theirs", "ours"], 3, 2], "balls, revision, and how often the step was taken");
    equal(outbox.sessions.value[0].balls, ["theirs", "ours"], "the list");
  },

  async "what another tab dropped is not brought back"() {
    service(() => null);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await outbox.change("s1", (r) => ({ ...r, revision: 2 }));
    await db.remove("sessions", "s1");
    await outbox.change("s1", (r) => r && { ...r, revision: 3 });
    equal(await inStore(db, "s1"), undefined, "the store");
  },

  async "steps in a row are all kept, in their order"() {
    service(() => null);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    await Promise.all(Array.from({ length: 20 }, (_, i) => outbox.change("s1", (r) => ({ ...r, steps: [...(r.steps ?? []), i] }))));
    equal((await inStore(db, "s1")).steps, Array.from({ length: 20 }, (_, i) => i), "the steps");
  },

  async "a step that fails leaves the record as it was"() {
    service(() => null);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    const e = await rejects(outbox.change("s1", () => { throw new Error("no such step"); }), "the change");
    equal([e.message, (await inStore(db, "s1")).revision], ["no such step", 1], "the failure and the revision");
    await outbox.change("s1", (r) => ({ ...r, revision: 2 }));
    equal((await inStore(db, "s1")).revision, 2, "the revision after the next step");
  },

  "a database of the first version is taken along": [
    async () => {
      await new Promise((done, fail) => {
        const asking = indexedDB.open("fringework.anouk", 1);
        asking.onupgradeneeded = () => {
          const sessions = asking.result.createObjectStore("sessions", { keyPath: "id" });
          sessions.createIndex("unsent", "unsent");
          sessions.put(record("s1"));
          sessions.put(record("s2", { unsent: 0 }));
          asking.result.createObjectStore("cache", { keyPath: "path" }).put({ path: "/v1/me", body: { kept: true }, at: T0 });
        };
        asking.onsuccess = () => (asking.result.close(), done());
        asking.onerror = () => fail(asking.error);
      });
    },
    async () => {
      const asked = service(taken);
      const { db, outbox } = await opened();
      equal(outbox.sessions.value.map((r) => r.id), ["s2", "s1"], "sessions");
      equal((await db.read("cache", "/v1/me")).body, { kept: true }, "the cache");
      await db.write("drafts", { id: "p1", content: {} });
      equal((await db.readAll("drafts")).map((d) => d.id), ["p1"], "drafts, which are new");
      await outbox.flush();
      equal(uploads(asked), [["PUT", "s1", 1]], "uploads: only what was unsent");
    },
  ],

  async "a database of a newer version is refused and left alone"() {
    const newer = await new Promise((done) => {
      const asking = indexedDB.open("fringework.anouk", 99);
      asking.onupgradeneeded = () => asking.result.createObjectStore("sessions", { keyPath: "id" }).put(record("s1"));
      asking.onsuccess = () => done(asking.result);
    });
    newer.close();
    const { db } = await signedIn();
    equal((await rejects(db.read("sessions", "s1"), "reading")).name, "VersionError", "the failure");
    equal((await indexedDB.databases()).find((d) => d.name === "fringework.anouk").version, 99, "the version that is there");
  },

  async "wiping takes the data of everybody who was at the device"() {
    service(() => null);
    const { db, outbox } = await opened();
    await outbox.store(record("s1"));
    localStorage.setItem("fringework.away", "1");
    localStorage.setItem("another", "1");
    await signedIn("bastian");
    await db.write("sessions", record("s2"));
    await signedIn("anouk");
    await outbox.reread();
    await (await load("base/kept.js")).wipe();
    equal([db.whose.value, Object.keys(localStorage)], [null, ["another"]], "who is at the device, and what else it keeps");
    equal((await rejects(db.readAll("sessions"), "reading with nobody at the device")).known, true, "a failure that is known");
    const names = (await indexedDB.databases()).map((d) => d.name).sort();
    equal(names, ["fringework"], "the databases that are left");
    equal([await db.recall("who"), await db.recall("who.anouk"), await db.recall("who.bastian")], [null, null, null], "the people that are remembered");
  },
};
