// One session ball by ball, with corrections. A correction is the next revision
// of the whole session, and waits for the network like any other.

import { useLoad } from "../base/load.js";
import { fromLocal } from "../base/local.js";
import { revised, sessions, store } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { zone } from "../base/settings.js";
import { who } from "../base/account.js";
import { Comment } from "../base/comment.js";
import { day, dayTime, inUnit, isoDay, minutes, near, number, time, toMetres, unitName } from "../base/units.js";
import { ballOutcomes, ballsText, kindName, outcomeName, taskText } from "../base/words.js";
import { Choice } from "../base/choices.js";
import { Button, Dialog, Failed, Field, html, Loading, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { wrong } from "../base/judge.js";
import { over } from "./log.js";
import { progressPath } from "./plan.js";
import { Refusal } from "./refusal.js";
import { ZoneField } from "./zone.js";

/** Session shows a session; its argument is the session's id. */
export function Session({ args: [id] }) {
  const record = sessions.value?.find((r) => r.id === id && !r.superseded);
  // What this phone still has to send is what stands here.
  const loaded = useLoad(record?.unsent ? null : `/v1/sessions/${id}`);
  if (!sessions.value) return html`<${Loading} what="the session" />`;
  if (record?.live && !over(record)) return html`<${Page} title="Session"><p>You are still in this session. <a href=${to("practice", id)}>Go on.</a></p></${Page}>`;
  if (record?.deleted) return html`<${Page} title="Deleted"><p>This session is deleted${record.unsent ? ", and the service will be told" : ""}.</p>${record.parked && html`<${Refusal} record=${record} />`}</${Page}>`;
  const newest = !record?.unsent && loaded.body && loaded.body.revision > (record?.revision ?? 0) ? recordOf(loaded.body) : record;
  if (!newest && loaded.loading) return html`<${Loading} what="the session" />`;
  if (!newest) return html`<${Page} title="Session"><${Failed} what="This session" problem=${loaded.problem} retry=${loaded.reload} /></${Page}>`;
  return html`<${Whole} key=${newest.revision} record=${newest} id=${id} />`;
}

/** recordOf makes a record of what the service has. */
function recordOf(s) {
  const content = { started_at: s.started_at, blocks: s.blocks.map(({ planned_seconds: _, counts: __, ...b }) => b) };
  for (const name of ["assignment_id", "week", "plan", "time_zone", "ended_at", "note", "surface", "variant", "match_id", "green", "landings"]) if (s[name]) content[name] = s[name];
  return { id: s.id, revision: s.revision, unsent: 0, content, result: s };
}

function Whole({ record, id }) {
  const [draft, set] = useState(record.content);
  const [ball, open] = useState(null); // [block, position] that is edited
  const [deleting, ask] = useState(false);
  const names = useSkillNames();
  const changed = JSON.stringify(draft) !== JSON.stringify(record.content);
  const save = useSend(() => store(revised(record, { content: draft, edited: true })));
  const remove = useSend(async () => {
    await store(revised(record, { deleted: true }));
    go(to("history"));
  });
  const setBlock = (i, block) => set({ ...draft, blocks: draft.blocks.map((b, j) => (j === i ? block : b)) });
  return html`<${Page} title=${`Session of ${day(draft.started_at, draft.time_zone)}`} lead=${`${time(draft.started_at, draft.time_zone)}, ${minutes(draft.blocks.reduce((s, b) => s + (b.seconds ?? 0), 0))}`}>
    ${record.parked && html`<${Refusal} record=${record} />`}
    ${record.result?.notices?.map((n) => html`<${Notice}><p>${n.detail}</p></${Notice}>`)}
    ${draft.blocks.map((b, i) => html`<${Block} block=${b} names=${names} change=${(x) => setBlock(i, x)} openBall=${(j) => open([i, j])} />`)}
    ${draft.landings?.length > 0 && html`<p>You logged where ${ballsText(draft.landings.length)} landed and stopped, on a green of ${number(draft.green.stimp_ft, 1)} ft. <${Button} kind="quiet" onClick=${() => set({ ...draft, landings: undefined })}>Take ${draft.landings.length === 1 ? "it" : "them"} out</${Button}></p>`}
    <${When} draft=${draft} set=${set} />
    <${Field} as="textarea" label="Note" rows="3" maxlength="4000" value=${draft.note ?? ""} onInput=${(e) => set({ ...draft, note: e.currentTarget.value || undefined })} />
    <div class=${changed ? "savebar" : "row"} role="group" aria-label="Changes">
      <p>${changed ? "Not saved yet." : "No changes."}</p>
      <${Button} kind="main" disabled=${!changed} busy=${save.busy} onClick=${save.run}>Save</${Button}>
      <${Button} disabled=${!changed} onClick=${() => set(record.content)}>Undo</${Button}>
      <${Wrong} problem=${save.problem} />
    </div>
    <${Comments} id=${id} />
    <section><h2>Delete</h2><p>Steps, rates and times are worked out again without it.</p>
      <${Button} onClick=${() => ask(true)}>Delete this session</${Button}></section>
    ${deleting && html`<${Dialog} title="Delete this session?" onClose=${() => ask(false)}>
      <p>${dayTime(draft.started_at)}. What depended on it is worked out again.</p>
      <div class="stack"><${Button} busy=${remove.busy} onClick=${remove.run}>Delete it</${Button}><${Button} kind="main" onClick=${() => ask(false)}>Keep it</${Button}></div>
      <${Wrong} problem=${remove.problem} /></${Dialog}>`}
    ${ball && html`<${BallDialog} block=${draft.blocks[ball[0]]} at=${ball[1]} close=${() => open(null)} change=${(x) => (setBlock(ball[0], x), open(null))} />`}
  </${Page}>`;
}

/** useSkillNames gives the names of the student's skills by id. */
function useSkillNames() {
  const skills = useLoad(progressPath()).body?.skills ?? [];
  return Object.fromEntries(skills.map((s) => [s.skill_id, s.name]));
}

function Block({ block, names, change, openBall }) {
  return html`<section class="edit-block">
    <h2>${kindName(block.kind)}</h2>
    <p>${[names[block.skill_id], `inside ${near(block.radius_m)}`, minutes(block.seconds ?? 0)].filter(Boolean).join(" · ")}</p>
    ${block.attested
      ? html`<p>From a card: ${ballsText(block.attested.balls)}, ${block.attested.inside} inside, ${block.attested.holed ?? 0} holed, most in a row ${block.attested.best_run ?? 0}.</p>`
      : html`${rowsOf(block.balls ?? []).map((row) => html`<${Row} key=${row.first} row=${row} open=${block.balls.length <= FEW} openBall=${openBall} />`)}
        <p><${Button} kind="quiet" onClick=${() => change({ ...block, balls: [...(block.balls ?? []), { outcome: "out", after_s: block.balls?.at(-1)?.after_s }] })}>Add a ball</${Button}></p>`}
  </section>`;
}

/** How many balls a block has at most for all of them to be shown at once. */
const FEW = 12;

/** rowsOf cuts balls behind each one out that is followed by another kind: { first, balls }, first from 0. */
export function rowsOf(balls) {
  const rows = [];
  balls.forEach((ball, i) => {
    const afterOut = i > 0 && balls[i - 1].outcome === "out" && ball.outcome !== "out";
    if (i === 0 || afterOut) rows.push({ first: i, balls: [] });
    rows.at(-1).balls.push(ball);
  });
  return rows;
}

/** rowText says what came of a row: "12 in, 2 of them holed, 1 out". */
export function rowText(balls) {
  const inside = balls.filter((b) => b.outcome !== "out").length;
  const holed = balls.filter((b) => b.outcome === "holed").length;
  return [inside && `${inside} in`, holed && `${holed} of them holed`, balls.length - inside && `${balls.length - inside} out`].filter(Boolean).join(", ");
}

/** Row is balls in a row with what ended them; opened, each can be corrected. */
function Row({ row: { first, balls }, open, openBall }) {
  return html`<details class="ball-row" open=${open}><summary>
      <span class="small">${balls.length > 1 ? `${first + 1} to ${first + balls.length}` : first + 1}</span> <span>${rowText(balls)}</span> <span class="marks" aria-hidden="true">${balls.map((b) => html`<i class=${`mark ${b.outcome}`}></i>`)}</span></summary>
    <ol class="balls">${balls.map((b, i) => html`<li><button type="button" class=${`ball ${b.outcome}`} onClick=${() => openBall(first + i)}>
      <span class="ball-number"><span class="unseen">Ball </span>${first + i + 1}</span><span>${outcomeName(b.outcome)}</span>${b.leave_m != null && html`<span class="ball-leave">${near(b.leave_m)}<span class="unseen"> to the hole</span></span>`}<span class="unseen">, correct it</span></button></li>`)}</ol>
  </details>`;
}

function BallDialog({ block, at, close, change }) {
  const [ball, set] = useState(block.balls[at]);
  const leaveText = ball.leave_m == null ? "" : number(inUnit(ball.leave_m), 2);
  const [leave, setLeave] = useState(leaveText);
  const edited = { ...ball };
  delete edited.leave_m;
  const playout = block.kind === "playout";
  if (playout && ball.outcome === "holed") edited.strokes = 1;
  else if (!playout || ball.strokes < 2) delete edited.strokes;
  if (ball.outcome !== "out" || !ball.miss) delete edited.miss;
  const value = Number(leave.replace(",", "."));
  if (leave.trim() !== "" && ball.outcome !== "holed") edited.leave_m = Math.round(toMetres(value) * 10_000) / 10_000;
  const bad = Number.isNaN(value) || wrong(edited, block.radius_m);
  const put = (balls) => change({ ...block, balls });
  return html`<${Dialog} title=${`Ball ${at + 1}`} onClose=${close}>
    <p>${taskText(ball)}</p>
    <div class="taps"><${Choice} label="Outcome" value=${ball.outcome} options=${ballOutcomes.map((o) => [o, outcomeName(o)])} onChange=${(outcome) => set({ ...ball, outcome })} />
    ${ball.outcome === "out" && html`<${Choice} label="Which way" value=${ball.miss ?? ""} options=${[["", "not said"], ["short", "short"], ["long", "long"], ["left", "left"], ["right", "right"]]} onChange=${(miss) => set({ ...ball, miss })} />`}
    ${playout && ball.outcome !== "holed" && html`<${Choice} label="Strokes until holed" value=${ball.strokes > 1 ? ball.strokes : 0} options=${[[0, "not holed"], ...Array.from({ length: 8 }, (_, i) => [i + 2, String(i + 2)])]} onChange=${(strokes) => set({ ...ball, strokes: Number(strokes) || undefined })} />`}</div>
    ${ball.outcome !== "holed" && html`<${Field} label=${`To hole (${unitName()}), optional`} inputmode="decimal" value=${leave} onInput=${(e) => setLeave(e.currentTarget.value)}
      error=${bad ? `a ball logged ${ball.outcome} at ${near(block.radius_m)} stopped ${ball.outcome === "in" ? "no farther" : "no nearer"} than that from the hole` : ""} />`}
    <div class="stack">
      <${Button} kind="main" disabled=${bad} onClick=${() => put(block.balls.map((b, i) => (i === at ? edited : b)))}>Change it</${Button}>
      <${Button} onClick=${() => put(block.balls.filter((_, i) => i !== at))}>Remove this ball</${Button}>
      <${Button} onClick=${close}>Cancel</${Button}>
    </div>
  </${Dialog}>`;
}

/** When moves the whole session, for a phone whose clock was wrong or far from home. */
function When({ draft, set }) {
  const at = draft.time_zone ?? zone.value;
  const move = (date, clock) => {
    const start = fromLocal(date, clock, at);
    if (Number.isNaN(start)) return;
    const by = start - fromLocal(isoDay(draft.started_at, at), time(draft.started_at, at), at);
    const moved = (t) => new Date(Date.parse(t) + by).toISOString();
    set({ ...draft, started_at: moved(draft.started_at), ...(draft.ended_at && { ended_at: moved(draft.ended_at) }) });
  };
  return html`<div class="pair">
    <${Field} label="Started on" type="date" value=${isoDay(draft.started_at, at)} onChange=${(e) => move(e.currentTarget.value, time(draft.started_at, at))} />
    <${Field} label="at" type="time" value=${time(draft.started_at, at)} onChange=${(e) => move(isoDay(draft.started_at, at), e.currentTarget.value)} />
    <${ZoneField} value=${at} onChange=${(time_zone) => set({ ...draft, time_zone })} />
  </div>`;
}

function Comments({ id }) {
  const comments = useLoad(`/v1/sessions/${id}/comments`);
  if (!comments.body?.items.length) return null;
  return html`<section><h2>Comments</h2><ul class="comments">${comments.body.items.map((c) => html`<${Comment} key=${c.id} session=${id} c=${c} me=${who.value.membership.member_id} answer onDone=${comments.reload} />`)}</ul></section>`;
}
