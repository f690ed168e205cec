// Progress: per skill the steps passed, the rate with its band, balls in a row, and the
// forecast in words. All numbers are the service's.

import { who } from "../base/account.js";
import { BandChart, Table } from "../base/chart.js";
import { OnCourse } from "../base/course.js";
import { Learning } from "../base/learning.js";
import { linesOf, linesText } from "../base/lesson.js";
import { Pace, PlayedOut } from "../base/playedout.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count, day, dayTime, lastSessions, minutes, near, number, percent, percents } from "../base/units.js";
import { changeText, nextText, rateText, sureText } from "../base/rates.js";
import { Misses } from "../base/misses.js";
import { askedText, Measured, useTests } from "../base/tests.js";
import { Volume } from "../base/volume.js";
import { ballsText, kindName, runText, tierText, waitText } from "../base/words.js";
import { Failed, html, Loading, Page } from "../base/ui.js";
import { Ladder } from "../base/ladder.js";
import { Bar } from "./parts.js";
import { LESSONS, progressPath } from "./plan.js";

export function Progress() {
  const progress = useLoad(progressPath());
  const { body } = progress;
  return html`<${Page} title="Progress">
    ${!body && progress.loading && html`<${Loading} what="your progress" />`}
    ${!body && progress.problem && html`<${Failed} what="Your progress" problem=${progress.problem} retry=${progress.reload} />`}
    ${body && body.sessions === 0 && html`<section class="empty"><h2>No sessions yet</h2><p>Your progress starts with the first ball that you log. <a href=${to("now")}>See what to do now.</a></p></section>`}
    ${body && body.skills.map((s) => html`<${Skill} key=${s.skill_id} skill=${s} />`)}
    ${body?.sessions > 0 && html`<${Learning} student=${who.value.membership.member_id} side="student" junior=${who.value.member?.junior} />`}
    <${PlayedOut} studentID=${who.value.membership.member_id} link=${(id) => to("session", id)} />
    <${Tests} />
    <${OnCourse} studentID=${who.value.membership.member_id} rounds=${to("rounds")} brief />
    ${body && body.sessions > 0 && html`<article><h2>How much</h2><${Volume} load=${body.load} /><${Pace} pace=${body.pace} /></article>`}
    ${body && body.assignments.length > 0 && html`<${Adherence} assignments=${body.assignments} time=${body.time} />`}
    ${body && progress.problem && html`<p class="as-of">Last updated ${dayTime(progress.at)}.</p>`}
  </${Page}>`;
}

/** Tests is what first tests and end tests say, and the way to them. */
function Tests() {
  const { body } = useTests(who.value.membership.member_id);
  if (!body || body.skills.length + body.due.length === 0) return null;
  return html`<article><h2>First and end tests</h2>
    ${body.skills.map((s) => html`<h3 key=${s.skill_id}>${s.skill_name}</h3><${Measured} skill=${s} />`)}
    ${body.due.length + body.starts.length > 0 && html`<p><a class="button" href=${to("tests")}>${body.due.length ? askedText(body.due) : "Where to begin"}</a></p>`}</article>`;
}

function Skill({ skill }) {
  const rates = useRates(skill);
  return html`<article class="skill">
    <h2>${skill.name}</h2>
    ${skill.ladder?.tiers.length > 0 && html`<${Ladder} tiers=${skill.ladder.tiers} held=${skill.held} />`}
    <p>${nextStep(skill)}</p>
    ${rates && html`<${RateChart} skill=${skill} rates=${rates} />`}
    ${changeText(skill) && html`<p>${changeText(skill)}</p>`}
    <details><summary>Why?<span class="unseen"> ${skill.name}</span></summary>
      <${Misses} counts=${skill.total.misses} />
      ${rates && html`<p>${rates.sentence}</p>`}
      ${skill.rate ? html`<p>Now ${rateText(skill.rate)}. ${sureText}</p><p>Next session: ${nextText(skill.next_session)}.</p>` : html`<p>No rate yet: no balls to go by.</p>`}
      ${skill.undecided ? html`<p>${skill.undecided.text}</p>` : skill.trend && html`<p>${skill.trend.text}</p>`}
      ${skill.best_run.length > 0 && html`<p>Most in a row: ${runText(skill.best_run)}.${skill.near ? ` Lately ${skill.near.text}.` : ""}</p>`}
      ${skill.forecast && html`<p>${forecastText(skill.forecast, skill.next_tier)}</p>`}
      ${rates && html`<${RateTable} skill=${skill} rates=${rates} />`}
      <p>This week ${tallyText(skill.week)}; in all ${tallyText(skill.total)}.</p>
      ${skill.milestones.length > 0 && html`<h3>Steps passed</h3><ul class="plain">${skill.milestones.map((m) => html`<li>${tierText(m.tier)}: ${day(m.at)}, <a href=${to("session", m.session_id)}>with ball ${m.ball} of block ${m.block}</a></li>`)}</ul>`}
    </details>
  </article>`;
}

