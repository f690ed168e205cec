// Progress: per skill the steps passed, the rate with its band, balls in a row, and the
// forecast in words. All numbers are the service's.

import { who } from "../base/account.js";
import { BandChart, Table } from "../base/chart.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count, day, dayTime, minutes, near, number, percent, percents } from "../base/units.js";
import { changeText, nextText, rateText } from "../base/rates.js";
import { Misses } from "../base/misses.js";
import { Volume } from "../base/volume.js";
import { ballsText, kindName, runText, tierText, waitText } from "../base/words.js";
import { Failed, html, Loading, Page } from "../base/ui.js";
import { progressPath } from "./plan.js";

export function Progress() {
  const progress = useLoad(progressPath());
  const { body } = progress;
  return html`<${Page} title="Progress">
    ${!body && progress.loading && html`<${Loading} what="your progress" />`}
    ${!body && progress.problem && html`<${Failed} what="Your progress" problem=${progress.problem} retry=${progress.reload} />`}
    ${body && body.sessions === 0 && html`<section class="empty"><h2>No sessions yet</h2><p>Your progress starts with the first ball that you log. <a href=${to("now")}>See what to do now.</a></p></section>`}
    ${body && body.skills.map((s) => html`<${Skill} key=${s.skill_id} skill=${s} />`)}
    ${body && body.sessions > 0 && html`<article><h2>How much</h2><${Volume} load=${body.load} /></article>`}
    ${body && body.assignments.length > 0 && html`<${Adherence} assignments=${body.assignments} />`}
    ${body && body.time.sessions > 0 && html`<${TimeKept} time=${body.time} />`}
    ${body && progress.problem && html`<p class="as-of">As of ${dayTime(progress.at)}; no fresh answer since.</p>`}
  </${Page}>`;
}

function Skill({ skill }) {
  return html`<article class="skill">
    <h2>${skill.name}</h2>
    <p>${ladderText(skill)}</p>
    ${changeText(skill) && html`<p>${changeText(skill)}</p>`}
    ${skill.rate ? html`<p>Now ${rateText(skill.rate)}.</p><p>Next session: ${nextText(skill.next_session)}.</p>` : html`<p>No rate yet: no balls to go by.</p>`}
    ${skill.best_run.length > 0 && html`<p>Most in a row: ${runText(skill.best_run)}.${skill.near ? ` Lately ${skill.near.text}.` : ""}</p>`}
    <p>This week ${tallyText(skill.week)}; in all ${tallyText(skill.total)}.</p>
    ${skill.undecided ? html`<p>${skill.undecided.text}</p>` : skill.trend && html`<p>${skill.trend.text}</p>`}
    ${skill.forecast && html`<p>${forecastText(skill.forecast, skill.next_tier)}</p>`}
    <${RateChart} skill=${skill} />
    <${Misses} counts=${skill.total.misses} />
    ${skill.milestones.length > 0 && html`<h3>Steps passed</h3><ul class="milestones">${skill.milestones.map((m) => html`<li>${tierText(m.tier)}: ${day(m.at)}, <a href=${to("session", m.session_id)}>with ball ${m.ball} of block ${m.block}</a></li>`)}</ul>`}
  </article>`;
}

function ladderText(skill) {
  if (!skill.next_tier) return skill.tiers ? `All ${skill.tiers} steps passed. Keep it alive.` : "No steps yet.";
  const held = skill.held_tier ? `Passed: ${tierText(skill.held_tier)}. ` : "";
  return `${held}Next: ${tierText(skill.next_tier)} (step ${skill.held + 1} of ${skill.tiers}).`;
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

function RateChart({ skill }) {
  const history = useLoad(`/v1/students/${who.value.membership.member_id}/skills/${skill.skill_id}/history`);
  const points = history.body?.points ?? [];
  if (points.length < 2) return null;
  const made = new Map(skill.milestones.map((m) => [m.session_id, tierText(m.tier)]));
  const { tier } = history.body;
  const said = (p) => `${percent(p.mean)} (${percents(p.interval_80.low, p.interval_80.high)}) on ${day(p.day)}`;
  const sentence = `From ${said(points[0])} to ${said(points.at(-1))}; the band holds the rate with 80 % probability.`;
  return html`<${BandChart} title=${`Rate inside ${near(tier.radius_m)}, session by session`} sentence=${sentence}
    points=${points.map((p) => ({ ...p, label: day(p.day), low: p.interval_80.low, high: p.interval_80.high, mark: made.get(p.session_id) }))}
    columns=${["Session", "Rate", "80 % band", "In", "Of balls", "Most in a row", "Step passed"]}
    row=${(p) => [p.label, percent(p.mean), percents(p.low, p.high), p.inside, p.judged, runText(p.best_run), p.mark ?? ""]} />`;
}

function Adherence({ assignments }) {
  return html`<section><h2>Programmes</h2><ul class="plain">${assignments.map((a) => html`<li>${a.programme_name}: ${count(a.done, "session")} done of ${a.planned} planned so far.</li>`)}</ul></section>`;
}

function TimeKept({ time }) {
  const tenth = (n) => `${number(n, 1)} %`;
  return html`<section><h2>Time against the plan</h2>
    <p>Over the last ${count(time.sessions, "session")} by a plan.</p>
    <${Table} caption="Share of the time" columns=${["Block", "Spent", "Planned"]} rows=${time.kinds.map((k) => [kindName(k.kind), tenth(k.spent_percent), tenth(k.planned_percent)])} />
  </section>`;
}
