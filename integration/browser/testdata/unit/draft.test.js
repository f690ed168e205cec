import { equal, load, service, signedIn, until } from "./harness.js";

const path = "/v1/programmes/p1";

const content = (title, minutes = false) => ({
  name: "Six weeks", weeks: [{ title, plans: [{ name: "Long", minutes: 60, blocks: [{ kind: "test", share: 100, ...(minutes && { minutes: 60 }) }] }] }],
});

/** programmes is a service with one programme: it stores what it is sent as long as
 * that is on top of what it has. refuse may answer instead. */
function programmes(start = { revision: 1, draft: content("Theirs", true) }, refuse = () => null) {
  const stored = { ...start, puts: [], down: false };
  const whole = () => ({ id: "p1", revision: stored.revision, draft: stored.draft, problems: [] });
  service((q) => {
    if (stored.down) return null;
    const refused = refuse(q, stored);
    if (refused) return refused;
    if (q.path === "/v1/programmes" && q.method === "POST") return { status: 201, body: { id: "p2" } };
    if (q.method === "PUT") {
      stored.puts.push(q);
      if (q.headers["If-Match"] !== `"${stored.revision}"`) return { status: 412, body: { code: "changed_meanwhile", detail: "It was changed." } };
      stored.revision++;
      stored.draft = q.body;
    }
    return { status: 200, body: whole(), headers: { ETag: `"${stored.revision}"` } };
  });
  return stored;
}

async function opened(member) {
  const { db } = await signedIn(member);
  const { Draft } = await load("desk/draft.js");
  const draft = new Draft("p1");
  await draft.open();
  return { db, draft, now: () => draft.state.value };
}

const title = (text) => (x) => (x.weeks[0].title = text);
const kept = (db) => db.read("drafts", "p1");
const saved = (now) => until(() => now().status === "saved", "the draft to be saved");

