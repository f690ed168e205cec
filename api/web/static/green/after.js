// The summary of a session: what was done, what it means and what to do next time,
// in three lines; the details behind them. Counts are the phone's own; milestones,
// rates, notices and whether it counts are the service's, and stand here once the
// session was taken.

import { change, revised, sessions } from "../base/outbox.js";
import { to } from "../base/router.js";
import { useLoad } from "../base/load.js";
import { SendNow, sendingText } from "../base/status.js";
import { dayTimeAt, minutes, near, percent, percents } from "../base/units.js";
import { rateText } from "../base/rates.js";
import { ballsText, kindName, runText, tierText } from "../base/words.js";
import { Misses, missesOf } from "../base/misses.js";
import { playedText } from "../base/played.js";
import { Button, Failed, html, Loading, Notice, Page, useSend, Wrong } from "../base/ui.js";
import { madeIn, over } from "./log.js";
import { Bar, lazy } from "./parts.js";
import { planName, progressPath, useNow } from "./plan.js";
import { Refusal, Waits } from "./refusal.js";

/** Standing is how the match of a session stands. */
const Standing = lazy(() => import("./match.js"), "Standing");

/** After shows a session of this phone; its argument is the session's id. */
export function After({ args: [id] }) {
  const record = sessions.value?.find((r) => r.id === id && r.live);
  if (!sessions.value) return html`<${Loading} what="the session" />`;
  if (!record) return html`<${Page} title="Session summary"><p>This session is not kept on this phone. <a href=${to("session", id)}>See it in History.</a></p></${Page}>`;
  if (!over(record)) return html`<${Page} title="Session summary"><p>You are still in this session. <a href=${to("practice", id)}>Go on.</a></p></${Page}>`;
  const taken = !record.unsent && record.result;
  return html`<${Page} title="Session summary" lead=${`${record.plan.name}, ${dayTimeAt(record.content.started_at, record.content.time_zone)}`}>
    ${record.parked ? html`<${Refusal} record=${record} />` : !taken && html`<${Notice} title="Kept on this phone" live>${record.waits ? html`<${Waits} record=${record} />` : html`<p>${sendingText()}.</p>`}<p><${SendNow} /></p></${Notice}>`}
    <dl class="three">
      <div><dt>Done</dt><dd>${doneText(record)}${weekText(record, taken)}</dd></div>
      <div><dt>What it means</dt><dd><${Meaning} record=${record} result=${taken} /></dd></div>
      <div><dt>Next time</dt><dd><${NextTime} record=${record} taken=${taken} /></dd></div>
    </dl>
    ${record.content.match_id && html`<section><h2>Match</h2><${Standing} record=${record} /></section>`}
    ${record.plan.counts && html`<p>${record.plan.counts}</p>`}
    ${taken?.notices?.map((n) => html`<${Notice} title=${notCounting.includes(n.code) ? "What did not count" : undefined}><p>${n.detail}</p></${Notice}>`)}
    <${LeftOut} record=${record} />
    ${record.content.note && html`<section><h2>Note</h2><p class="text">${record.content.note}</p></section>`}
    <details><summary>Details</summary>
      <${Times} record=${record} />
      ${skillsOf(record).map((skill) => html`<${SkillDone} record=${record} id=${skill} result=${taken} />`)}
    </details>
    <p class="row"><a class="button main" href=${to("now")}>Back to Now</a><a class="button" href=${to("session", id)}>Ball by ball, and corrections</a></p>
  </${Page}>`;
}

/** notCounting are the notices that say why something did not count. */
const notCounting = ["not_counted", "not_in_a_row", "unmeasured", "other_block", "plan_missing"];

const skillsOf = (record) => [...new Set(record.content.blocks.map((b) => b.skill_id))];
const nameOf = (record, id) => record.plan.blocks.find((b) => b.skill_id === id)?.skill_name ?? "Skill";

const secondsOf = (record) => record.content.blocks.reduce((sum, b) => sum + b.seconds, 0);

/** resultText counts balls: "26 in, 3 of them holed". */
function resultText(balls) {
  const inside = balls.filter((b) => b.outcome !== "out").length;
  const holed = balls.filter((b) => b.outcome === "holed").length;
  return `${inside} in${holed ? `, ${holed} of them holed` : ""}`;
}

