// What is drawn and struck without help: the retest that a session may begin with, and
// the lot that hides the run in tests. It is loaded beside Now, so that it is at hand.

import { hash32 } from "../base/hash.js";
import { sessions } from "../base/outbox.js";
import { day, isoDay } from "../base/units.js";
import { tierText } from "../base/words.js";
import { Button, html, useSend, Wrong } from "../base/ui.js";

/** MINUTES are what a retest takes. */
const MINUTES = 6;

/**
 * hidden is the lot of a test of the plan, by the number of its block: with even odds
 * it hides the run and the odds. The service draws the same (domain/curriculum/lot.go).
 */
export function hidden(session, block) {
  let x = hash32(`${session}/${block}`);
  x = Math.imul(x ^ (x >>> 16), 0x85ebca6b);
  x = Math.imul(x ^ (x >>> 13), 0xc2b2ae35);
  return (x ^ (x >>> 16)) < 0;
}

const QUIET = "Quiet test: the balls in a row and your chance are hidden. It counts as ever.";

/** drawn draws the tests of a session's plan: those that are hidden are marked so. */
export function drawn(record, { quiet_tests: agreed }) {
  if (!agreed || !record.plan.assignment_id) return record;
  const blocks = record.plan.blocks.map((b) => (b.kind === "test" && b.number && !b.purpose && hidden(record.id, b.number) ? { ...b, quiet: true, say: QUIET } : b));
  return { ...record, plan: { ...record.plan, blocks } };
}

/** withRetest puts a retest before what is to be practised. */
export function withRetest({ plan, skills, ...todo }, { skill_id, skill_name, tier, balls }) {
  const text = `Retest: your first ${balls} balls of the day, cold. Play each as if it counted, then press Next.`;
  const block = { kind: "test", purpose: "retest", minutes: MINUTES, skill_id, skill_name, radius_m: tier.radius_m, drill: { text }, say: text };
  return {
    ...todo, plan: { ...plan, minutes: plan.minutes + MINUTES, blocks: [block, ...plan.blocks] },
    skills: { [skill_id]: { id: skill_id, name: skill_name, ladder: { tiers: [] }, held: 0, rate: null }, ...skills },
  };
}

/** dueNow is the retest to begin with: the longest due of a skill that was not struck today. */
export function dueNow(now) {
  const today = isoDay(Date.now(), now.time_zone);
  const on = (at) => isoDay(at, now.time_zone) === today;
  const here = (sessions.value ?? []).filter((r) => r.live && !r.deleted && on(r.live.started + r.clock));
  const struck = (id) => here.some((r) => r.live.blocks.some((b, i) => b.balls.length > 0 && r.plan.blocks[i].skill_id === id))
    || now.skills.some((s) => s.id === id && s.last_at && on(Date.parse(s.last_at)));
  return (now.retests ?? []).find((r) => !struck(r.skill_id));
}

/** Card offers the retest that is due; whoever just starts practice puts it off. */
export function Card({ now, begin }) {
  const due = dueNow(now);
  const start = useSend(() => begin((todo) => withRetest(todo, due)));
  if (!due) return null;
  return html`<section class="going" aria-labelledby="retest"><h2 id="retest">Is it held?</h2>
    <p>${due.skill_name}: you passed ${tierText(due.tier)} on ${day(due.passed_at)}. ${due.balls} balls before the warm-up show whether it lasts. Another day will do as well; the step stays passed.</p>
    <p><${Button} class="big" busy=${start.busy} onClick=${start.run}>Start with ${due.balls} cold balls</${Button}></p><${Wrong} problem=${start.problem} /></section>`;
}
