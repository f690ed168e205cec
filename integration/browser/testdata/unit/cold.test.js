import { equal, load } from "./harness.js";

const cold = await load("green/cold.js");
const log = await load("green/log.js");
const { heldText, stepText, standsText } = await load("base/learning.js");

const T0 = Date.UTC(2026, 4, 6, 10, 0, 0);
const ladder = { tiers: [{ run: 2, radius_m: 1.2 }] };
const block = (number, kind) => ({ number, kind, minutes: 10, skill_id: "chip", skill_name: "Chip", radius_m: 1.2, drill: {} });
const todo = (assignment_id) => ({
  plan: { assignment_id, week: 1, plan: 1, name: "Hour", minutes: 30, blocks: [block(1, "warmup"), block(2, "test"), block(3, "test")] },
  skills: { chip: { id: "chip", name: "Chip", ladder, held: 0 } },
});
const struck = (record, n) => Array.from({ length: n }).reduce((r, _, i) => log.strike(r, "in", T0 + 1000 * (i + 1)), record);

export const tests = {
  "a retest is the first block, no part of the plan, and takes its skill along"() {
    const due = { skill_id: "pitch", skill_name: "Pitch", tier: { run: 5, radius_m: 1.5 }, balls: 10 };
    const r = struck(log.begin(cold.withRetest(todo("a1"), due), T0), 3);
    equal([r.plan.minutes, r.plan.blocks.map((b) => b.number ?? "retest")], [36, ["retest", 1, 2, 3]], "the plan");
    const [sent] = r.content.blocks;
    equal([sent.purpose, sent.skill_id, sent.radius_m, "plan_block" in JSON.parse(JSON.stringify(sent)), sent.balls.length], ["retest", "pitch", 1.5, false, 3], "what is sent");
    equal([log.ladderState(r), log.madeIn(r, "pitch")], [null, []], "it passes no step");
  },

  "the tests that the lot hides are marked, sent as quiet, and show no run"() {
    for (let i = 0; i < 20; i++) {
      const r = cold.drawn(log.begin(todo("a1"), T0 + i), { quiet_tests: true });
      const lots = r.plan.blocks.map((b) => b.kind === "test" && cold.hidden(r.id, b.number));
      equal(r.plan.blocks.map((b) => Boolean(b.quiet)), lots, "hidden");
      const second = struck(log.next(r, T0 + 500), 2);
      equal([second.content.blocks.at(-1).quiet ?? false, log.ladderState(second) === null, log.madeIn(second, "chip").length], [lots[1], lots[1], 1], "the first test");
    }
  },

  "nothing is drawn without agreement, or in practice of one's own"() {
    const plain = (record, agreed) => cold.drawn(record, { quiet_tests: agreed }).plan.blocks.every((b) => !b.quiet);
    for (let i = 0; i < 20; i++) equal([plain(log.begin(todo("a1"), T0 + i), false), plain(log.begin(todo(undefined), T0 + i), true)], [true, true], "not drawn");
  },

  "a retest is offered of a skill that was not struck today"() {
    const now = (last_at) => ({ time_zone: "UTC", skills: [{ id: "chip", last_at }], retests: [{ skill_id: "chip" }] });
    equal(cold.dueNow(now(new Date(Date.now() - 3 * 86_400_000).toISOString()))?.skill_id, "chip", "three days ago");
    equal([cold.dueNow(now(new Date().toISOString())), cold.dueNow({ ...now(), retests: [] })], [undefined, undefined], "today, or none due");
  },

  "a skill's steps are summed up"() {
    const [held, open] = [{ held_at: "2026-04-12T10:00:00Z" }, {}];
    equal([heldText({ steps: [open] }), heldText({ steps: [held, open, open], retest_due: {} }), heldText({ steps: [held] }), heldText({ steps: [held, held] })],
      ["1 step passed, none held yet.", "3 steps passed, 1 held; a retest is due.", "1 step passed, and held.", "2 steps passed, all held."], "sums");
  },

  "what is known of a step is said"() {
    const passed = { passed_at: "2026-04-02T10:00:00Z", retests: 0, balls: 0, inside: 0, due_at: "2999-04-09T10:00:00Z" };
    equal(/not held yet: not tried cold so far; next retest from/.test(stepText(passed)), true, "no retest");
    equal(/not held yet: 4 of 10 cold balls inside; a retest is due\.$/.test(stepText({ ...passed, retests: 1, balls: 10, inside: 4, due_at: "2026-04-20T10:00:00Z" })), true, "one retest");
    equal(/held .*\(8 of 10 cold balls inside\)\.$/.test(stepText({ ...passed, retests: 1, balls: 10, inside: 8, held_at: "2026-04-12T10:00:00Z", due_at: undefined })), true, "held");
    equal(/with a harder step\.$/.test(stepText({ ...passed, held_at: "2026-04-12T10:00:00Z" })), true, "held with a harder one");
  },

  "who agreed is said to each side"() {
    const yes = { agrees: true };
    equal([standsText({ agreed: false }, "coach"), standsText({ agreed: false, student: yes }, "student"), standsText({ agreed: false, coach: yes }, "student"), standsText({ agreed: false, student: yes }, "coach"), standsText({ agreed: true, student: yes, coach: yes }, "coach"),
      standsText({ agreed: false, guardian: yes }, "student", true), standsText({ agreed: false, guardian: yes, coach: yes, student: { agrees: false } }, "coach", true)],
      ["Nobody has agreed yet.", "You have agreed; the other side has not yet.", "Your coach has agreed; the other side has not yet.", "The student's side has agreed; the other side has not yet.", "Both sides agree: tests are drawn.",
        "Your guardian has agreed; the other side has not yet.", "The junior has said no: no test is drawn."], "who");
  },
};
