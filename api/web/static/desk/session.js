// One session ball by ball, what it did, and the comments under it.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { who } from "../base/account.js";
import { Comment } from "../base/comment.js";
import { dayTime, minutes, near } from "../base/units.js";
import { ballsText, kindName, outcomeName, runText, taskText, tierText } from "../base/words.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Misses, missesOf } from "../base/misses.js";
import { following, goingOn, sessions, useLive } from "./live.js";
import { Landings } from "./landings.js";
import { Marks } from "./marks.js";
import { AsOf, Missing, useAll } from "./parts.js";

export function SessionPage({ args: [id] }) {
  const loaded = useLoad(`/v1/sessions/${id}`);
  useLive();
  const live = sessions.value.get(id)?.session;
  // What came over the stream may be newer than what was asked for.
  const session = live && live.revision > (loaded.body?.revision ?? 0) ? live : loaded.body;
  const people = useAll("/v1/members?removed=true&limit=200");
  const skills = useAll("/v1/skills?archived=true&limit=200");
  if (!session) return html`<${Page} title="Session"><${Missing} what="The session" from=${loaded} /></${Page}>`;
  const student = people.items?.find((m) => m.id === session.student_id);
  return html`<${Page} title=${`Session of ${dayTime(session.started_at)}`} wide>
    <p><a href=${to("student", session.student_id)}>${student?.name ?? "The student"}</a>${session.week ? `, week ${session.week}, plan ${session.plan}` : ", own practice"}. ${endText(session)}${session.counts ? " It counts as one of the week's sessions." : ""}</p>
    <${AsOf} from=${loaded} />
    ${goingOn(session) && html`<p class="following" role="status">${following.value === "on" ? "Live: each ball appears as it is sent." : "Still going on."}</p>`}
    ${session.note && html`<blockquote class="text">${session.note}</blockquote>`}
    <${Notices} session=${session} />
    <${Did} session=${session} skills=${new Map((skills.items ?? []).map((k) => [k.id, k]))} />
    ${session.blocks.map((b, i) => html`<${Block} key=${i} block=${b} number=${i + 1} />`)}
    <${Landings} session=${session} />
    ${session.missed?.length > 0 && html`<p>Not done: ${session.missed.map((m) => `${kindName(m.kind).toLowerCase()}, ${minutes(m.planned_seconds)} planned`).join("; ")}.</p>`}
    <${Comments} id=${id} />
  </${Page}>`;
}

/** uncounted are the notices that say why balls could not pass a step. */
const uncounted = ["no_programme", "unmeasured"];

function Notices({ session: { notices, student_id } }) {
  const [why, others] = [notices.filter((n) => uncounted.includes(n.code)), notices.filter((n) => !uncounted.includes(n.code))];
  return html`${why.length > 0 && html`<${Notice} kind="warn" title="Could not count">${why.map((n) => html`<p key=${n.detail}>${n.detail}</p>`)}
      ${why.some((n) => n.code === "no_programme") && html`<p><a class="button" href=${`${to("assign")}?student=${student_id}`}>Assign a programme</a></p>`}</${Notice}>`}
    ${others.length > 0 && html`<ul class="plain">${others.map((n) => html`<li key=${n.detail}>${n.detail}</li>`)}</ul>`}`;
}

function endText(session) {
  const seconds = session.blocks.reduce((sum, b) => sum + (b.seconds ?? 0), 0);
  const planned = session.blocks.reduce((sum, b) => sum + (b.planned_seconds ?? 0), 0) + (session.missed ?? []).reduce((sum, m) => sum + m.planned_seconds, 0);
  return `${minutes(seconds)} practised${planned ? `, ${minutes(planned)} planned` : ""}.`;
}

/** byRadius gathers results that say the same: of one skill, at one radius. */
function byRadius(results) {
  const found = new Map();
  for (const r of results) {
    const key = `${r.skill_id} ${r.tier.radius_m}`;
    found.set(key, [...(found.get(key) ?? []), r]);
  }
  return [...found.values()];
}

