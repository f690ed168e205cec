import { equal, handClock, load, rejects, service, signedIn } from "./harness.js";

const silent = () => new Promise(() => {});
const said = (body) => ({ status: 200, body });
const tokens = (text) => said({ access_token: text, expires_in: 600, account: { name: "anouk" }, membership: { member_id: "anouk", role: "student" }, memberships: [] });
const paths = (asked) => asked.map((q) => `${q.method} ${q.path}`);

/** settled tells how a promise ends, once the clock was moved far enough. */
async function settled(clock, promise) {
  let end;
  promise.then((value) => (end = { value }), (problem) => (end = { problem }));
  await clock.by(() => end, 120_000);
  return end;
}

export const tests = {
  async "a connection that goes silent is given up, and what only reads is asked again"() {
    const { api } = await signedIn();
    const clock = await handClock();
    const began = clock.now();
    let silences = 1;
    const asked = service(() => (silences-- > 0 ? silent() : said({ name: "Anouk" })));
    const { value } = await settled(clock, api.get("/v1/me"));
    equal([value, paths(asked), clock.now() - began], [{ name: "Anouk" }, ["GET /v1/me", "GET /v1/me"], api.SILENCE], "the answer, what was asked, and when");
    silences = 2;
    const { problem } = await settled(clock, api.get("/v1/me"));
    equal([problem.status, asked.length], [0, 4], "status and requests when it stays silent");
  },

  async "what changes something is asked once, and fails when nothing is heard"() {
    const { api } = await signedIn();
    const clock = await handClock();
    const asked = service(silent);
    for (const send of [api.post, api.put, api.patch]) {
      const { problem } = await settled(clock, send("/v1/skills/s1", { name: "Chip" }));
      equal([problem.status, problem.known], [0, true], "status");
    }
    equal(paths(asked), ["POST /v1/skills/s1", "PUT /v1/skills/s1", "PATCH /v1/skills/s1"], "what was asked");
  },

  async "an answer that comes in pieces, and an upload that is long, are waited for"() {
    const { api } = await signedIn();
    const clock = await handClock();
    const pieces = ['{"name":', '"Ano', 'uk"', "}"];
    service((q) => {
      if (q.method === "PUT") return new Promise((done) => setTimeout(() => done(said({ name: "kept" })), 20_000));
      const body = new ReadableStream({
        pull: (c) => new Promise((done) => setTimeout(() => (done(), pieces.length ? c.enqueue(new TextEncoder().encode(pieces.shift())) : c.close()), 10_000)),
      });
      return new Response(body, { headers: { "Content-Type": "application/json" } });
    });
    equal((await settled(clock, api.get("/v1/me"))).value, { name: "Anouk" }, "the answer after forty seconds");
    equal((await settled(clock, api.put("/v1/sessions/s1", { note: "x".repeat(80_000) }))).value, { name: "kept" }, "the answer to 80 kB after twenty");
    equal((await settled(clock, api.put("/v1/sessions/s1", { note: "x" }))).problem.status, 0, "the status of a short one");
  },

  async "an answer that stops half way is given up"() {
    const { api } = await signedIn();
    const clock = await handClock();
    const half = () => new Response(new ReadableStream({ start: (c) => c.enqueue(new TextEncoder().encode('{"na')) }), { headers: { "Content-Type": "application/json" } });
    const asked = service(half);
    // The stand-in for the network does not end bodies; a browser does.
    const plain = globalThis.fetch;
    globalThis.fetch = async (path, init) => {
      const response = await plain(path, init);
      const { readable, writable } = new TransformStream();
      response.body.pipeTo(writable, { signal: init.signal }).catch(() => {});
      return new Response(readable, response);
    };
    equal([(await settled(clock, api.get("/v1/me"))).problem.status, asked.length], [0, 2], "status and requests");
  },

  async "a refresh that was lost in silence is asked again"() {
    const { api } = await signedIn("anouk", "old");
    const clock = await handClock();
    let silences = 1;
    const asked = service((q) => (q.path !== "/v1/tokens/refresh" ? said({ token: q.headers.Authorization }) : silences-- > 0 ? silent() : tokens("new")));
    await clock.run(600_000);
    equal((await settled(clock, api.get("/v1/me"))).value, { token: "Bearer new" }, "the token");
    equal(paths(asked), ["POST /v1/tokens/refresh", "POST /v1/tokens/refresh", "GET /v1/me"], "what was asked");
  },

  async "a refresh that is answered after somebody signed out signs nobody in"() {
    const { api } = await signedIn();
    let answer;
    service(() => new Promise((done) => (answer = done)));
    const refreshed = api.refresh();
    while (!answer) await new Promise((done) => setTimeout(done));
    api.forget();
    answer(tokens("late"));
    equal([(await rejects(refreshed, "the refresh")).status, api.signedIn.value], [401, "no"], "status, and whether somebody is signed in");
  },

  async "a move to another academy is not lost to a refresh that is under way"() {
    const { api } = await signedIn();
    const asked = service(() => tokens("next"));
    await Promise.all([api.refresh(), api.refresh("a2"), api.refresh()]);
    equal(asked.map((q) => q.body), [{}, { academy_id: "a2" }], "what was asked");
  },

  async "a sign-in that the browser lost is told from one that has ended"() {
    const { api } = await signedIn();
    service(() => ({ status: 422, body: { code: "body_invalid", detail: "The request was refused.", errors: [{ pointer: "/refresh_token", detail: "is missing" }] } }));
    await rejects(api.refresh(), "without a cookie");
    equal([api.signedIn.value, api.ended.value.includes("This browser has lost your sign-in.")], ["no", true], "signed in, and whether it is said so");
    service(() => ({ status: 401, body: { code: "refresh_refused", detail: "Your password was changed." } }));
    await rejects(api.refresh(), "with an old cookie");
    equal(api.ended.value, "Your password was changed.", "what the service says");
  },
};
