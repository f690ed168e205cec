// A progress report to hand to a student or a parent, on A4 or Letter: what was
// achieved and what comes next, with the numbers behind. A junior's report carries
// the first name and no days.

import { who } from "../base/account.js";
import { CourseInShort } from "../base/course.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count, day, near, number, percent } from "../base/units.js";
import { ballsText, kindName, SEASON, tierText, waitText } from "../base/words.js";
import { Switch } from "../base/choices.js";
import { Button, Field, html, Page, useState } from "../base/ui.js";
import { active, AsOf, Missing, progressText } from "./parts.js";
import { Share } from "./share.js";
import { SkillCharts } from "./skillcharts.js";
import { Steps } from "./steps.js";

export function Report({ args: [id] }) {
  const progress = useLoad(`/v1/students/${id}/progress`);
  const { body } = progress;
  if (!body) return html`<${Page} title="Progress report"><${Missing} what="The progress" from=${progress} /></${Page}>`;
  return html`<${Written} body=${body} progress=${progress} />`;
}

const first = (name) => name.trim().split(/\s+/)[0];

function Written({ body, progress }) {
  const { student } = body;
  const [words, setWords] = useState("");
  const [numbers, setNumbers] = useState(false);
  const [charts, setCharts] = useState(true);
  const teaches = who.value.membership.role !== "guardian";
  const name = student.junior ? first(student.name) : student.name;
  const skills = body.skills.filter((s) => s.total.balls + s.total.attested.balls > 0 || s.milestones.length > 0);
  return html`<${Page} title=${`Progress report: ${name}`} lead=${`${who.value.membership.academy_name}, ${day(Date.now())}, by ${who.value.account.name}`}>
    <section class="screen-only panel report-tools"><p class="row"><${Button} kind="main" onClick=${() => print()}>Print</${Button}>${teaches && html`<a class="button" href=${to("student", student.id)}>Back to the student</a>`}</p>
      ${teaches && html`<${Field} as="textarea" label="Your own words" hint="Shown first, on paper and behind the link." rows="3" maxlength="2000" value=${words} onInput=${(e) => setWords(e.currentTarget.value)} />`}
      <${Switch} label="With the numbers behind it" on=${numbers} onChange=${setNumbers} />
      ${numbers && html`<${Switch} label="With charts" on=${charts} onChange=${setCharts} />`}<p class="small">Prints on A4 or Letter.</p>
      ${teaches && html`<${Share} student=${student} words=${words} />`}</section>
    <${AsOf} from=${progress} />
    ${words && html`<blockquote class="text own-words">${words}</blockquote>`}
    ${body.sessions === 0 && html`<p>No sessions yet. The report begins with the first ball logged.</p>`}
    ${body.sessions > 0 && html`<${Achieved} body=${body} name=${name} />`}
    <${Next} skills=${skills} name=${name} />
    <${NextWeek} id=${student.id} />
    <${CourseInShort} studentID=${student.id} />
    ${body.sessions > 0 && (numbers
      ? html`${skills.map((s) => html`<${Skill} key=${s.skill_id} student=${student} skill=${s} charts=${charts && !student.junior} />`)}${body.time.sessions > 0 && html`<${Time} time=${body.time} />`}`
      : html`<p class="screen-only"><${Button} kind="quiet" onClick=${() => setNumbers(true)}>Show the numbers behind it</${Button}></p>`)}
    <section class="cautions"><h2>Please keep in mind</h2><ul>
      <li>Estimates are advice, not a verdict on a person. Each has its likely range.</li>
      <li>On the green: look before each shot, never stand in front of anyone who is hitting, and stop for lightning.</li>
      <li>Stop if it hurts, add balls slowly, and see a doctor or physiotherapist if it keeps hurting.</li>
      ${student.junior && html`<li>This report is about a junior: it holds as little as possible. Give it only to the junior and the guardian.</li>`}</ul></section>
  </${Page}>`;
}

