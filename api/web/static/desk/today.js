// Today: who needs attention and why, who made a milestone, who has not been
// seen, and who is on the green now.

import { to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { tierText } from "../base/words.js";
import { reasonName } from "./reasons.js";
import { Button, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { AcknowledgeDialog, CommentDialog, PauseDialog, PlanDialog, unsilence } from "./actions.js";
import { Cards, Following, useBoard } from "./clinic.js";
import { FirstSteps } from "./first.js";
import { active, agoText, AsOf, Missing, positionText, seenText, useKeptFocus } from "./parts.js";

/** From how many days on without a session a student counts as not seen. */
const UNSEEN_DAYS = 7;

const DAY = 86_400_000;

export function Today() {
  const board = useBoard();
  const rows = board.body?.items;
  return html`<${Page} title="Today" wide>
    <${Missing} what="your students" from=${board} /><${AsOf} from=${board} />
    ${rows?.length === 0 && html`<${FirstSteps} />`}
    ${rows?.length > 0 && html`<div class="columns">
      <div><${Attention} rows=${rows} onChange=${board.reload} /></div>
      <div class="aside"><${Green} rows=${rows} /><${Milestones} rows=${rows} /><${Unseen} rows=${rows} /></div>
    </div>`}
  </${Page}>`;
}

const pressing = (row) => row.attention.filter((a) => !a.silenced);
const silenced = (row) => row.attention.filter((a) => a.silenced);

function Attention({ rows, onChange }) {
  const calling = rows.filter((r) => pressing(r).length > 0);
  const quiet = rows.flatMap((row) => silenced(row).map((reason) => ({ row, reason })));
  const [ref, heading] = useKeptFocus();
  return html`<section ref=${ref} aria-labelledby="attention"><h2 id="attention" ref=${heading} tabindex="-1">Needs attention</h2>
    <p>${calling.length === 0 ? "No student needs attention." : `${calling.length} of ${count(rows.length, "student")}, the most pressing first.`}</p>
    <ul class="people">${calling.map((row) => html`<li key=${row.student.id}><${Person} row=${row} onChange=${onChange} /></li>`)}</ul>
    ${quiet.length > 0 && html`<details class="panel"><summary>Acknowledged and silent: ${quiet.length}</summary>
      <ul class="plain">${quiet.map(({ row, reason }) => html`<li key=${row.student.id + reason.reason + reason.skill_id}><${Silent} row=${row} reason=${reason} onChange=${onChange} /></li>`)}</ul></details>`}
  </section>`;
}

function Person({ row, onChange }) {
  const { student } = row;
  const [asking, ask] = useState(null);
  const running = row.assignments.find((a) => a.position.phase === "running");
  const close = (done) => (ask(null), done && onChange());
  return html`<article class="person" aria-label=${student.name}>
    <h3><a href=${to("student", student.id)}>${student.name}</a></h3>
    <p class="small">${seenText(row.last_at)}${row.assignments.filter(active).map((a) => html`; ${a.programme_name}, ${positionText(a)}, ${count(a.done, "session")} done of ${a.planned}`)}.</p>
    <ul class="reasons">${pressing(row).map((reason) => html`<li key=${reason.reason + reason.skill_id}>
      <${Reason} reason=${reason} /><${Button} class="small-button" aria-label=${`Acknowledge: ${reasonName(reason.reason)}${reason.skill_name ? `, ${reason.skill_name}` : ""}, ${student.name}`} onClick=${() => ask({ reason })}>Acknowledge</${Button}></li>`)}</ul>
    <div class="row">
      <${Button} aria-label=${`Comment on the last session of ${student.name}`} disabled=${!row.last_at} onClick=${() => ask("comment")}>Comment on the last session</${Button}>
      <${Button} aria-label=${`Change the plan of ${student.name}`} onClick=${() => ask("plan")}>Change the plan</${Button}>
      ${running && html`<${Button} aria-label=${`Pause ${student.name}`} onClick=${() => ask("pause")}>Pause</${Button}>`}
    </div>
    ${asking === "comment" && html`<${CommentDialog} student=${student} onClose=${close} />`}
    ${asking === "plan" && html`<${PlanDialog} student=${student} assignments=${row.assignments} onClose=${close} />`}
    ${asking === "pause" && html`<${PauseDialog} student=${student} assignment=${running} onClose=${close} />`}
    ${asking?.reason && html`<${AcknowledgeDialog} student=${student} reason=${asking.reason} onClose=${close} />`}
  </article>`;
}

/** Reason is why to look at a student, and what to try. */
export function Reason({ reason }) {
  return html`<div class="reason"><p><strong>${reasonName(reason.reason)}${reason.skill_name ? `, ${reason.skill_name}` : ""}:</strong> ${reason.evidence}</p>
    <p class="advice">${reason.advice}</p></div>`;
}

function Silent({ row, reason, onChange }) {
  const again = useSend(async () => {
    await unsilence(row.student, reason);
    onChange();
  });
  return html`<p><a href=${to("student", row.student.id)}>${row.student.name}</a>, <strong>${reasonName(reason.reason)}${reason.skill_name ? `, ${reason.skill_name}` : ""}</strong>, silent until ${day(reason.silenced.until)}${reason.silenced.note ? `: “${reason.silenced.note}”` : "."}
    ${" "}${reason.evidence}</p><${Button} busy=${again.busy} onClick=${again.run} aria-label=${`Call again: ${reasonName(reason.reason)}, ${row.student.name}`}>Call again now</${Button}><${Wrong} problem=${again.problem} />`;
}

function Green({ rows }) {
  return html`<section aria-labelledby="green"><h2 id="green">On the green now</h2><${Following} /><${Cards} rows=${rows} /><p><a href=${to("live")}>The whole green</a></p></section>`;
}

/** How many milestones are listed. */
const SHOWN = 12;

function Milestones({ rows }) {
  const all = rows.flatMap((row) => hardest(row.milestones).map((m) => ({ ...m, row }))).sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  const [every, showEvery] = useState(false);
  const item = (m) => html`<li key=${m.session_id + m.skill_id + m.block + m.ball}><a href=${to("student", m.row.student.id)}>${m.row.student.name}</a> made ${tierText(m.tier)}, ${m.row.skills.find((s) => s.skill_id === m.skill_id)?.name}, <a href=${to("session", m.session_id)}>${day(m.at)}</a></li>`;
  return html`<section aria-labelledby="made"><h2 id="made">Milestones of the last four weeks</h2>
    ${all.length === 0 ? html`<p>None yet.</p>` : html`<ul class="plain">${(every ? all : all.slice(0, SHOWN)).map(item)}</ul>`}
    ${all.length > SHOWN && html`<${Button} kind="quiet" aria-expanded=${every} onClick=${() => showEvery(!every)}>${every ? "Show fewer" : `Show all ${all.length}`}</${Button}>`}
  </section>`;
}

/** hardest leaves, of tiers of one skill made in one session, the last; latest come first. */
function hardest(milestones) {
  const seen = new Set();
  return milestones.filter(({ session_id: session, skill_id: skill }) => !seen.has(session + skill) && seen.add(session + skill));
}

function Unseen({ rows }) {
  const list = rows.filter((r) => !r.last_at || Date.now() - Date.parse(r.last_at) >= UNSEEN_DAYS * DAY)
    .sort((a, b) => Date.parse(a.last_at ?? 0) - Date.parse(b.last_at ?? 0));
  const paused = (r) => r.assignments.some((a) => a.position.phase === "paused");
  return html`<section aria-labelledby="unseen"><h2 id="unseen">Not seen for a week</h2>
    ${list.length === 0 ? html`<p>Everybody practised within ${UNSEEN_DAYS} days.</p>` : html`<ul class="plain">${list.map((r) => html`<li key=${r.student.id}><a href=${to("student", r.student.id)}>${r.student.name}</a>: ${r.last_at ? `last ${day(r.last_at)}, ${agoText(r.last_at)}` : "no session yet"}${paused(r) ? "; paused" : ""}</li>`)}</ul>`}
  </section>`;
}