function Did({ session, skills }) {
  return html`<section><h2>What it showed</h2>
    ${session.milestones.length > 0 && html`<ul class="milestones">${session.milestones.map((m) => html`<li><strong>Passed ${tierText(m.tier)}</strong>, with ball ${m.ball} of block ${m.block}</li>`)}</ul>`}
    ${session.results.length === 0 ? html`<p>None of its balls count for a step.</p>` : html`<ul class="plain">${byRadius(session.results).map(([r, ...more]) => html`<li>${skills.get(r.skill_id)?.name ?? "The skill"}, inside ${near(r.tier.radius_m)}: ${r.inside} of ${ballsText(r.judged)}${r.holed ? `, ${r.holed} holed` : ""}; most in a row ${runText(r.best_run)}.${nearTexts([r, ...more])}${r.unmeasured ? ` ${ballsText(r.unmeasured)} unmeasured: judged at another radius, without a leave.` : ""}</li>`)}</ul>`}
  </section>`;
}

const nearTexts = (results) => results.filter((r) => r.near).map((r) => ` Near ${tierText(r.tier)}: ${r.near.text}.`).join("");

function Block({ block, number }) {
  const time = `${minutes(block.seconds ?? 0)}${block.planned_seconds ? ` of ${minutes(block.planned_seconds)} planned` : ""}`;
  const { attested, balls = [] } = block;
  const all = shared(balls);
  const from = taskText(all);
  return html`<section class="session-block"><h2>Block ${number}: ${kindName(block.kind)}</h2>
    <p>${time}, judged at ${near(block.radius_m)}${from ? `, ${from}` : ""}. ${attested ? `From a card: ${attested.inside} of ${ballsText(attested.balls)} inside, most in a row ${attested.best_run ?? 0}.` : `${block.counts?.inside ?? 0} of ${ballsText(block.counts?.balls ?? balls.length)} inside${block.counts?.holed ? `, ${block.counts.holed} holed` : ""}.`}</p>
    ${balls.length > 0 && html`<${Balls} balls=${balls} all=${all} />`}
    <${Misses} counts=${missesOf(balls)} />
  </section>`;
}

/** shared is what all balls have in common of what they were played from and with. */
function shared(balls) {
  const same = (name) => (balls.every((b) => b[name] === balls[0]?.[name]) ? balls[0]?.[name] : undefined);
  return { lie: same("lie"), distance_m: same("distance_m"), club: same("club") };
}

/** Balls draws the balls in order, and lists them by shape and word when that is opened. */
function Balls({ balls, all }) {
  const own = (b) => taskText({ lie: all.lie ? "" : b.lie, distance_m: all.distance_m ? 0 : b.distance_m, club: all.club ? "" : b.club });
  const detail = (b) => [own(b), b.miss, b.contact, b.leave_m ? `left ${near(b.leave_m)}` : "", b.strokes > 1 ? `holed in ${b.strokes}` : ""].filter(Boolean).join(", ");
  return html`<${Marks} balls=${balls} what=${ballsText(balls.length)} /><details><summary>Ball by ball</summary><ol class="ball-list">${balls.map((b, i) => html`<li key=${i} class=${`ball-item ${b.outcome}`}><span class="ball-n">${i + 1}</span> <span class="ball-outcome">${outcomeName(b.outcome)}</span>${detail(b) && html` <span class="ball-detail">${detail(b)}</span>`}</li>`)}</ol></details>`;
}

function Comments({ id }) {
  const comments = useLoad(`/v1/sessions/${id}/comments`);
  const [text, setText] = useState("");
  const send = useSend(async () => {
    await api.post(`/v1/sessions/${id}/comments`, { text });
    setText("");
    comments.reload();
  });
  return html`<section><h2>Comments</h2>
    <${Missing} what="the comments" from=${comments} />
    ${comments.body?.items.length === 0 && html`<p>None yet.</p>`}
    <ul class="comments">${comments.body?.items.map((c) => html`<${Comment} key=${c.id} session=${id} c=${c} me=${who.value.membership.member_id} answer=${who.value.membership.role !== "guardian"} onDone=${comments.reload} />`)}</ul>
    <form class="form screen-only" onSubmit=${send.run}>
      <${Field} as="textarea" label="Comment" hint="The student reads it under this session." rows="4" required maxlength="4000" value=${text} error=${send.at("/text")} onInput=${(e) => setText(e.currentTarget.value)} />
      <${Wrong} problem=${send.problem} /><${Button} kind="main" type="submit" busy=${send.busy}>Send the comment</${Button}>
    </form></section>`;
}
