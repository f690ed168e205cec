// One student: a strip for each skill, reasons to look, what was changed, programme,
// time against the plan, sessions. Charts and tables open on demand.

import { OnCourse } from "../base/course.js";
import { Matches } from "../base/matches.js";
import { Pace, PlayedOut } from "../base/playedout.js";
import { Bag } from "../base/bag.js";
import { Learning } from "../base/learning.js";
import { Season } from "../base/season.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count, day, lastSessions, minutes, near, number, percent } from "../base/units.js";
import { changeText, nextText, rateText, sureText } from "../base/rates.js";
import { Misses } from "../base/misses.js";
import { Volume } from "../base/volume.js";
import { ballsText, kindName, runText, tierText, waitText } from "../base/words.js";
import { Button, html, Notice, Page, useState } from "../base/ui.js";
import { AssignmentActions, CommentDialog, SeenDialog, unsilence } from "./actions.js";
import { actionsOf, endAdjustment } from "./act.js";
import { Adjustments, useAdjustments } from "./adjustments.js";
import { Split } from "./charts.js";
import { active, AsOf, ladderText, Missing, progressText, seenText, useKeptFocus } from "./parts.js";
import { reasonText } from "./reasons.js";
import { SessionList } from "./sessions.js";
import { SkillCharts } from "./skillcharts.js";
import { Line, Steps } from "./steps.js";
import { Tests } from "./tests.js";
import { Action, Done, Reason, untilText } from "./triage.js";

