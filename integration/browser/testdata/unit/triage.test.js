import { equal, load, rejects, service, signedIn, until } from "./harness.js";

const HOUR = 3_600_000;

const reason = (name, more = {}) => ({ reason: name, evidence: `evidence of ${name}`, advice: `advice on ${name}`, ...more });
const row = (id, attention, more = {}) => ({
  student: { id, name: `Edda ${id}` }, joined_at: "2026-01-01T10:00:00Z", attention, assignments: [], skills: [], milestones: [], ...more,
});
const step = { label: "Give Edda 10 in a row inside 3 ft until passed", adjustment: { student_id: "a", kind: "step", skill_id: "pitch", tier: { run: 10, radius_m: 0.914 } } };

/** draw puts a part on the page, and gives what a person can press there by its name. */
async function draw(part) {
  const { html, render } = await load("base/ui.js");
  render(html`${part(html)}`, document.body);
  const named = (name) => [...document.querySelectorAll("button, a, input")].find((e) => (e.getAttribute("aria-label") ?? e.innerText).includes(name));
  return { named, press: async (name) => (await until(() => named(name), `something called ${name}`), named(name).click()) };
}

export const tests = {
  async "groups students by their most pressing reason, and says the same advice once"() {
    const { groupsOf } = await load("desk/triage.js");
    const groups = groupsOf([
      row("a", [reason("lapsed"), reason("flat")]), row("b", [reason("lapsed")]),
      row("c", [reason("flat", { silenced: { until: "2026-05-09" } }), reason("ending")].reverse()),
    ]);
    equal(groups.map((g) => [g.reason, g.rows.map((r) => r.student.id), g.advice]), [["lapsed", ["a", "b"], "advice on lapsed"], ["ending", ["c"], ""]], "the groups");
  },
  async "leads with what can be acted on, of the most pressing reason at several skills"() {
    const { leadOf } = await load("desk/triage.js");
    const at = (name, skill, actions) => reason(name, { skill_id: skill, actions });
    equal(leadOf(row("a", [at("flat", "chip", []), at("flat", "pitch", [step]), at("outgrown", "lob", [step])])).skill_id, "pitch", "the same reason, with an action");
    equal(leadOf(row("a", [at("slipping", "chip"), at("flat", "pitch", [step])])).skill_id, "chip", "a more pressing one without");
  },
  async "offers what the service proposes first, and else the most fitting thing by hand"() {
    const { actionsOf } = await load("desk/act.js");
    const running = { assignments: [{ position: { phase: "running" } }] };
    const does = (row) => actionsOf(row, row.attention[0]).map((a) => [a.label, Boolean(a.adjustment), a.ask ?? a.href ?? ""]);
    equal(does(row("a", [reason("overreached", { actions: [step] })], { last_at: "2026-05-01T10:00:00Z" })), [[step.label, true, ""], ["Write a comment", false, "write"]], "a step");
    equal(does(row("a", [reason("lapsed")], running)), [["Pause", false, "pause"]], "without a session there is none to write on");
    equal(does(row("a", [reason("ending")])), [["Assign a programme", false, "#/assign?student=a"]], "an end");
    equal(does(row("a", [reason("uncoached")])), [["Choose a coach", false, "#/member/a"]], "no coach");
  },
  async "adjusts in one press, and takes it back in one"() {
    await signedIn();
    const { Triage } = await load("desk/triage.js");
    const asked = service(({ path }) => ({ status: 200, body: path.endsWith("/end") ? { id: "x", ended_at: "2026-05-06T10:00:00Z" } : { results: [{ student_id: "a", adjustment: { id: "x" } }] } }));
    let changed = 0;
    const rows = [row("a", [reason("overreached", { actions: [step], figure: "1 in 40" })])];
    const page = await draw((html) => html`<${Triage} rows=${rows} onChange=${() => changed++} />`);
    await page.press(step.label);
    await until(() => page.named("Undo"), "the way back");
    equal([document.querySelector(".done").innerText.startsWith("Done."), document.activeElement === page.named("Undo")], [true, true], "it says so, and keeps the focus");
    await page.press("Undo");
    await until(() => page.named(step.label), "the button again");
    equal(asked.map((q) => [q.method, q.path, q.body]), [["POST", "/v1/adjustments", { items: [step.adjustment] }], ["POST", "/v1/adjustments/x/end", undefined]], "what was asked");
    equal(changed, 2, "how often the dashboard is read again");
  },
  async "says why an adjustment was refused"() {
    await signedIn();
    const { adjust } = await load("desk/act.js");
    service(() => ({ status: 200, body: { results: [{ student_id: "a", problem: { status: 409, code: "adjusted_already", detail: "The student's plan is adjusted so already." } }] } }));
    const problem = await rejects(adjust(step.adjustment), "a refused adjustment");
    equal([problem.status, problem.code, problem.detail, problem.known], [409, "adjusted_already", "The student's plan is adjusted so already.", true], "the problem");
  },
  async "marks many as seen at once, and takes it back"() {
    await signedIn();
    const { seen } = await load("desk/act.js");
    const asked = service(({ body }) => ({ status: 200, body: { results: body.items.map((item) => (item.student_id === "gone" ? { student_id: "gone", problem: { status: 404, detail: "There is no such student." } } : { student_id: item.student_id, acknowledgement: {} })) } }));
    const done = await seen([row("a", [reason("lapsed"), reason("flat", { skill_id: "pitch" }), reason("ending", { silenced: { until: "2026-05-09" } })]), row("gone", [reason("lapsed")])]);
    equal(asked[0].body.items, [{ student_id: "a", reason: "lapsed", days: 14 }, { student_id: "a", reason: "flat", skill_id: "pitch", days: 14 }, { student_id: "gone", reason: "lapsed", days: 14 }], "what is marked");
    equal([asked[0].path, done.students, done.refused.map((p) => p.status)], ["/v1/acknowledgements", 1, [404]], "what came of it");
    await done.undo();
    equal(asked[1].body.items.map((i) => [i.student_id, i.reason, i.days]), [["a", "lapsed", 0], ["a", "flat", 0]], "what is taken back");
  },
  async "does not miss whoever has just joined"() {
    const { unseen } = await load("desk/today.js");
    const now = Date.parse("2026-05-20T10:00:00Z");
    const at = (id, joined, last) => row(id, [], { joined_at: joined, last_at: last });
    const rows = [at("new", "2026-05-20T09:59:00Z"), at("six days", "2026-05-14T10:00:01Z"), at("never", "2026-05-13T10:00:00Z"), at("away", "2026-01-01T10:00:00Z", "2026-05-10T10:00:00Z"), at("here", "2026-01-01T10:00:00Z", "2026-05-19T10:00:00Z")];
    equal(unseen(rows, now).map((r) => r.student.id), ["never", "away"], "who was not seen");
  },
  async "counts a session as going on by when it was played"() {
    const { goingOn, playedUntil } = await load("desk/live.js");
    const now = Date.parse("2026-05-20T10:00:00Z");
    const played = (hoursAgo, more) => ({ started_at: new Date(now - hoursAgo * HOUR).toISOString(), received_at: new Date(now).toISOString(), blocks: [{ seconds: 1800, balls: [{ after_s: 3600 }] }], ...more });
    equal([playedUntil(played(5)), playedUntil(played(5, { blocks: [{ seconds: 7200 }] })), playedUntil(played(5, { blocks: [] }))], [now - 4 * HOUR, now - 3 * HOUR, now - 5 * HOUR], "until when");
    equal([goingOn(played(24), now), goingOn(played(2.9), now), goingOn(played(3), now), goingOn(played(1, { ended_at: "2026-05-20T09:59:00Z" }), now)], [false, true, false, false], "arrived just now, played when");
  },
  async "says why balls in a row are not counted"() {
    const [{ silence }, { read }] = [await load("desk/clinic.js"), await load("base/judge.js")];
    const tier = { run: 5, radius_m: 0.9144 };
    const inside = (n) => Array.from({ length: n }, () => ({ outcome: "in" }));
    const why = (kind, balls, radius, testOnly) => silence({ kind, balls, radius_m: radius }, tier, read(balls, tier, radius), { test_only: testOnly });
    equal(why("test", inside(3), 0.9144), "", "what counts needs no words");
    equal(why("test", inside(30), 1.524), "None of these balls counts: judged inside 5 ft, and the next step is inside 3 ft. Judge at 3 ft, or measure the distance left.", "another circle");
    equal(why("test", [...inside(2), { outcome: "out" }], 1.524).split(":")[0], "2 of these balls do not count", "some of them");
    equal(why("random", inside(3), 0.9144), "In a row is not counted here: random is no test of a step.", "another kind of block");
    equal(why("warmup", inside(3), 0.9144, true), "In a row is not counted here: for this skill steps are passed in tests alone.", "tests alone");
  },
  async "says in words what the small drawings show"() {
    const { lineText, stepsText } = await load("desk/steps.js");
    equal([stepsText({ held: 2, tiers: 4, next_tier: { run: 9, radius_m: 1.524 } }), stepsText({ held: 1, tiers: 1 }), stepsText({ held: 0, tiers: 0 })],
      ["2 of 4 steps passed; next: 9 in a row inside 5 ft", "1 of 1 step passed", "no steps"], "the steps");
    equal([lineText([0.48, 0.55, 0.591]), lineText([0.48])], ["rate from 48 to 59 % over 3 sessions", "rate 48 %"], "the line");
  },
  async "cuts a scale to where the line lies, and not too close"() {
    const { cut } = await load("base/chart.js");
    equal([cut(0.42, 0.58), cut(0.5, 0.51), cut(0, 0.02), cut(0.97, 1), cut(0, 1), cut(0.3, 0.6)], [[0.3, 0.6], [0.4, 0.7], [0, 0.3], [0.7, 1], [0, 1], [0.3, 0.6]], "the ends");
    equal(cut(0.48, 0.55, { span: 0.2, by: 0.05 }), [0.4, 0.6], "of a small line");
  },
};
