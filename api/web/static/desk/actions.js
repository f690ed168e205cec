// What a coach does about a student, each in a dialog: comment on the last
// session, mark a reason as seen, pause, and change the plan.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count, dayTime, minutes } from "../base/units.js";
import { ballsText, kindName } from "../base/words.js";
import { Choice } from "../base/choices.js";
import { Button, Dialog, Field, html, useSend, useState, Wrong } from "../base/ui.js";
import { active, Ask, Missing, progressText, today } from "./parts.js";
import { reasonName } from "./reasons.js";

/** CommentDialog comments on a student's last session. */
export function CommentDialog({ student, onClose }) {
  const last = useLoad(`/v1/sessions?student_id=${student.id}&limit=1`);
  const session = last.body?.items[0];
  const [text, setText] = useState("");
  const title = `Comment for ${student.name}`;
  if (!session) {
    return html`<${Dialog} title=${title} onClose=${() => onClose(false)}><${Missing} what="the last session" from=${last} />
      ${last.body && html`<p>There is no session yet to comment on.</p>`}<${Button} onClick=${() => onClose(false)}>Close</${Button}></${Dialog}>`;
  }
  return html`<${Ask} title=${title} verb="Send the comment" onDo=${() => api.post(`/v1/sessions/${session.id}/comments`, { text })} onClose=${onClose}>${(send) => html`
    <p>On the session of <a href=${to("session", session.id)}>${dayTime(session.started_at)}</a>: ${sessionText(session)}.</p>
    <${Field} as="textarea" label="What the student will read" rows="5" required maxlength="4000" value=${text} error=${send.at("/text")} onInput=${(e) => setText(e.currentTarget.value)} />`}</${Ask}>`;
}

/** sessionText says a session of a list in short. */
export function sessionText(session) {
  const seconds = session.blocks.reduce((sum, b) => sum + (b.seconds ?? 0), 0);
  const balls = session.blocks.reduce((sum, b) => sum + (b.counts?.balls ?? 0) + (b.attested?.balls ?? 0), 0);
  const kinds = [...new Set(session.blocks.map((b) => kindName(b.kind).toLowerCase()))].join(", ");
  return [minutes(seconds), ballsText(balls), kinds].filter(Boolean).join(", ");
}

/** SeenDialog says that a reason is seen, and when to be reminded of it. */
export function SeenDialog({ student, reason, onClose }) {
  const [days, setDays] = useState("14");
  const [note, setNote] = useState(reason.silenced?.note ?? "");
  const seen = () => api.put(`/v1/students/${student.id}/acknowledgements`, { reason: reason.reason, skill_id: reason.skill_id, days: Number(days), note: note || undefined });
  return html`<${Ask} title=${`Seen: ${reasonName(reason.reason)}`} verb="Remind me then" onDo=${seen} onClose=${onClose}>${(send) => html`
    <p>${student.name}${reason.skill_name ? `, ${reason.skill_name}` : ""}: ${reason.evidence}</p>
    <${Choice} label="Remind me in" value=${days} options=${[["3", "3 days"], ["7", "1 week"], ["14", "2 weeks"], ["28", "4 weeks"]]} onChange=${setDays} />
    <${Field} label="Or a number of days" type="number" min="1" max="90" required value=${days} error=${send.at("/days")} onInput=${(e) => setDays(e.currentTarget.value)} />
    <${Field} as="textarea" label="Note for the coaches" hint="Such as what you changed, and when to look again." rows="2" maxlength="1000" value=${note} error=${send.at("/note")} onInput=${(e) => setNote(e.currentTarget.value)} />`}</${Ask}>`;
}

/** unsilence tells a reason again at once. */
export const unsilence = (student, reason) => api.put(`/v1/students/${student.id}/acknowledgements`, { reason: reason.reason, skill_id: reason.skill_id, days: 0 });

