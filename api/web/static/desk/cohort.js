// The students of a programme together: who stands where, how long each step
// takes, where students wait, and what is cut short. All numbers are the service's.

import { useLoad } from "../base/load.js";
import { go, route, to } from "../base/router.js";
import { count, minutes, number, percent, percents } from "../base/units.js";
import { kindName, tierText } from "../base/words.js";
import { Field, html, Page } from "../base/ui.js";
import { Figure, Split } from "./charts.js";
import { AsOf, Missing } from "./parts.js";
import { ProgrammeNav } from "./programmes.js";

/** Cohort is the page of a programme's students; the address keeps what is chosen. */
export function Cohort({ args: [id] }) {
  const { query } = route.value;
  const set = (name, value) => {
    const next = new URLSearchParams(query);
    value ? next.set(name, value) : next.delete(name);
    go(`${to("cohort", id)}${next.size ? `?${next}` : ""}`, { replace: true });
  };
  const all = useLoad(`/v1/programmes/${id}/cohort`);
  const asked = new URLSearchParams(["group_id", "version", "compare"].flatMap((k) => (query.get(k) ? [[k, query.get(k)]] : [])));
  const answer = useLoad(`/v1/programmes/${id}/cohort${asked.size ? `?${asked}` : ""}`);
  const told = answer.body;
  return html`<${Page} title=${`Students${told ? ` of ${told.name}` : " of a programme"}`} wide><${ProgrammeNav} current="programmes" />
    <p><a href=${to("programme", id)}>The programme</a></p>
    <${Missing} what="how its students do" from=${answer} /><${AsOf} from=${answer} />
    ${all.body && all.body.students.length > 0 && html`<${Filters} all=${all.body} query=${query} set=${set} />`}
    ${told && (told.students.length === 0 ? html`<section class="empty"><h2>Nobody here yet</h2><p>Students appear once their programme has started. <a href=${`${to("assign")}?programme=${id}`}>Assign it to students.</a></p></section>` : html`<${Told} told=${told} query=${query} set=${set} />`)}
  </${Page}>`;
}

function Filters({ all, query, set }) {
  const choice = (label, name, options) => html`<${Field} as="select" label=${label} value=${query.get(name) ?? ""} onChange=${(e) => set(name, e.currentTarget.value)}>${options.map(([v, text]) => html`<option value=${v}>${text}</option>`)}</${Field}>`;
  return html`<div class="filters">
    ${all.groups.length > 0 && choice("Group", "group_id", [["", "All students"], ...all.groups.map((g) => [g.group_id, g.name])])}
    ${all.versions.length > 1 && choice("Version", "version", [["", "All versions"], ...all.versions.map((v) => [v.version, `Version ${v.version}`])])}
    ${all.groups.length > 1 && all.versions.length > 1 && choice("Compare", "compare", [["", "Either"], ["version", "Versions"], ["group", "Groups"]])}
    ${choice("Time in", "in", [["", "Days"], ["sessions", "Sessions"]])}
  </div>`;
}

function Told({ told, query, set }) {
  const skills = told.steps.filter((s) => s.number === 1);
  return html`<${Standing} told=${told} skills=${skills} />
    <${Waiting} steps=${told.steps} skills=${skills} />
    <${Times} told=${told} skills=${skills} query=${query} set=${set} />
    <${Kept} time=${told.time} />
    <${How} told=${told} />`;
}

// --- who stands where ---------------------------------------------------------

const byName = (a, b) => a.student.name.localeCompare(b.student.name);
const list = (all) => all.map((s) => s.student.name).join(", ");

/** leadText names who passed most steps since the start. */
export function leadText(students) {
  const most = Math.max(0, ...students.map((s) => s.steps_passed));
  if (most === 0) return "Nobody has passed a step since the start.";
  const first = students.filter((s) => s.steps_passed === most).sort(byName);
  const more = first.length - 3;
  return `Most steps since the start: ${list(first.slice(0, 3))}${more > 0 ? ` and ${count(more, "other")}` : ""}, ${most}${first.length > 1 ? " each" : ""}.`;
}

/** waitText names who has waited longest for a step, at present. */
export function waitText(students) {
  const waiting = students.filter((s) => s.open && s.position.phase === "running").sort((a, b) => b.days_since - a.days_since || byName(a, b));
  if (waiting.length === 0) return "";
  return `Longest without a new step: ${waiting.slice(0, 3).map((s) => `${s.student.name}, ${count(s.days_since, "day")}`).join("; ")}.`;
}

