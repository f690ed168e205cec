// Afterwards: what a session did. Counts are the phone's own; milestones, rates,
// notices and whether it counts are the service's, and stand here once the session
// was taken.

import { sessions } from "../base/outbox.js";
import { to } from "../base/router.js";
import { useLoad } from "../base/load.js";
import { SendNow, sendingText } from "../base/status.js";
import { dayTime, minutes, near } from "../base/units.js";
import { rateText } from "../base/rates.js";
import { ballsText, kindName, runText, tierText } from "../base/words.js";
import { Misses, missesOf } from "../base/misses.js";
import { Failed, html, Loading, Notice, Page } from "../base/ui.js";
import { madeIn, over } from "./log.js";
import { progressPath } from "./plan.js";
import { Refusal } from "./refusal.js";

/** After shows a session of this phone; its argument is the session's id. */
export function After({ args: [id] }) {
  const record = sessions.value?.find((r) => r.id === id && r.live);
  if (!sessions.value) return html`<${Loading} what="the session" />`;
  if (!record) return html`<${Page} title="Afterwards"><p>This session is not kept on this phone. <a href=${to("session", id)}>See it in History.</a></p></${Page}>`;
  if (!over(record)) return html`<${Page} title="Afterwards"><p>This session still goes on. <a href=${to("practice", id)}>Go on.</a></p></${Page}>`;
  const taken = !record.unsent && record.result;
  return html`<${Page} title="Afterwards" lead=${`${record.plan.name}, ${dayTime(record.content.started_at)}`}>
    ${record.parked ? html`<${Refusal} record=${record} />` : !taken && html`<${Notice} title="Kept on this phone" live><p>${sendingText()}.</p><p><${SendNow} /></p></${Notice}>`}
    <${Milestones} record=${record} result=${taken} />
    ${taken?.notices?.map((n) => html`<${Notice} title=${notCounting.includes(n.code) ? "What did not count" : undefined}><p>${n.detail}</p></${Notice}>`)}
    <${Times} record=${record} counts=${taken && taken.counts} />
    ${skillsOf(record).map((skill) => html`<${SkillDone} record=${record} id=${skill} result=${taken} />`)}
    ${record.content.note && html`<section><h2>Note</h2><p class="text">${record.content.note}</p></section>`}
    <p class="row"><a class="button" href=${to("session", id)}>Ball by ball, and corrections</a><a class="button" href=${to("now")}>Back to Now</a></p>
  </${Page}>`;
}

/** notCounting are the notices that say why something did not count. */
const notCounting = ["not_counted", "not_in_a_row", "unmeasured", "other_block", "plan_missing"];

const skillsOf = (record) => [...new Set(record.content.blocks.map((b) => b.skill_id))];
const nameOf = (record, id) => record.plan.blocks.find((b) => b.skill_id === id)?.skill_name ?? "Skill";

function Milestones({ record, result }) {
  if (!result && record.edited) return null; // the phone reckons with what it counted
  const made = result
    ? result.milestones.map((m) => ({ name: nameOf(record, m.skill_id), tier: m.tier, block: kindName(result.blocks[m.block - 1]?.kind), ball: m.ball }))
    : skillsOf(record).flatMap((id) => madeIn(record, id).map((m) => ({ name: nameOf(record, id), tier: m.tier, block: kindName(record.plan.blocks[m.block].kind), ball: m.ball })));
  if (made.length === 0) return null;
  return html`<section class="milestones"><h2>${made.length === 1 ? "A step passed" : "Steps passed"}</h2>
    <ul>${made.map((m) => html`<li><strong>${m.name}: ${tierText(m.tier)}</strong><br />with ball ${m.ball} of ${m.block}</li>`)}</ul>
    ${!result && html`<p class="as-of">Counted on this phone; confirmed once the session is sent.</p>`}
  </section>`;
}

function Times({ record, counts }) {
  const { blocks, assignment_id: planned } = record.plan;
  const done = (b) => record.content.blocks.find((x) => !planned || x.plan_block === b.number);
  const total = record.content.blocks.reduce((sum, b) => sum + b.seconds, 0);
  return html`<section><h2>Time</h2>
    <p>${minutes(total)} of the planned ${record.plan.minutes} min.${counts ? " This counts as one of the week's sessions." : ""}</p>
    <table class="times"><caption class="unseen">Time spent against the plan</caption>
      <thead><tr><th scope="col">Block</th><th scope="col">Spent</th><th scope="col">Planned</th></tr></thead>
      <tbody>${blocks.map((b) => html`<tr><th scope="row">${kindName(b.kind)}</th><td>${done(b) ? minutes(done(b).seconds) : "not done"}</td><td>${b.minutes} min</td></tr>`)}</tbody>
    </table></section>`;
}

/** SkillDone says what a session did for a skill, and how the rate stands now. */
function SkillDone({ record, id, result }) {
  const balls = record.content.blocks.filter((b) => b.skill_id === id).flatMap((b) => b.balls);
  const inside = balls.filter((b) => b.outcome !== "out").length;
  const holed = balls.filter((b) => b.outcome === "holed").length;
  const reading = focusReading(record, result, id);
  return html`<section><h2>${nameOf(record, id)}</h2>
    <p>${ballsText(balls.length)}: ${inside} in${holed ? `, ${holed} of them holed` : ""}.</p>
    ${reading && html`<p>Most in a row inside ${near(reading.tier.radius_m)}: ${runText(reading.best_run)}.${reading.near ? ` That is near: ${reading.near.text}.` : ""}</p>`}
    <${Misses} counts=${missesOf(balls)} />
    ${result && html`<${RateNow} id=${id} before=${record.skills[id]?.rate} since=${record.takenAt} />`}
  </section>`;
}

/** focusReading is what the session says about the tier that was next when it began. */
function focusReading(record, result, id) {
  const skill = record.skills[id];
  const wanted = skill?.next_tier ?? skill?.ladder.tiers.at(-1);
  const same = (t) => t.run === wanted?.run && t.radius_m === wanted.radius_m && (t.holed ?? 0) === (wanted.holed ?? 0);
  return result?.results?.find((r) => r.skill_id === id && same(r.tier) && r.judged > 0);
}

function RateNow({ id, before, since }) {
  const progress = useFresh(progressPath(), since);
  if (progress.problem && !progress.body) return html`<${Failed} what="Your rate" problem=${progress.problem} />`;
  const rate = progress.body?.skills.find((s) => s.skill_id === id)?.rate;
  if (!rate) return null;
  return html`<p>Now: ${rateText(rate)}.</p>
    ${before && (before.radius_m === rate.radius_m ? html`<p>Before this session: ${rateText(before)}.</p>` : html`<p>Before this session it was read at another radius: ${rateText(before)}.</p>`)}`;
}

/** useFresh loads a path, and shows nothing that is older than an instant. */
function useFresh(path, since) {
  const loaded = useLoad(path);
  return loaded.at >= since ? loaded : { problem: loaded.problem };
}