/** Achieved is the steps passed, the latest first. */
function Achieved({ body, name }) {
  const made = body.skills.flatMap((s) => s.milestones.map((m) => ({ ...m, skill: s.name }))).sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  return html`<section><h2>What was achieved</h2><p>${introText(body, name)}</p>
    ${made.length === 0 ? html`<p>The first step is still to come.</p>` : html`<ul class="plain">${made.map((m) => html`<li key=${m.session_id + m.skill_id + m.block + m.ball}><strong>${m.skill}:</strong> ${tierText(m.tier)}${body.student.junior ? "" : `, ${day(m.at)}`}</li>`)}</ul>`}</section>`;
}

/** NextWeek is what the programmes want from the coming week. */
function NextWeek({ id }) {
  const now = useLoad(`/v1/students/${id}/now`);
  const weeks = (now.body?.work ?? []).filter((w) => w.next_week);
  if (weeks.length === 0) return null;
  return html`<section class="whole"><h2>Next week</h2><ul class="plain">${weeks.map((w) => html`<li key=${w.assignment_id}><strong>${w.programme_name}, week ${w.next_week.number}${w.next_week.title ? `: ${w.next_week.title}` : ""}.</strong> ${w.next_week.plans.map((p) => `${p.name || `Session ${p.number}`}, ${p.minutes} min, ${p.times === 1 ? "once" : `${p.times} times`}`).join("; ")}.</li>`)}</ul></section>`;
}

function introText(body, name) {
  const where = (a) => (body.student.junior && a.position.phase === "upcoming" ? "about to begin" : progressText(a));
  const work = body.assignments.filter(active).map((a) => `${a.programme_name}: ${where(a)}`);
  return `${name} has logged ${count(body.sessions, "session")}.${work.length ? ` ${work.join("; ")}.` : ""}`;
}

function Skill({ student, skill, charts }) {
  const { rate } = skill;
  return html`<section class="report-skill"><h2>${skill.name}</h2>
    <p>${skill.tiers ? (skill.next_tier ? `${skill.held} of ${skill.tiers} steps passed. Next: ${tierText(skill.next_tier)}.` : `All ${skill.tiers} steps passed.`) : ""}
      ${rate ? ` About ${Math.round(100 * rate.mean)} of 100 balls finish inside ${near(rate.radius_m)} now (${Math.round(100 * rate.interval_80.low)} to ${Math.round(100 * rate.interval_80.high)}, 4 times in 5), from ${ballsText(rate.balls)} in ${count(rate.sessions, "session")}.` : ""}
      ${skill.best_run.length && skill.next_tier ? ` Most in a row inside ${near(skill.next_tier.radius_m)}: ${skill.best_run.length}.` : ""}</p>
    ${charts && html`<${SkillCharts} studentID=${student.id} skill=${skill} compact />`}</section>`;
}

function Time({ time }) {
  const tenth = (n) => `${number(n, 1)} %`;
  return html`<section class="whole"><h2>Time spent</h2><p>Over the last ${count(time.sessions, "session")} by a plan.</p><table><caption class="unseen">Share of the time</caption>
    <thead><tr><th scope="col">Block</th><th scope="col">Planned</th><th scope="col">Spent</th></tr></thead>
    <tbody>${time.kinds.map((k) => html`<tr><th scope="row">${kindName(k.kind)}</th><td>${tenth(k.planned_percent)}</td><td>${tenth(k.spent_percent)}</td></tr>`)}</tbody></table></section>`;
}

function Next({ skills, name }) {
  const open = skills.filter((s) => s.next_tier);
  return html`<section class="whole"><h2>What comes next</h2>${open.length === 0 ? html`<p>${skills.length ? `Every step is passed. Warm-ups keep the skills alive.` : `The first sessions of ${name}, by the plan.`}</p>` : html`<ul class="plain">${open.map((s) => html`<li key=${s.skill_id}><${Steps} skill=${s} quiet /> <strong>${s.name}:</strong> ${tierText(s.next_tier)}. ${nextText(s)}</li>`)}</ul>`}</section>`;
}

function nextText(s) {
  if (!s.forecast) return "Too few balls yet to say when.";
  const { low, high } = s.forecast.range_80_sessions;
  const chance = `Chance in the next session: ${percent(s.forecast.next_session)}`;
  if (low == null || high == null || high > SEASON) return `${chance}; it may take more than ${SEASON} sessions, so a step in between may help.`;
  return `${chance}; ${waitText({ low, high })} at this rate.`;
}