function doneText(record) {
  const balls = record.content.blocks.flatMap((b) => b.balls);
  return `${ballsText(balls.length)} in ${minutes(secondsOf(record))} (planned: ${record.plan.minutes}); ${resultText(balls)}. ${playedText(balls)}`.trim();
}

/** weekText says whether the session counts for its week, once the service knows. */
function weekText({ plan }, taken) {
  if (!taken || !plan.assignment_id) return "";
  return taken.counts ? " This counts as one of the week's sessions." : " Too little to count as one of the week's sessions.";
}

// --- what it means -----------------------------------------------------------

/** passedIn lists the steps that a session passed: { name, tier, block, ball }. */
function passedIn(record, result) {
  if (!result && record.edited) return []; // the phone reckons with what it counted
  return result
    ? result.milestones.map((m) => ({ name: nameOf(record, m.skill_id), tier: m.tier, block: kindName(result.blocks[m.block - 1]?.kind), ball: m.ball }))
    : skillsOf(record).flatMap((id) => madeIn(record, id).map((m) => ({ name: nameOf(record, id), tier: m.tier, block: kindName(record.plan.blocks[m.block].kind), ball: m.ball })));
}

/** Meaning is the step that was passed, or how near it was; and how the rate stands. */
function Meaning({ record, result }) {
  const passed = passedIn(record, result);
  const skill = mainSkill(record);
  const reading = focusReading(record, result, skill);
  return html`
    ${passed.length > 0 && html`<div class="milestones"><strong>${passed.length === 1 ? "A step passed" : "Steps passed"}</strong>
      <ul>${passed.map((m) => html`<li>${m.name}: ${tierText(m.tier)}, with ball ${m.ball} of ${m.block}</li>`)}</ul></div>`}
    ${passed.length > 0 && !result && html`<p class="small">Counted on this phone; confirmed once the session is sent.</p>`}
    ${passed.length === 0 && html`<p>${reading ? nearText(reading, record.skills[skill]) : result ? "Nothing in it counted toward a step." : "No step passed."}</p>`}
    ${result && skill && html`<${RateShort} id=${skill} name=${nameOf(record, skill)} before=${record.skills[skill]?.rate} since=${record.takenAt} />`}`;
}

const nearText = ({ tier, best_run: best }, { next_tier: next }) => `${next ? "No step passed; most" : "Most"} in a row inside ${near(tier.radius_m)}: ${best.length}${next ? ` of ${tier.run}` : ""}.`;

/** mainSkill is the one that got the most balls. */
function mainSkill(record) {
  const balls = (id) => record.content.blocks.filter((b) => b.skill_id === id).reduce((n, b) => n + b.balls.length, 0);
  return skillsOf(record).sort((a, b) => balls(b) - balls(a))[0];
}

/** changed says how a rate changed, where the range of neither holds the other; nothing is said of a rate at another circle. */
export function changed(before, rate) {
  if (before?.radius_m !== rate.radius_m) return "";
  const holds = ({ interval_80: { low, high } }, { mean }) => low <= mean && mean <= high;
  if (holds(before, rate) || holds(rate, before)) return ", no clear change";
  return `, ${rate.mean > before.mean ? "up" : "down"} from ${percent(before.mean)}`;
}

function RateShort({ id, name, before, since }) {
  const rate = useFresh(progressPath(), since).body?.skills.find((s) => s.skill_id === id)?.rate;
  if (!rate) return null;
  return html`<p>${name} inside ${near(rate.radius_m)}: ${percent(rate.mean)} (${percents(rate.interval_80.low, rate.interval_80.high)})${changed(before, rate)}.</p>`;
}

// --- what to do next time ------------------------------------------------------