/** PauseDialog stops the weeks of an assignment for a while. */
export function PauseDialog({ student, assignment, onClose }) {
  const [from, setFrom] = useState(today());
  const [until, setUntil] = useState("");
  const [reason, setReason] = useState("");
  const pause = () => api.post(`/v1/assignments/${assignment.assignment_id}/pause`, { from, until: until || undefined, reason: reason || undefined });
  return html`<${Ask} title=${`Pause ${assignment.programme_name}`} verb="Pause" onDo=${pause} onClose=${onClose}>${(send) => html`
    <p>For a holiday or an injury. Later weeks move back by the days paused; no session counts as missed.</p>
    <div class="pair"><${Field} label="First day of the pause" type="date" required value=${from} error=${send.at("/from")} onInput=${(e) => setFrom(e.currentTarget.value)} />
      <${Field} label="First day back" hint="If you know it." type="date" value=${until} error=${send.at("/until")} onInput=${(e) => setUntil(e.currentTarget.value)} /></div>
    <${Field} label="Why" hint="For the coaches." maxlength="400" value=${reason} error=${send.at("/reason")} onInput=${(e) => setReason(e.currentTarget.value)} />`}</${Ask}>`;
}

/** PlanDialog changes what a student works by. */
export function PlanDialog({ student, assignments, onClose }) {
  const open = assignments.filter(active);
  const [changed, setChanged] = useState(false);
  return html`<${Dialog} title=${`The plan of ${student.name}`} onClose=${() => onClose(changed)}>
    ${open.length === 0 && html`<p>No programme is assigned now.</p>`}
    ${open.map((a) => html`<${AssignmentActions} key=${a.assignment_id} student=${student} assignment=${a} onDone=${() => (setChanged(true), onClose(true))} />`)}
    <div class="row"><a class="button" href=${`${to("assign")}?student=${student.id}`}>Assign a programme</a><${Button} onClick=${() => onClose(changed)}>Close</${Button}></div>
  </${Dialog}>`;
}

/** AssignmentActions is an assignment, and what can be done with it. */
export function AssignmentActions({ student, assignment, onDone }) {
  const path = `/v1/assignments/${assignment.assignment_id}`;
  const programme = useLoad(`/v1/programmes/${assignment.programme_id}`);
  const latest = programme.body?.published ?? assignment.version;
  const [asking, ask] = useState("");
  const [version, setVersion] = useState("");
  const [changes, setChanges] = useState("keep");
  const act = (what, body) => async () => {
    await api.post(`${path}/${what}`, body);
    onDone();
  };
  const resume = useSend(act("resume", {}));
  const end = useSend(act("end"));
  const move = useSend(act("move", { version: Number(version || latest), adjustments: changes }));
  const { phase } = assignment.position;
  return html`<section class="panel assignment">
    <h3>${assignment.programme_name}</h3>
    <p>Version ${assignment.version}: ${progressText(assignment)}.</p>
    <div class="row">
      <a class="button" href=${to("programme", assignment.programme_id)}>Open the programme</a>
      ${phase === "running" && html`<${Button} onClick=${() => ask("pause")}>Pause</${Button}>`}
      ${phase === "paused" && html`<${Button} busy=${resume.busy} onClick=${resume.run}>Resume today</${Button}>`}
      ${latest > 1 && html`<${Button} aria-expanded=${asking === "move"} onClick=${() => ask(asking === "move" ? "" : "move")}>Move to another version</${Button}>`}
      <${Button} aria-expanded=${asking === "end"} onClick=${() => ask(asking === "end" ? "" : "end")}>End</${Button}>
    </div>
    <${Wrong} problem=${resume.problem} />
    ${asking === "move" && html`<form class="inline-ask" onSubmit=${move.run}>
      <${Field} as="select" label="Version" hint="Steps that were passed stay passed." value=${version || latest} onChange=${(e) => setVersion(e.currentTarget.value)}>
        ${Array.from({ length: latest }, (_, i) => html`<option value=${i + 1} disabled=${i + 1 === assignment.version}>${i + 1}${i + 1 === assignment.version ? " (now)" : ""}</option>`)}</${Field}>
      <${Choice} label=${`What you changed for ${student.name}`} value=${changes} options=${[["keep", "Keep what still fits"], ["end", "End all of it"]]} onChange=${setChanges} />
      <${Wrong} problem=${move.problem} /><${Button} type="submit" kind="main" busy=${move.busy}>Move</${Button}></form>`}
    ${asking === "end" && html`<div class="inline-ask"><p>${student.name} no longer has the programme, nor your changes to it. Sessions and passed steps stay.</p>
      <${Wrong} problem=${end.problem} /><${Button} kind="main" busy=${end.busy} onClick=${end.run}>End it</${Button}></div>`}
    ${asking === "pause" && html`<${PauseDialog} student=${student} assignment=${assignment} onClose=${(done) => (ask(""), done && onDone())} />`}
  </section>`;
}