function Standing({ told, skills }) {
  const groups = told.groups.map((g) => [g.name, told.students.filter((s) => s.group_ids.includes(g.group_id))]);
  const rest = told.students.filter((s) => s.group_ids.length === 0);
  if (rest.length > 0) groups.push([groups.length > 0 ? "In no group" : "Students", rest]);
  return html`<section><h2>Who stands where</h2>
    <p>${leadText(told.students)} ${waitText(told.students)}</p>
    <p class="step-key" aria-hidden="true"><span><${Stair} tiers=${1} before=${1} after=${1} /> passed before the start</span><span><${Stair} tiers=${1} before=${0} after=${1} /> passed since</span><span><${Stair} tiers=${1} before=${0} after=${0} /> next</span></p>
    ${groups.map(([name, students]) => html`<section class="cohort-group" key=${name}><h3>${name} <span class="small">${count(students.length, "student")}</span></h3>
      <table class="grid cohort"><thead><tr><th scope="col">Name</th>${skills.map((k) => html`<th scope="col">${k.skill_name}</th>`)}<th scope="col">Since the start</th></tr></thead>
        <tbody>${[...students].sort(byName).map((s) => html`<${Row} key=${s.student.id} student=${s} skills=${skills} />`)}</tbody></table></section>`)}
  </section>`;
}

function Row({ student: s, skills }) {
  return html`<tr><th scope="row"><a href=${to("student", s.student.id)}>${s.student.name}</a></th>
    ${skills.map((k) => {
      const at = s.skills.find((x) => x.skill_id === k.skill_id);
      return html`<td data-head=${k.skill_name}>${at && html`<div><${Stair} ...${at} /><span class="unseen">${stairText(at)}</span></div>`}</td>`;
    })}
    <td data-head="Since the start"><span>${sinceText(s)}</span></td></tr>`;
}

const stairText = ({ tiers, before, after }) => `${after} of ${tiers} passed, ${before} before the start`;

const phases = { ended: ", ended early", finished: ", finished", paused: ", paused" };

/** sinceText says what a student did since the start: "2 steps in 24 days, 9 sessions". */
export function sinceText(s) {
  return `${s.steps_passed === 0 ? "No step" : count(s.steps_passed, "step")} in ${count(s.days, "day")}, ${count(s.sessions, "session")}${phases[s.position.phase] ?? ""}`;
}

/** Stair draws a skill's steps, rising: passed before, passed since, next, later. */
function Stair({ tiers, before, after }) {
  const [w, gap, low, rise] = [18, 2, 8, Math.min(7, 21 / Math.max(1, tiers))];
  const height = low + rise * tiers;
  return html`<svg class="stair" width=${tiers * (w + gap)} height=${height + 2} aria-hidden="true">${Array.from({ length: tiers }, (_, i) => {
    const h = low + rise * (i + 1) - rise;
    const state = i < before ? "before" : i < after ? "since" : i === after ? "next" : "later";
    return html`<rect class=${state} x=${i * (w + gap) + 1} y=${height - h + 1 - rise} width=${w - 2} height=${h + rise - 2} />`;
  })}</svg>`;
}

// --- where students wait ------------------------------------------------------

function Waiting({ steps, skills }) {
  const most = [...steps].sort((a, b) => b.next - a.next)[0];
  return html`<section><h2>Where students are now</h2>
    <p>${most?.next > 0 ? `Most are working on ${most.skill_name}, ${tierText(most.tier)}: ${count(most.next, "student")}.` : "Nobody has a step left to pass."}</p>
    <div class="charts">${skills.map((k) => html`<${StepBars} key=${k.skill_id} steps=${steps.filter((s) => s.skill_id === k.skill_id)} />`)}</div>
  </section>`;
}

const LINE = 58;

function StepBars({ steps }) {
  const top = Math.max(1, ...steps.map((s) => s.before + s.passed + s.next));
  const sentence = steps.map((s) => `${tierText(s.tier)}: ${s.before} passed it before, ${s.passed} since; next for ${s.next}`).join(". ");
  const draw = (width, about) => html`<svg class="band step-bars" viewBox=${`0 0 ${width} ${steps.length * LINE + 10}`} role="img" aria-labelledby=${about}><desc>${sentence}</desc>
    ${steps.map((s, i) => {
      const w = (n) => (n / top) * (width - 24);
      const parts = [["before", s.before], ["since", s.passed], ["next", s.next]];
      return html`<g transform=${`translate(12 ${i * LINE + 10})`}><text class="axis strong" x="0" y="14">${tierText(s.tier)}</text>
        ${parts.map(([name, n], j) => {
          const x = w(parts.slice(0, j).reduce((sum, [, m]) => sum + m, 0));
          return n > 0 && html`<g><rect class=${name} x=${x + 1} y="21" width=${Math.max(2, w(n) - 2)} height="24" />${w(n) > 14 && html`<text class=${`axis in-${name}`} x=${x + w(n) / 2} y="38" text-anchor="middle">${n}</text>`}</g>`;
        })}</g>`;
    })}</svg>`;
  return html`<${Figure} title=${steps[0].skill_name} sentence="" columns=${["Step", "Passed before", "Passed since", "Next for"]}
    rows=${steps.map((s) => [tierText(s.tier), s.before, s.passed, s.next])} draw=${draw} />`;
}