export const tests = {
  async "it opens with what the service has, without the minutes that it filled in"() {
    programmes();
    const { now } = await opened();
    equal([now().phase, now().status, now().undoable], ["open", "saved", false], "phase, status, undoable");
    equal(now().content, content("Theirs"), "the content");
  },

  async "a change is kept on the device at once and saved before long"() {
    const stored = programmes();
    const { db, draft, now } = await opened();
    draft.edit(title("Ours"));
    equal([now().content.weeks[0].title, now().status, now().undoable], ["Ours", "unsaved", true], "title, status, undoable");
    await until(async () => (await kept(db))?.content.weeks[0].title === "Ours", "the draft to be kept");
    equal((await kept(db)).revision, 1, "the revision that it is on top of");
    await saved(now);
    equal([stored.puts.length, stored.puts[0].headers["If-Match"], stored.draft], [1, '"1"', content("Ours")], "saves, on top of what, and what");
    equal(await kept(db), undefined, "what is kept once it is saved");
  },

  "a device that dies before saving saves afterwards": [
    async () => {
      const stored = programmes();
      const { db, draft } = await opened();
      stored.down = true;
      draft.edit(title("Written on the train"));
      await until(() => kept(db), "the draft to be kept");
    },
    async () => {
      const stored = programmes();
      const { db, now } = await opened();
      await saved(now);
      equal([stored.draft.weeks[0].title, stored.puts.length, await kept(db)], ["Written on the train", 1, undefined], "the title at the service, saves, what is kept");
    },
  ],

  "without a network it opens with what was kept, and saves once there is one": [
    async () => {
      programmes();
      const { db, draft } = await opened();
      draft.edit(title("Ours"));
      await until(() => kept(db), "the draft to be kept");
    },
    async () => {
      const stored = programmes();
      stored.down = true;
      const { draft, now } = await opened();
      equal([now().phase, now().content.weeks[0].title], ["open", "Ours"], "phase and title");
      await until(() => now().status === "offline", "the failed save to be told");
      stored.down = false;
      await draft.save();
      equal([now().status, stored.draft.weeks[0].title], ["saved", "Ours"], "status, and the title at the service");
    },
  ],

  async "without a network and without anything kept it says so"() {
    programmes().down = true;
    const { now } = await opened();
    equal([now().phase, now().problem.code], ["failed", "unreachable"], "phase and problem");
  },

  async "what is typed while it is saved is saved next"() {
    let draft;
    const stored = programmes(undefined, (q, s) => (q.method === "PUT" && s.puts.length === 0 ? void draft.edit(title("Second")) : null));
    let db, now;
    ({ db, draft, now } = await opened());
    draft.edit(title("First"));
    await draft.save();
    equal([now().status, stored.draft.weeks[0].title], ["unsaved", "First"], "status, and the title at the service after the first");
    await until(async () => (await kept(db))?.revision === 2, "the second to be kept on top of the first");
    await saved(now);
    equal(stored.puts.map((q) => [q.body.weeks[0].title, q.headers["If-Match"]]), [["First", '"1"'], ["Second", '"2"']], "the saves");
  },

  "a draft on top of an older one is put to the person": [
    async () => {
      const stored = programmes();
      const { db, draft } = await opened();
      stored.down = true;
      draft.edit(title("Ours"));
      await until(() => kept(db), "the draft to be kept");
    },
    async () => {
      const stored = programmes({ revision: 5, draft: content("Theirs, newer", true) });
      const { draft, now } = await opened();
      equal([now().status, now().content.weeks[0].title, now().conflict.theirs.draft.weeks[0].title, stored.puts.length], ["conflict", "Ours", "Theirs, newer", 0], "status, ours, theirs, saves");
      draft.edit(title("Ours, too"));
      await draft.save();
      equal([now().status, stored.puts.length], ["conflict", 0], "status and saves while the question stands");
      await draft.keepMine();
      equal([now().status, now().conflict, stored.draft.weeks[0].title, stored.puts[0].headers["If-Match"]], ["saved", null, "Ours, too", '"5"'], "after keeping ours: status, question, title, on top of what");
    },
  ],

  async "a save that another one overtook is put to the person"() {
    const stored = programmes();
    const { db, draft, now } = await opened();
    Object.assign(stored, { revision: 2, draft: content("Theirs, newer") });
    draft.edit(title("Ours"));
    await draft.save();
    equal([now().status, now().content.weeks[0].title, stored.draft.weeks[0].title], ["conflict", "Ours", "Theirs, newer"], "status, ours, and what the service has");
    await draft.takeTheirs();
    equal([now().status, now().content.weeks[0].title, await kept(db)], ["saved", "Theirs, newer", undefined], "after taking theirs: status, title, what is kept");
    draft.undo();
    equal([now().status, now().content.weeks[0].title], ["unsaved", "Ours"], "ours can be had back");
    await saved(now);
    equal(stored.draft.weeks[0].title, "Ours", "the title at the service");
  },

  async "ours can be kept as a programme of its own"() {
    const stored = programmes();
    const { draft, now } = await opened();
    Object.assign(stored, { revision: 2, draft: content("Theirs, newer") });
    draft.edit(title("Ours"));
    await draft.save();
    equal([await draft.copyMine(), now().content.weeks[0].title, now().status], ["p2", "Theirs, newer", "saved"], "the copy, and what is edited on");
  },

  async "the same on both sides is no conflict"() {
    const stored = programmes();
    const { db } = await opened();
    await db.write("drafts", { id: "p1", revision: 0, etag: '"0"', content: content("Theirs"), at: 1 });
    const { now } = await opened();
    equal([now().status, stored.puts.length], ["saved", 0], "status and saves");
  },

  "what the service refuses is kept, and told again": [
    async () => {
      programmes(undefined, (q) => (q.method === "PUT" ? { status: 422, body: { code: "programme_invalid", detail: "It is wrong.", errors: [{ pointer: "/weeks/0/title", detail: "is too long" }] } } : null));
      const { db, draft, now } = await opened();
      draft.edit(title("Far too long"));
      await draft.save();
      equal([now().status, now().problem.errors[0].detail, (await kept(db)).content.weeks[0].title], ["refused", "is too long", "Far too long"], "status, reason, what is kept");
    },
    async () => {
      const stored = programmes(undefined, (q) => (q.method === "PUT" && q.body.weeks[0].title !== "Short" ? { status: 422, body: { detail: "It is wrong." } } : null));
      const { draft, now } = await opened();
      await until(() => now().status === "refused", "the refusal to be told again");
      draft.edit(title("Short"));
      await saved(now);
      equal(stored.draft.weeks[0].title, "Short", "the title at the service");
    },
  ],

  async "a service that cannot answer is asked again"() {
    let busy = true;
    const stored = programmes(undefined, (q) => (busy && q.method === "PUT" ? { status: 503, body: {}, headers: { "Retry-After": "1" } } : null));
    const { draft, now } = await opened();
    draft.edit(title("Ours"));
    await draft.save();
    equal(now().status, "offline", "the status");
    busy = false;
    await saved(now); // by itself
    equal(stored.draft.weeks[0].title, "Ours", "the title at the service");
  },

  async "undoing goes back a hundred steps, and saves"() {
    const stored = programmes();
    const { draft, now } = await opened();
    for (let i = 1; i <= 120; i++) {
      draft.edit(title(`Step ${i}`));
      draft.settle();
    }
    let n = 0;
    for (; now().undoable; n++) draft.undo();
    equal([n, now().content.weeks[0].title], [100, "Step 20"], "steps that were undone, and the title");
    await saved(now);
    equal(stored.draft.weeks[0].title, "Step 20", "the title at the service");
    draft.undo();
    equal(now().content.weeks[0].title, "Step 20", "the title after undoing nothing");
  },

  async "undoing takes back a field, not a letter, and tells which"() {
    programmes();
    const { draft, now } = await opened();
    const minutes = (n) => (x) => (x.weeks[0].plans[0].minutes = n);
    for (const text of ["L", "Lo", "Low"]) draft.edit(title(text));
    for (const n of [5, 50]) draft.edit(minutes(n));
    draft.edit(title("Low a"));
    draft.edit(title("Low and soft"));
    draft.settle(); // the field was left, and entered again
    draft.edit(title("Low and sof"));
    const seen = [];
    for (; now().undoable; seen.push([now().content.weeks[0].title, now().content.weeks[0].plans[0].minutes, now().said])) draft.undo();
    equal(seen, [
      ["Low and soft", 60 - 10, "Undone: week 1, title."],
      ["Low", 50, "Undone: week 1, title."],
      ["Low", 60, "Undone: week 1, plan 1, minutes."],
      ["Theirs", 60, "Undone: week 1, title."],
    ], "title, minutes and what is told at each step");
  },

  async "what changes more than a field is undone on its own, and is told"() {
    programmes();
    const { draft, now } = await opened();
    draft.act((x) => (x.weeks.push({ title: "Second", plans: [] }), "A week more."));
    equal(now().said, "A week more.", "what is told");
    draft.act((x) => void x.weeks.push({ title: "Third", plans: [] }));
    draft.edit(title("First"));
    equal(now().said, "", "what is told of writing");
    const lengths = [];
    for (; now().undoable; lengths.push([now().content.weeks.length, now().said])) draft.undo();
    equal(lengths, [[3, "Undone: week 1, title."], [2, "Undone: week 3, week."], [1, "Undone: week 2, week."]], "weeks and what is told at each step");
  },

  async "it knows the one field that differs"() {
    const { fieldOf } = await load("desk/draft.js");
    const block = (more) => ({ weeks: [{ plans: [{ blocks: [{ kind: "test", drill: { lies: ["fringe"], ...more } }] }] }] });
    const of = (a, b) => fieldOf(block(a), block(b));
    const at = "/weeks/0/plans/0/blocks/0/drill";
    equal(of({}, { text: "x" }), `${at}/text`, "a text that was not there");
    equal(of({}, { lies: ["fringe", "rough"] }), `${at}/lies`, "a list of words");
    equal(of({ radius_m: 1 }, { radius_m: 2 }), `${at}/radius_m`, "a number");
    equal([of({}, {}), of({}, { text: "x", radius_m: 1 }), fieldOf(block(), { weeks: [] }), fieldOf({}, { weeks: [{}] })], [null, null, null, null], "nothing, two fields, a week less, the first week");
  },

  async "what was shown is never changed under the reader"() {
    programmes();
    const { draft, now } = await opened();
    const before = now().content;
    draft.edit(title("Ours"));
    equal(before.weeks[0].title, "Theirs", "the title that was shown before");
  },

  async "closing saves what is unsaved, and nothing is shown after it"() {
    const stored = programmes();
    const { draft, now } = await opened();
    draft.edit(title("Ours"));
    draft.close();
    await until(() => stored.puts.length === 1, "the save");
    equal([stored.draft.weeks[0].title, now().status], ["Ours", "saving"], "the title at the service, and the last status that was shown");
  },

  async "a damaged draft is left aside, and the service's is edited"() {
    const damaged = { empty: undefined, nothing: null, text: "Six weeks", list: [], "no weeks": { name: "Six weeks" }, "weeks of text": { name: "Six weeks", weeks: "two" }, "a week of nothing": { name: "x", weeks: [null] }, "plans of text": { name: "x", weeks: [{ plans: "one" }] }, "a block of nothing": { name: "x", weeks: [{ plans: [{ blocks: [null] }] }] } };
    const stored = programmes();
    const { db } = await opened();
    for (const [what, content] of Object.entries(damaged)) {
      await db.write("drafts", { id: "p1", revision: 1, etag: '"1"', content, at: 1 });
      const { draft, now } = await opened();
      equal([now().phase, now().status, now().content?.weeks?.[0].title, stored.puts.length], ["open", "saved", "Theirs", 0], `${what}: phase, status, title, saves`);
      draft.close();
    }
  },
};
