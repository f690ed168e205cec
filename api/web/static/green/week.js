// The week beside today's plan: what the coach said and changed, the ladders, and
// what makes a good session.

import { who } from "../base/account.js";
import { useLoad } from "../base/load.js";
import { sessions } from "../base/outbox.js";
import { set, settings } from "../base/settings.js";
import { to } from "../base/router.js";
import { day, dayTime } from "../base/units.js";
import { runText, tierText } from "../base/words.js";
import { Button, html, Notice } from "../base/ui.js";
import { Ladder } from "../base/ladder.js";
import { Coming } from "../base/season.js";
import { Taught } from "./lessons.js";
import { Latest } from "./messages.js";
import { Versions } from "./days.js";
import { SESSIONS } from "./plan.js";
import "./cold.js"; // at hand once practice begins
import "./playout.js"; // at hand once practice begins
import "./stations.js";
import { useStyles } from "./styles.js";

export function Week({ now }) {
  const styled = useStyles();
  const week = now.skills.filter((s) => !s.earlier && s.next_tier);
  const earlier = now.skills.filter((s) => s.earlier || !s.next_tier);
  const stored = useLoad(SESSIONS).body?.items;
  // One may be of several programmes, or of a week to come.
  const changes = [...new Map(now.work.flatMap((w) => w.adjustments.map((a) => [a.id, a]))).values()].filter((a) => !(a.from > now.on));
  const words = now.work.map((w) => w.week?.text).filter(Boolean);
  const beginner = stored?.length === 0 && !sessions.value?.length && !settings.value.shown;
  const todo = now.work.flatMap((w) => (w.week?.plans ?? []).filter((p) => p.done < p.times).map((p) => [w.assignment_id, w.week.number, p.number]))[0];
  if (!styled) return null;
  return html`
    ${beginner && html`<${FirstTime} />`}
    ${todo && html`<${Versions} args=${todo} />`}
    <${Taught} />
    <${Said} recent=${(stored ?? []).slice(0, RECENT)} />
    ${changes.length > 0 && html`<section><h2>Your coach's changes</h2><ul class="plain">${changes.map((a) => html`<li key=${a.id}>${a.text || "Your coach has changed your plan."}${a.until ? ` Until ${day(a.until)}.` : ""}</li>`)}</ul></section>`}
    <p><a class="button" href=${to("match")}>Match with a partner</a></p>
    <${Coming} student=${who.value.membership.member_id} href=${to("season")} />
    ${week.map((s) => html`<${Skill} skill=${s} />`)}
    ${words.map((text) => html`<details><summary>This week, in your coach's words</summary><p class="text">${text}</p></details>`)}
    ${earlier.length > 0 && html`<details><summary>Other skills</summary>${earlier.map((s) => html`<${Skill} skill=${s} />`)}</details>`}
    <details><summary>What makes a good session</summary><ul class="plain">
      <li>The blocks in their order, each about as long as planned.</li>
      <li>Log every ball, bad ones too.</li>
      <li>One ball, one chance in the random block.</li>
      <li>In the test, start again without hurry.</li>
    </ul></details>`;
}

function FirstTime() {
  return html`<${Notice} title="First time here?">
    <p>Three taps show how to log a ball and mark the circle.</p>
    <p class="row"><a class="button" href=${to("first")}>Show me</a><${Button} kind="quiet" onClick=${() => set({ shown: true })}>Skip</${Button}></p>
  </${Notice}>`;
}

/** How many of the last sessions are looked at for a comment. */
const RECENT = 3;

/** Said is what the coach wrote last: new messages, and the latest comment on a recent session. */
function Said({ recent }) {
  const thread = useLoad(`/v1/students/${who.value.membership.member_id}/messages?limit=3`);
  return html`${thread.body?.items.length > 0 && html`<${Latest} thread=${thread} />`}
    <${Comment} key=${recent.map((s) => s.id).join()} of=${recent} />`;
}

/** Comment is the latest comment on the first of some sessions that has one. */
function Comment({ of: [session, ...more] }) {
  const comments = useLoad(session && `/v1/sessions/${session.id}/comments`);
  const last = comments.body?.items.at(-1);
  if (!session || (!comments.body && !comments.problem)) return null;
  if (!last) return html`<${Comment} of=${more} />`;
  return html`<section class="said"><h2>Your coach on ${day(session.started_at, session.time_zone)}</h2>
    <p class="text">${last.text}</p>
    <p class="small">${last.author_name ? `${last.author_name}, ` : ""}${dayTime(last.created_at)} · <a href=${to("session", session.id)}>See the session</a></p></section>`;
}

/** nearText says how near the next step the student lately was, unless the best says as much. */
const nearText = ({ near, best_run: best, next_tier: next }) => (near && near.length < best.length ? `; best lately: ${near.length} of ${next.run}` : "");

function Skill({ skill }) {
  const { held, ladder: { tiers }, next_tier: next, best_run: best } = skill;
  return html`<article class="skill">
    <h2>${skill.name}</h2>
    <${Ladder} tiers=${tiers} held=${held} />
    <p>${next ? html`<strong>Next:</strong> ${tierText(next)}.` : tiers.length > 0 ? "All steps passed." : "No steps yet."}
      ${next && best.length > 0 ? ` Most in a row: ${runText(best)}${nearText(skill)}.` : ""}</p>
    ${skill.text && html`<details><summary>About ${skill.name}</summary><p class="text">${skill.text}</p></details>`}
    <p><a href=${to("ready", "own", skill.id)}>Practise ${skill.name} alone</a></p>
  </article>`;
}