// --- how long each step takes -------------------------------------------------

function Times({ told, skills, query, set }) {
  const unit = query.get("in") === "sessions" ? "sessions" : "days";
  const skill = skills.find((k) => k.skill_id === query.get("skill")) ?? skills[0];
  const steps = told.steps.filter((s) => s.skill_id === skill.skill_id);
  return html`<section><h2>How long each step takes</h2>
    <p>The share that has passed, by ${unit} since the start of the programme. The true share is in the band 19 times in 20. ${told.compared_by && `Compared: ${told.compared_by === "group" ? "groups" : "versions"}.`}</p>
    ${skills.length > 1 && html`<div class="filters"><${Field} as="select" label="Skill" value=${skill.skill_id} onChange=${(e) => set("skill", e.currentTarget.value)}>${skills.map((k) => html`<option value=${k.skill_id}>${k.skill_name}</option>`)}</${Field}></div>`}
    <div class="charts">${steps.map((s) => html`<${StepTime} key=${s.number} step=${s} unit=${unit} />`)}</div>
  </section>`;
}

const upper = (text) => text[0].toUpperCase() + text.slice(1);

function StepTime({ step, unit }) {
  const title = upper(tierText(step.tier));
  const sentence = [courseText(step.all, unit), step.before > 0 && `${count(step.before, "student")} had passed it before.`, rankText(step)].filter(Boolean).join(" ");
  if (step.all.passed === 0) return html`<section class="chart"><h3>${title}</h3><p>${sentence}</p></section>`;
  const courses = step.parts.length > 0 ? step.parts : [step.all];
  const rows = courses.flatMap((c) => c[unit].steps.map((s) => [`${c.part ? `${upper(c.part.name)}: ` : ""}${number(s.time)}`, s.at_risk, s.passed, s.left, percent(s.share), s.interval_95 ? percents(s.interval_95.low, s.interval_95.high) : "–"]));
  return html`<${Figure} title=${title} sentence=${sentence} columns=${[upper(unit), "Still to pass", "Passed", "No longer followed", "Share passed", "95 %"]} rows=${rows}
    draw=${(width, about) => html`<${Curves} courses=${courses} unit=${unit} width=${width} about=${about} sentence=${sentence} />`} />`;
}

/** courseText says a course: "5 of 9 passed it; half had by day 21 (14 to 35)." */
export function courseText({ students, passed, ...by }, unit) {
  if (students === 0) return "No student had this step to pass.";
  const { median, median_interval_95: { low, high } } = by[unit];
  const range = low === undefined ? "range not known yet" : high === undefined ? `${number(low)} or later` : `${number(low)} to ${number(high)}`;
  const of = `${passed} of ${students} passed it`;
  const name = unit === "days" ? "day" : "session";
  if (passed === 0) return `${of}, in up to ${count(by[unit].steps.at(-1).time, name)}.`;
  return median === undefined ? `${of}; fewer than half had so far.` : `${of}; half had by ${name} ${number(median)} (${range}).`;
}

/** rankText says whether the parts differ: by chance alone in so many of 100 cases. */
export function rankText({ log_rank: { p }, parts }) {
  if (p === undefined) return parts.length > 0 ? "Nothing to compare yet." : "";
  const hundred = p < 0.01 ? "fewer than 1" : String(Math.round(100 * p));
  const names = parts.map((c) => c.part.name).join(" and ");
  return `${upper(names)}: luck alone makes such a difference in ${hundred} of 100 cases${p < 0.05 ? "." : ", so it may well be luck."}`;
}

const [HEIGHT, LEFT, RIGHT, TOP, BOTTOM] = [220, 56, 14, 14, 34];