/** NextTime is the next plan of the week, and the step that is next. */
function NextTime({ record, taken }) {
  const now = useNow();
  const progress = useFresh(progressPath(), record.takenAt).body;
  if (!now.body) return html`<p>Open Now for what is next.</p>`;
  const fresh = taken && now.at >= record.takenAt; // it knows of this session
  const plan = nextPlan(now.body, record.plan, fresh);
  const id = mainSkill(record);
  const next = fresh && now.body.skills.find((s) => s.id === id)?.next_tier;
  const chance = progress?.skills.find((s) => s.skill_id === id)?.forecast?.next_session;
  return html`<p>${plan ? `${planName(plan)}, ${plan.minutes} min` : "All of this week's sessions are done"}.</p>
    ${next && html`<p>Next step: ${tierText(next)}${chance != null ? `, ${percent(chance)} in one session` : ""}.</p>`}`;
}

/** nextPlan is the first plan of the week that is still to do, this session being done. */
function nextPlan(now, mine, fresh) {
  const here = (w, p) => !fresh && w.assignment_id === mine.assignment_id && w.week.number === mine.week && p.number === mine.plan;
  return now.work.flatMap((w) => (w.week?.plans ?? []).filter((p) => p.done + (here(w, p) ? 1 : 0) < p.times))[0];
}

// --- what was left out ---------------------------------------------------------

const whys = ["no time", "no room", "the weather", "it hurt"];

/** LeftOut lets a student say why blocks were not done; the words go into the note. */
function LeftOut({ record }) {
  const kinds = record.plan.blocks.filter((b) => !doneOf(record, b)).map((b) => kindName(b.kind)).join(", ");
  if (!kinds || record.content.note?.startsWith(LEFT)) return null;
  return html`<section><h2>${LEFT}: ${kinds}</h2>
    <p>Why? Optional; your coach sees it.</p>
    <div class="row">${whys.map((why) => html`<${Why} record=${record} kinds=${kinds} why=${why} />`)}</div></section>`;
}

const LEFT = "Left out";

function Why({ record, kinds, why }) {
  const note = (r) => [`${LEFT}: ${kinds} (${why}).`, r.content.note].filter(Boolean).join("\n").slice(0, 4000);
  const say = useSend(() => change(record.id, (r) => r && revised(r, { content: { ...r.content, note: note(r) } })));
  return html`<${Button} busy=${say.busy} onClick=${say.run}>${why[0].toUpperCase()}${why.slice(1)}</${Button}><${Wrong} problem=${say.problem} />`;
}

/** doneOf is what was done of a planned block; undefined when it got neither time nor balls. */
const doneOf = (record, block) => record.content.blocks.find((b) => !record.plan.assignment_id || b.plan_block === block.number);

// --- details -------------------------------------------------------------------

function Times({ record }) {
  const { blocks } = record.plan;
  const spent = blocks.map((b) => ({ ...b, minutes: Math.round((doneOf(record, b)?.seconds ?? 0) / 60) }));
  return html`<section><h2>Time spent</h2>
    <p class="small">Planned</p><${Bar} blocks=${blocks} />
    <p class="small">Spent</p><${Bar} blocks=${spent.filter((b) => b.minutes > 0)} />
    <table class="times"><caption class="unseen">Time spent against the plan</caption>
      <thead><tr><th scope="col">Block</th><th scope="col">Spent</th><th scope="col">Planned</th></tr></thead>
      <tbody>${blocks.map((b) => html`<tr><th scope="row">${kindName(b.kind)}</th><td>${doneOf(record, b) ? minutes(doneOf(record, b).seconds) : "not done"}</td><td>${b.minutes} min</td></tr>`)}</tbody>
    </table></section>`;
}

/** SkillDone says what a session did for a skill, and how the rate stands now. */
function SkillDone({ record, id, result }) {
  const balls = record.content.blocks.filter((b) => b.skill_id === id).flatMap((b) => b.balls);
  const reading = focusReading(record, result, id);
  return html`<section><h2>${nameOf(record, id)}</h2>
    <p>${ballsText(balls.length)}: ${resultText(balls)}.</p>
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
    ${before && (before.radius_m === rate.radius_m ? html`<p>Before this session: ${rateText(before)}.</p>` : html`<p>Before this session, at another circle: ${rateText(before)}.</p>`)}`;
}

/** useFresh loads a path, and shows nothing that is older than an instant. */
function useFresh(path, since) {
  const loaded = useLoad(path);
  return loaded.at >= since ? loaded : { problem: loaded.problem };
}