/** nextStep says the next step and its chance, once. */
function nextStep({ next_tier: next, tiers, forecast }) {
  if (!next) return tiers ? `All ${count(tiers, "step")} passed. Warm up with it now and then.` : "No steps yet.";
  return `Next: ${tierText(next)}${forecast ? `, ${percent(forecast.next_session)} in the next session` : ""}.`;
}

function tallyText(t) {
  const attested = t.attested.balls ? ` and ${ballsText(t.attested.balls)} from cards` : "";
  return `${count(t.sessions, "session")}, ${ballsText(t.balls)}${attested}, ${minutes(t.seconds)}`;
}

/** forecastText says a forecast with its uncertainty. */
export function forecastText(f, tier) {
  const within = f.within.filter((w) => w.sessions > 1).map((w) => `${percent(w.probability)} within ${w.sessions}`);
  return `To pass ${tierText(tier)}: ${percent(f.next_session)} in the next session${within.length ? `, ${within.join(", ")}` : ""}; ${waitText(f.range_80_sessions, days(f.range_80_days))}.`;
}

function days({ low, high }) {
  if (low == null || high == null) return "";
  const [a, b] = [Math.max(1, Math.round(low)), Math.max(1, Math.round(high))];
  return a === b ? `, about ${count(a, "day")} at your pace` : `, ${a} to ${b} days at your pace`;
}

/** useRates gives a skill's rates session by session: { tier, points, sentence }; nothing while there are fewer than two. */
function useRates({ skill_id }) {
  const { body } = useLoad(`/v1/students/${who.value.membership.member_id}/skills/${skill_id}/history`);
  const points = body?.points ?? [];
  if (points.length < 2) return null;
  const said = (p) => `${percent(p.mean)} (${percents(p.interval_80.low, p.interval_80.high)}) on ${day(p.day)}`;
  return { tier: body.tier, points, sentence: `From ${said(points[0])} to ${said(points.at(-1))}; the rate lies in the band with 80 % probability.` };
}

/** stepsOf gives the steps passed in each session, by its id. */
const stepsOf = (skill) => new Map(skill.milestones.map((m) => [m.session_id, tierText(m.tier)]));

/** The height of a chart on a phone, in CSS pixels. */
const LOW = 150;

function RateChart({ skill, rates: { tier, points, sentence } }) {
  const made = stepsOf(skill);
  const lines = linesOf(useLoad(LESSONS).body?.items ?? [], points);
  return html`<${BandChart} title=${`Rate inside ${near(tier.radius_m)}`} sentence=${sentence} brief height=${LOW} lines=${lines}
    points=${points.map((p) => ({ ...p, label: day(p.day), low: p.interval_80.low, high: p.interval_80.high, mark: made.get(p.session_id) }))} />
    ${lines.length > 0 && html`<p class="small">${linesText(lines)}</p>`}`;
}

function RateTable({ skill, rates: { points } }) {
  const made = stepsOf(skill);
  return html`<${Table} caption="Rate, session by session" columns=${["Session", "Rate", "80 % band", "In", "Of balls", "Most in a row", "Step passed"]}
    rows=${points.map((p) => [day(p.day), percent(p.mean), percents(p.interval_80.low, p.interval_80.high), p.inside, p.judged, runText(p.best_run), made.get(p.session_id) ?? ""])} />`;
}

function Adherence({ assignments, time }) {
  return html`<section><h2>Programmes</h2><ul class="plain">${assignments.map((a) => html`<li>${a.programme_name}: ${a.position.phase === "upcoming" ? "not begun yet" : `${count(a.done, "session")} done, ${a.planned} due by now`}.</li>`)}</ul>
    ${time.sessions > 0 && html`<${TimeKept} time=${time} />`}</section>`;
}

function TimeKept({ time }) {
  const tenth = (n) => `${number(n, 1)} %`;
  const bar = (of) => html`<${Bar} label="Share of the time, in per cent" blocks=${time.kinds.map((k) => ({ kind: k.kind, minutes: Math.round(of(k)) })).filter((b) => b.minutes > 0)} />`;
  return html`<details><summary>Time against the plan</summary>
    <p>${lastSessions(time.sessions)} by a plan, in per cent.</p>
    <p class="small">Planned</p>${bar((k) => k.planned_percent)}
    <p class="small">Spent</p>${bar((k) => k.spent_percent)}
    <${Table} caption="Share of the time" columns=${["Block", "Spent", "Planned"]} rows=${time.kinds.map((k) => [kindName(k.kind), tenth(k.spent_percent), tenth(k.planned_percent)])} />
  </details>`;
}