function Curves({ courses, unit, width, about, sentence }) {
  const end = Math.max(1, ...courses.map((c) => c[unit].steps.at(-1)?.time ?? 0));
  const x = (t) => LEFT + (t / end) * (width - LEFT - RIGHT);
  const y = (v) => TOP + (1 - v) * (HEIGHT - TOP - BOTTOM);
  return html`<svg class="band curves" viewBox=${`0 0 ${width} ${HEIGHT + (courses.length > 1 ? 22 * courses.length : 0)}`} role="img" aria-labelledby=${about}><desc>${sentence}</desc>
    ${[0, 0.5, 1].map((v) => html`<g><line class="grid" x1=${LEFT} x2=${width - RIGHT} y1=${y(v)} y2=${y(v)} /><text class="axis" x=${LEFT - 6} y=${y(v) + 4} text-anchor="end">${100 * v} %</text></g>`)}
    ${courses.map((c, i) => html`<path class=${`area c${i}`} d=${bandPath(c[unit].steps, x, y)} />`)}
    ${courses.map((c, i) => html`<g><path class=${`line c${i}`} d=${stepPath(c[unit].steps, x, y)} />
      ${c[unit].steps.filter((s) => s.left > 0).map((s) => html`<line class=${`line left c${i}`} x1=${x(s.time)} x2=${x(s.time)} y1=${y(s.share) - 5} y2=${y(s.share) + 5}><title>${count(s.left, "student")} no longer followed</title></line>`)}</g>`)}
    <text class="axis" x=${LEFT} y=${HEIGHT - 10}>Start</text><text class="axis" x=${width - RIGHT} y=${HEIGHT - 10} text-anchor="end">${count(end, unit === "days" ? "day" : "session")}</text>
    ${courses.length > 1 && courses.map((c, i) => html`<g transform=${`translate(${LEFT} ${HEIGHT + 22 * i + 4})`}><line class=${`line c${i}`} x1="0" x2="34" y1="0" y2="0" /><text class="axis" x="42" y="5">${upper(c.part.name)}, ${c.passed} of ${c.students}</text></g>`)}
  </svg>`;
}

/** stepPath draws shares that change at once. */
function stepPath(steps, x, y, of = (s) => s.share) {
  let path = `M${x(0)} ${y(0)}`;
  for (const s of steps) path += `H${x(s.time).toFixed(1)}V${y(of(s)).toFixed(1)}`;
  return path;
}

/** bandPath is the band around them, as far as there is one. */
function bandPath(steps, x, y) {
  const told = steps.filter((s) => s.interval_95);
  if (told.length === 0) return "";
  const end = steps.filter((s) => s.time >= told.at(-1).time).at(-1).time;
  const edge = (of) => told.map((s, i) => [[x(s.time), y(of(s))], [x(told[i + 1]?.time ?? end), y(of(s))]]).flat();
  return `M${[...edge((s) => s.interval_95.high), ...edge((s) => s.interval_95.low).reverse()].map((p) => p.map((n) => n.toFixed(1)).join(" ")).join("L")}Z`;
}

// --- what is cut short --------------------------------------------------------

/** shortText names the kind of block that is cut short most. */
export function shortText(kinds) {
  const cut = kinds.filter((k) => k.planned_seconds > 0).map((k) => ({ ...k, rate: k.spent_seconds / k.planned_seconds })).sort((a, b) => a.rate - b.rate)[0];
  if (!cut || cut.rate > 0.95) return "No kind of block is cut short.";
  return `${kindName(cut.kind)} is cut short most: ${percent(cut.rate)} of its planned time is spent.`;
}

function Kept({ time }) {
  if (time.sessions === 0) return null;
  const parts = time.kinds.map((k) => ({
    label: kindName(k.kind), spent: k.spent_seconds, planned: k.planned_seconds,
    spentText: minutes(k.spent_seconds / time.sessions), plannedText: minutes(k.planned_seconds / time.sessions),
  }));
  return html`<section><h2>What is cut short</h2>
    <${Split} title="Minutes a session, planned and spent" sentence=${`${shortText(time.kinds)} From each student's last eight planned sessions (${time.sessions} in all).`} parts=${parts}
      columns=${["Kind", "Spent", "Planned"]} rows=${parts.map((p) => [p.label, p.spentText, p.plannedText])} /></section>`;
}

function How({ told }) {
  return html`<details class="panel"><summary>How this is worked out</summary><ul>
    <li>Only students you may see, each by their latest assignment of the programme: from its first day until its last, the day it was ended, or today. Paused days do not count.</li>
    <li>Students who have not passed a step yet count for as long as they were followed (Kaplan–Meier); small marks on a line show where that ends. This assumes that those whose programme was ended early would have gone on like the others.</li>
    <li>Steps passed before the start do not count as passed in the programme, and steps passed after its end do not either.</li>
    <li>Parts are compared from five students each (log-rank test)${told.compared_by === "group" ? "; students of several groups are left out of the comparison" : ""}. Students were not assigned at random, so a difference may have other causes; and one comparison in twenty shows a difference by luck alone.</li>
    <li>A student who was moved counts with the version they have now.</li>
  </ul></details>`;
}