export function StudentPage({ args: [id] }) {
  const progress = useLoad(`/v1/students/${id}/progress`);
  const adjustments = useAdjustments(id);
  const reload = () => (progress.reload(), adjustments.reload());
  const { body } = progress;
  if (!body) return html`<${Page} title="Student" wide><${Missing} what="The student" from=${progress} /></${Page}>`;
  return html`<${Page} title=${body.student.name} wide lead=${body.last_at ? `${count(body.sessions, "session")}, ${seenText(body.last_at)}.` : "No session yet."}>
    <${AsOf} from=${progress} />
    ${body.student.junior && html`<p><strong>Junior.</strong> As little data as possible; the club's safeguarding rules come first.</p>`}
    <${Actions} body=${body} reload=${progress.reload} />
    ${body.skills.length > 0 && html`<section class="strips" aria-labelledby="skills"><h2 class="unseen" id="skills">Skills</h2>${body.skills.map((s) => html`<${Strip} key=${s.skill_id} studentID=${id} skill=${s} />`)}</section>`}
    ${body.skills.filter((s) => s.uncounted).map((s) => html`<${Notice} key=${s.skill_id} kind="warn" title=${`Could not count: ${s.name}`}><p>${s.uncounted}</p></${Notice}>`)}
    <${Reasons} body=${body} reload=${reload} />
    <${Adjustments} student=${body.student} skills=${body.skills} all=${adjustments} open=${body.assignments.some(active)} onChange=${reload} />
    <${Work} body=${body} reload=${progress.reload} />
    <${Tests} studentID=${id} />
    ${body.sessions === 0 && html`<section class="empty"><h2>No sessions yet</h2><p>Progress starts with the first ball that ${body.student.name} logs on the green.</p></section>`}
    ${body.sessions > 0 && html`<${Learning} student=${id} side="coach" junior=${body.student.junior} />`}
    <section class="screen-only"><h2>Season</h2><${Season} student=${id} whose=${`${body.student.name}'s`} /></section>
    <section class="screen-only"><h2>Clubs and landing spots</h2><${Bag} student=${id} whose=${`${body.student.name}'s`} /></section>
    <${PlayedOut} studentID=${id} link=${(session) => to("session", session)} />
    <${Matches} student=${id} />
    <${OnCourse} studentID=${id} rounds=${to("rounds", id)} quiet />
    ${body.sessions > 0 && html`<section><h2>Balls a week</h2><${Volume} load=${body.load} /><${Pace} pace=${body.pace} /></section>`}
    ${body.time.sessions > 0 && html`<section><h2>Time against the plan</h2><${TimeKept} time=${body.time} /></section>`}
    ${body.sessions > 0 && html`<section><h2>Latest sessions</h2><${SessionList} studentID=${id} limit=${5} /></section>`}
  </${Page}>`;
}

function Actions({ body, reload }) {
  const [asking, ask] = useState(false);
  return html`<div class="row tools screen-only">
    <${Button} disabled=${!body.last_at} onClick=${() => ask(true)}>Comment on the last session</${Button}>
    <a class="button" href=${`${to("lessons")}?student=${body.student.id}`}>Lessons</a>
    <a class="button" href=${to("messages", body.student.id)}>Messages</a>
    <a class="button" href=${to("report", body.student.id)}>Progress report</a>
    <a class="button" href=${to("member", body.student.id)}>Name, groups and access</a>
    ${asking && html`<${CommentDialog} student=${body.student} onClose=${(done) => (ask(false), done && reload())} />`}
  </div>`;
}

/** Strip is a skill in a line; what it rests on opens under it. */
function Strip({ studentID, skill }) {
  const [open, setOpen] = useState(false);
  const some = skill.total.sessions > 0 || skill.milestones.length > 0;
  const line = html`<span class="strip-name">${skill.name}</span>
    <span class="strip-steps"><${Steps} skill=${skill} size=${30} quiet /><span class="small">${skill.tiers ? `${skill.held} of ${skill.tiers}${skill.steps_held ? `, ${skill.steps_held} held` : ""}` : "no steps"}</span></span>
    <span class="strip-rate">${skill.rate ? html`<strong>${percent(skill.rate.mean)}</strong><${Line} line=${skill.line} width=${96} height=${30} />` : html`<span class="small">no rate yet</span>`}</span>
    <span class="strip-trend small">${trendText(skill)}</span>
    <span class="strip-next">${nextStepText(skill)}</span>`;
  if (!some) return html`<div class="strip">${line}</div>`;
  return html`<details class="strip-details" open=${open} onToggle=${(e) => setOpen(e.currentTarget.open)}><summary class="strip">${line}</summary>
    ${open && html`<${Skill} studentID=${studentID} skill=${skill} />`}</details>`;
}

/** trendText says in short which way the rate goes: what the whole sentence ends with. */
function trendText({ trend, total }) {
  if (!trend) return total.sessions ? "" : "not practised yet";
  return trend.text.slice(trend.text.lastIndexOf(": ") + 1).trim().replace(/\.$/, "");
}

/** nextStepText says the next step and its chance in the next session. */
function nextStepText({ tiers, next_tier: next, forecast }) {
  if (!tiers) return "";
  if (!next) return "All steps passed";
  return `Next: ${tierText(next)}${forecast ? `; ${percent(forecast.next_session)} in the next session` : ""}`;
}

function Reasons({ body, reload }) {
  const [asking, ask] = useState(null);
  const [done, setDone] = useState({}); // by reason, what was adjusted here
  const [ref, heading] = useKeptFocus();
  if (body.attention.length === 0) return html`<section><h2>Attention</h2><p>Nothing needs attention.</p></section>`;
  const again = async (reason) => {
    await unsilence(body.student, reason);
    reload();
  };
  const mark = (key, made) => (setDone((old) => ({ ...old, [key]: made })), reload());
  const told = new Set();
  const once = (words) => !told.has(words) && told.add(words);
  const offered = (a) => actionsOf(body, a).filter((x) => x.adjustment && once(x.label));
  return html`<section ref=${ref}><h2 ref=${heading} tabindex="-1">Attention</h2><ul class="reasons">${body.attention.map((a) => {
    const key = a.reason + a.skill_id;
    return html`<li key=${key}><div><${Reason} reason=${a} once=${once} />
      ${a.reliability && html`<p class="as-of">${a.reliability}</p>`}</div>
      <div class="reason-do">${a.silenced ? html`<p>Seen; ${untilText(a.silenced)} <${Button} kind="quiet" onClick=${() => again(a)}>Remind me now</${Button}></p>`
        : html`${done[key] ? html`<${Done} done=${{ undo: () => endAdjustment(done[key].id) }} onUndone=${() => mark(key, null)} />` : offered(a).map((x, i) => html`<${Action} key=${x.label} action=${x} student=${body.student} main=${i === 0} onDone=${(made) => mark(key, made)} />`)}
          <${Button} class="small-button" aria-label=${`Seen: ${reasonText(a)}`} onClick=${() => ask(a)}>Seen …</${Button}>`}</div></li>`;
  })}</ul>
    ${asking && html`<${SeenDialog} student=${body.student} reason=${asking} onClose=${(did) => (ask(null), did && reload())} />`}</section>`;
}

function Work({ body, reload }) {
  const [now, before] = [body.assignments.filter(active), body.assignments.filter((a) => !active(a))];
  return html`<section><h2>Programme</h2>
    ${now.length === 0 && html`<p>No programme is assigned now.</p>`}
    ${now.map((a) => html`<${AssignmentActions} key=${a.assignment_id} student=${body.student} assignment=${a} onDone=${reload} />`)}
    <p><a class="button" href=${`${to("assign")}?student=${body.student.id}`}>Assign a programme</a></p>
    ${before.length > 0 && html`<details class="panel"><summary>Earlier: ${before.length}</summary><ul class="plain">${before.map((a) => html`<li key=${a.assignment_id}>${a.programme_name}, version ${a.version}: ${progressText(a)}.</li>`)}</ul></details>`}
  </section>`;
}

function Skill({ studentID, skill }) {
  return html`<div class="skill-section">
    <p>${ladderText(skill)}</p>
    ${changeText(skill) && html`<p>${changeText(skill)}</p>`}
    <dl class="facts-wide">
      <div><dt>Rate now</dt><dd>${skill.rate ? `${rateText(skill.rate)} in ${count(skill.rate.sessions, "session")}` : "none yet"}</dd></div>
      <div><dt>Most in a row${skill.next_tier ? ` inside ${near(skill.next_tier.radius_m)}` : ""}</dt><dd>${skill.best_run.length ? runText(skill.best_run) : "none yet"}${skill.near ? `; lately ${skill.near.text}` : ""}</dd></div>
      <div><dt>This week</dt><dd>${tallyText(skill.week)}</dd></div>
      <div><dt>Total</dt><dd>${tallyText(skill.total)}</dd></div>
      ${skill.next_session && html`<div><dt>Next session</dt><dd>${nextText(skill.next_session)}</dd></div>`}
      ${skill.day_form && html`<div><dt>From day to day</dt><dd>swings of about ±${count(Math.round(skill.day_form.points), "point")} are normal, beyond luck</dd></div>`}
      ${skill.trend && html`<div><dt>Since the last step</dt><dd>${skill.trend.text}</dd></div>`}
      ${skill.forecast && html`<div><dt>Forecast</dt><dd>${forecastText(skill.forecast)}</dd></div>`}
    </dl>
    <p class="as-of">${sureText}</p>
    ${skill.undecided && html`<${Notice} title="Not decided yet"><p>${skill.undecided.text}</p></${Notice}>`}
    <${SkillCharts} studentID=${studentID} skill=${skill} />
    ${skill.total.misses && html`<h3>Misses</h3><${Misses} counts=${skill.total.misses} />`}
    <h3>Steps passed</h3>
    ${skill.milestones.length === 0 ? html`<p>None yet.</p>` : html`<ul class="plain">${skill.milestones.map((m) => html`<li key=${m.session_id + m.block + m.ball}>${tierText(m.tier)}: ${day(m.at)}, <a href=${to("session", m.session_id)}>with ball ${m.ball} of block ${m.block}</a></li>`)}</ul>`}
  </div>`;
}

function tallyText(t) {
  if (t.sessions + t.balls + t.attested.balls === 0) return "none";
  const attested = t.attested.balls ? ` and ${ballsText(t.attested.balls)} from cards` : "";
  return `${count(t.sessions, "session")}, ${ballsText(t.balls)}${attested}, ${minutes(t.seconds)}`;
}

/** forecastText says a forecast with its uncertainty. */
export function forecastText(f) {
  const within = f.within.filter((w) => w.sessions > 1).map((w) => `${percent(w.probability)} within ${w.sessions}`);
  return `${percent(f.next_session)} to pass the next step in the next session${within.length ? `, ${within.join(", ")}` : ""}; ${waitText(f.range_80_sessions, daysText(f.range_80_days))}`;
}

function daysText({ low, high }) {
  if (low == null || high == null) return "";
  const [a, b] = [Math.max(1, Math.round(low)), Math.max(1, Math.round(high))];
  return a === b ? `, about ${count(a, "day")} at this skill's pace` : `, ${a} to ${b} days at this skill's pace`;
}

/** TimeKept draws the time of the last sessions by a plan against the plan. */
export function TimeKept({ time }) {
  const tenth = (n) => `${number(n, 1)} %`;
  const off = time.kinds.reduce((a, b) => (Math.abs(b.spent_percent - b.planned_percent) > Math.abs(a.spent_percent - a.planned_percent) ? b : a));
  const far = Math.abs(off.spent_percent - off.planned_percent) >= 1;
  const whole = (n) => `${Math.round(n)} %`;
  const sentence = `${lastSessions(time.sessions)}: ${far ? `${kindName(off.kind).toLowerCase()} took ${whole(off.spent_percent)} of the time (planned ${whole(off.planned_percent)}).` : "time is spent as planned."}`;
  return html`<${Split} title="Share of the time" sentence=${sentence}
    parts=${time.kinds.map((k) => ({ label: kindName(k.kind), spent: k.spent_percent, planned: k.planned_percent, spentText: tenth(k.spent_percent), plannedText: tenth(k.planned_percent) }))}
    columns=${["Block", "Spent", "Planned", "Minutes spent", "Minutes planned"]}
    rows=${time.kinds.map((k) => [kindName(k.kind), tenth(k.spent_percent), tenth(k.planned_percent), Math.round(k.spent_seconds / 60), Math.round(k.planned_seconds / 60)])} />`;
}
