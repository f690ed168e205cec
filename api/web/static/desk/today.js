// Today: who needs attention and what to do, who is on the green now, who passed a
// step, and who has not been seen.

import { to } from "../base/router.js";
import { day } from "../base/units.js";
import { tierText } from "../base/words.js";
import { Button, html, Page, useState } from "../base/ui.js";
import { Cards, Following, useBoard } from "./clinic.js";
import { FirstSteps } from "./first.js";
import { LessonsToday } from "./lessons.js";
import { NewMessages } from "./unread.js";
import { agoText, AsOf, Missing } from "./parts.js";
import { Triage } from "./triage.js";

/** From how many days on without a session a student counts as not seen. */
const UNSEEN_DAYS = 7;

const DAY = 86_400_000;

export function Today() {
  const board = useBoard();
  const rows = board.body?.items;
  return html`<${Page} title="Today" wide>
    <${Missing} what="your students" from=${board} /><${AsOf} from=${board} /><${NewMessages} rows=${rows ?? []} />${rows?.length > 0 && html`<${LessonsToday} />`}
    ${rows?.length === 0 && html`<${FirstSteps} />`}
    ${rows?.length > 0 && html`<div class="columns today">
      <div><${Triage} rows=${rows} onChange=${board.reload} /></div>
      <div class="aside"><${Green} rows=${rows} /><${Milestones} rows=${rows} /><${Unseen} rows=${rows} /></div>
    </div>`}
  </${Page}>`;
}

/** How many sessions are shown beside the triage. */
const ON_GREEN = 4;

function Green({ rows }) {
  return html`<section aria-labelledby="green"><h2 id="green">On the green now</h2><${Following} /><${Cards} rows=${rows} most=${ON_GREEN} /><p><a href=${to("live")}>The whole green</a></p></section>`;
}

/** How many milestones are listed, and how many who were not seen. */
const SHOWN = 8;

function Milestones({ rows }) {
  const all = rows.flatMap((row) => hardest(row.milestones).map((m) => ({ ...m, row }))).sort((a, b) => Date.parse(b.at) - Date.parse(a.at));
  const item = (m) => html`<li key=${m.session_id + m.skill_id + m.block + m.ball}><a href=${to("student", m.row.student.id)}>${m.row.student.name}</a> passed ${tierText(m.tier)}, ${m.row.skills.find((s) => s.skill_id === m.skill_id)?.name}, <a href=${to("session", m.session_id)}>${day(m.at)}</a></li>`;
  return html`<section aria-labelledby="made"><h2 id="made">Steps passed in the last four weeks</h2>
    ${all.length === 0 ? html`<p>None yet.</p>` : html`<${Some} all=${all.map(item)} label="Steps passed" />`}
  </section>`;
}

/** Some is a list of which the first are shown; the whole of it scrolls by itself. */
function Some({ all, label }) {
  const [every, showEvery] = useState(false);
  return html`<ul class=${every ? "plain bounded" : "plain"} tabindex=${every ? "0" : undefined} aria-label=${label}>${every ? all : all.slice(0, SHOWN)}</ul>
    ${all.length > SHOWN && html`<${Button} kind="quiet" aria-expanded=${every} onClick=${() => showEvery(!every)}>${every ? "Show fewer" : `Show all ${all.length}`}</${Button}>`}`;
}

/** hardest leaves, of steps of one skill passed in one session, the last; latest come first. */
function hardest(milestones) {
  const seen = new Set();
  return milestones.filter(({ session_id: session, skill_id: skill }) => !seen.has(session + skill) && seen.add(session + skill));
}

/** unseen lists who has not practised for a week, of those who have been here as long. */
export const unseen = (rows, now = Date.now()) => rows.filter((r) => now - Date.parse(r.last_at ?? r.joined_at) >= UNSEEN_DAYS * DAY)
  .sort((a, b) => Date.parse(a.last_at ?? 0) - Date.parse(b.last_at ?? 0));

function Unseen({ rows }) {
  const list = unseen(rows);
  const paused = (r) => r.assignments.find((a) => a.position.phase === "paused");
  const item = (r) => html`<li key=${r.student.id}><a href=${to("student", r.student.id)}>${r.student.name}</a>: ${r.last_at ? `last ${day(r.last_at)}, ${agoText(r.last_at)}` : `no session yet; joined ${day(r.joined_at)}`}${paused(r) ? "; paused" : ""}</li>`;
  return html`<section aria-labelledby="unseen"><h2 id="unseen">Not seen for a week</h2>
    ${list.length === 0 ? html`<p>Nobody has been away for ${UNSEEN_DAYS} days.</p>` : html`<${Some} all=${list.map(item)} label="Not seen for a week" />`}
  </section>`;
}
