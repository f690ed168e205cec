// The triage of Today: who needs the coach, one line a student, in groups by the one
// reason that matters. The others are folded under it. A long group shows its first
// few, so that the page does not grow with students or with reasons.

import { to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { Button, html, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { CommentDialog, PauseDialog, PlanDialog, SeenDialog, unsilence } from "./actions.js";
import { actionsOf, adjust, endAdjustment, FORTNIGHT, seen } from "./act.js";
import { active, agoText, progressText, useKeptFocus } from "./parts.js";
import { reasonName, reasonText } from "./reasons.js";

/** From how many students on groups are folded, and how many lines of each are shown then. */
const MANY = 20;
const LINES = 5;

export const pressing = (row) => row.attention.filter((a) => !a.silenced);

/** leadOf is the one reason that matters: the most pressing and, at several skills, the one that the service can act on. */
export function leadOf(row) {
  const reasons = pressing(row);
  return reasons.find((a) => a.reason === reasons[0].reason && a.actions?.length > 0) ?? reasons[0];
}

const silenced = (row) => row.attention.filter((a) => a.silenced);

/** groupsOf puts students into groups by their most pressing reason, in the order of the dashboard. */
export function groupsOf(rows) {
  const groups = new Map();
  for (const row of rows) {
    const { reason } = leadOf(row);
    if (!groups.has(reason)) groups.set(reason, []);
    groups.get(reason).push(row);
  }
  return [...groups].map(([reason, rows]) => ({ reason, rows, advice: shared(rows.map((r) => leadOf(r).advice)) }));
}

/** shared is what all say, or "" when they differ or there is but one. */
const shared = (texts) => (texts.length > 1 && texts.every((t) => t === texts[0]) ? texts[0] : "");

/**
 * Triage lists who needs attention. rows are the dashboard's, onChange reads them
 * again.
 */
export function Triage({ rows, onChange }) {
  const [chosen, choose] = useState(new Set());
  // What was done here stays in its place, with the way back, until the page is left.
  const [done, setDone] = useState(new Map());
  const [ref, heading] = useKeptFocus();
  const listed = rows.map((row) => done.get(row.student.id)?.row ?? row).filter((row) => pressing(row).length > 0);
  const groups = groupsOf(listed);
  const calling = rows.filter((row) => pressing(row).length > 0);
  const quiet = rows.flatMap((row) => silenced(row).map((reason) => ({ row, reason })));
  const toggle = (ids, on) => choose((old) => {
    const next = new Set(old);
    for (const id of ids) on ? next.add(id) : next.delete(id);
    return next;
  });
  const mark = (id, what) => setDone((old) => {
    const next = new Map(old);
    what ? next.set(id, what) : next.delete(id);
    return next;
  });
  return html`<section ref=${ref} class="triage" aria-labelledby="attention"><h2 id="attention" ref=${heading} tabindex="-1">Needs attention</h2>
    <p>${calling.length === 0 ? "No student needs attention." : `${calling.length} of ${count(rows.length, "student")}, the most pressing first.`}</p>
    ${groups.map((g) => html`<${Group} key=${g.reason} group=${g} fold=${listed.length > MANY} chosen=${chosen} toggle=${toggle} done=${done} mark=${mark} onChange=${onChange} />`)}
    <${Chosen} rows=${calling.filter((row) => chosen.has(row.student.id))} clear=${() => (chosen.forEach((id) => mark(id, null)), choose(new Set()))} onChange=${onChange} />
    ${quiet.length > 0 && html`<${Quiet} quiet=${quiet} onChange=${onChange} />`}
  </section>`;
}

function Group({ group, fold, chosen, toggle, done, mark, onChange }) {
  const [every, showEvery] = useState(false);
  const { rows, reason, advice } = group;
  const shown = fold && !every && rows.length > LINES + 1 ? rows.slice(0, LINES) : rows;
  const ids = rows.map((r) => r.student.id);
  const all = ids.every((id) => chosen.has(id));
  return html`<section class="triage-group" aria-label=${`${reasonName(reason)}: ${count(rows.length, "student")}`}>
    <div class="triage-head"><label class="tick" title=${`Choose all: ${reasonName(reason)}`}><input type="checkbox" checked=${all} onChange=${() => toggle(ids, !all)} aria-label=${`Choose all ${rows.length}: ${reasonName(reason)}`} /></label>
      <h3>${reasonName(reason)} <span class="soft">${rows.length}</span></h3>
      ${advice && html`<p class="advice">${advice}</p>`}</div>
    <ul class="triage-lines">${shown.map((row) => html`<li key=${row.student.id}><${Person} row=${row} told=${advice} chosen=${chosen.has(row.student.id)} toggle=${toggle} done=${done.get(row.student.id)} mark=${mark} onChange=${onChange} /></li>`)}</ul>
    ${(shown.length < rows.length || every) && html`<${Button} kind="quiet" aria-expanded=${every} onClick=${() => showEvery(!every)}>${every ? "Show fewer" : `Show all ${rows.length}`}</${Button}>`}
  </section>`;
}

/** aboutText says what a reason is about: its skill or, of the student as a whole, the programme, or when they were seen. */
function aboutText(row, reason) {
  const work = row.assignments.find(active);
  return reason.skill_name ?? work?.programme_name ?? (row.last_at ? `seen ${agoText(row.last_at)}` : "no session yet");
}

/** Person is one line: who, the one reason, how far it has gone, and what to do. */
function Person({ row, told, chosen, toggle, done, mark, onChange }) {
  const { student } = row;
  const lead = leadOf(row);
  const others = pressing(row).filter((a) => a !== lead);
  const [open, setOpen] = useState(false);
  const [asking, ask] = useState(null);
  const id = `more-${student.id}`;
  const [primary] = actionsOf(row, lead);
  const close = (did) => (ask(null), did && onChange());
  const more = others.length > 0 ? `, and ${count(others.length, "more reason")}` : "";
  return html`<article class="triage-line" aria-label=${`${student.name}: ${reasonText(lead)}`}>
    <label class="tick"><input type="checkbox" checked=${chosen} onChange=${() => toggle([student.id], !chosen)} aria-label=${`Choose ${student.name}`} /></label>
    <a class="triage-name" href=${to("student", student.id)}>${student.name}</a>
    <p class="triage-why"><span title=${lead.evidence}>${aboutText(row, lead)}</span>${others.length > 0 && html` <span class="soft" title=${others.map(reasonText).join("; ")}>+${others.length}</span>`}</p>
    <p class="triage-figure">${lead.figure}</p>
    <div class="triage-do">${done ? html`<${Done} done=${done} onUndone=${() => (mark(student.id, null), onChange())} />` : html`<${Action} action=${primary} student=${student} main onAsk=${ask} onDone=${(made) => (mark(student.id, { row, undo: () => endAdjustment(made.id) }), onChange())} />`}</div>
    <${Button} class="triage-more" kind="quiet" aria-expanded=${open} aria-controls=${id} aria-label=${`Why, ${student.name}${more}`} onClick=${() => setOpen(!open)}>Why${open ? " ▴" : " ▾"}</${Button}>
    <div class="triage-fold" id=${id} hidden=${!open}>${open && html`<${Fold} row=${row} told=${told} done=${done} mark=${mark} ask=${ask} onChange=${onChange} />`}</div>
    <${Asked} asking=${asking} row=${row} onClose=${close} />
  </article>`;
}

/** Action is a button or a link for one thing to do; onDone gets the adjustment that was made. */
export function Action({ action, student, main, onAsk, onDone }) {
  const send = useSend(async () => onDone(await adjust(action.adjustment)));
  const name = action.label.includes(student.name.split(" ")[0]) ? undefined : `${action.label}, ${student.name}`;
  const look = main ? "main small-button" : "small-button";
  if (action.href) return html`<a class=${`button ${main ? "main " : ""}small-button`} href=${action.href} aria-label=${name}>${action.label}</a>`;
  return html`<${Button} kind=${main ? "main" : "plain"} class=${look} busy=${send.busy} aria-label=${name} onClick=${action.ask ? () => onAsk(action.ask) : send.run}>${action.label}</${Button}><${Wrong} problem=${send.problem} />`;
}

/** Done says that it is, and takes it back. It takes the focus of the button it stands for. */
export function Done({ done, onUndone }) {
  const send = useSend(async () => {
    await done.undo();
    onUndone();
  });
  const focus = useRef((node) => node?.querySelector("button")?.focus({ preventScroll: true })).current;
  return html`<p class="done" role="status" ref=${focus}><span>Done.</span> <${Button} kind="quiet" busy=${send.busy} onClick=${send.run}>Undo</${Button}><${Wrong} problem=${send.problem} /></p>`;
}

/** Fold is what a line folds away: every reason with its evidence, the same advice once, and what else can be done. */
function Fold({ row, told, done, mark, ask, onChange }) {
  const { student } = row;
  const said = new Set([told]);
  const once = (advice) => !said.has(advice) && said.add(advice);
  const work = row.assignments.filter(active).map((a) => `${a.programme_name}, ${progressText(a)}`);
  const more = actionsOf(row, leadOf(row)).slice(1);
  const rest = ["write", "plan", "pause"].filter((what) => !more.some((a) => a.ask === what));
  const labels = { write: "Comment on the last session", plan: "Change the plan", pause: "Pause" };
  const can = { write: Boolean(row.last_at), plan: true, pause: row.assignments.some((a) => a.position.phase === "running") };
  return html`<p class="small">${row.last_at ? `Last session ${day(row.last_at)}, ${agoText(row.last_at)}` : "No session yet"}${work.map((w) => `; ${w}`)}.</p>
    <ul class="reasons">${pressing(row).map((reason) => html`<li key=${reason.reason + reason.skill_id}>
      <${Reason} reason=${reason} once=${once} />
      <${Button} class="small-button" aria-label=${`Seen: ${reasonText(reason)}, ${student.name}`} onClick=${() => ask({ reason })}>Seen …</${Button}></li>`)}</ul>
    <div class="row">
      ${!done && more.map((a) => html`<${Action} key=${a.label} action=${a} student=${student} onAsk=${ask} onDone=${(made) => (mark(student.id, { row, undo: () => endAdjustment(made.id) }), onChange())} />`)}
      ${rest.filter((what) => can[what]).map((what) => html`<${Button} key=${what} class="small-button" aria-label=${`${labels[what]}, ${student.name}`} onClick=${() => ask(what)}>${labels[what]}</${Button}>`)}
    </div>`;
}

/** Reason is why to look at a student, and what to try; once says whether advice was not told yet. */
export function Reason({ reason, once = () => true }) {
  return html`<div class="reason"><p><strong>${reasonText(reason)}:</strong> ${reason.evidence}</p>
    ${once(reason.advice) && html`<p class="advice">${reason.advice}</p>`}</div>`;
}

function Asked({ asking, row, onClose }) {
  const { student } = row;
  const running = row.assignments.find((a) => a.position.phase === "running");
  if (asking === "write") return html`<${CommentDialog} student=${student} onClose=${onClose} />`;
  if (asking === "plan") return html`<${PlanDialog} student=${student} assignments=${row.assignments} onClose=${onClose} />`;
  if (asking === "pause") return html`<${PauseDialog} student=${student} assignment=${running} onClose=${onClose} />`;
  if (asking?.reason) return html`<${SeenDialog} student=${student} reason=${asking.reason} onClose=${onClose} />`;
  return null;
}

/** Chosen is what can be done about all that are chosen. */
function Chosen({ rows, clear, onChange }) {
  const [said, say] = useState(null);
  const mark = useSend(async () => {
    const result = await seen(rows);
    say(result);
    clear();
    onChange();
  });
  const undo = useSend(async () => {
    await said.undo();
    say({ undone: true });
    onChange();
  });
  const at = new Date(Date.now() + (FORTNIGHT - 1) * 86_400_000);
  const text = said?.undone ? "Undone." : said ? `${count(said.students, "student")} seen; you will be reminded after ${day(at)}.` : "";
  return html`<div class=${rows.length > 0 ? "chosen" : ""}>
    ${rows.length > 0 && html`<div class="row"><strong>${rows.length} chosen</strong>
      <${Button} kind="main" class="small-button" busy=${mark.busy} onClick=${mark.run}>Seen; remind me in two weeks</${Button}>
      <${Button} kind="quiet" onClick=${clear}>Clear</${Button}></div>`}
    <${Wrong} problem=${mark.problem ?? undo.problem} />
    <div class="row"><span role="status">${text}</span>${said?.undo && html`<${Button} kind="quiet" busy=${undo.busy} onClick=${undo.run}>Undo</${Button}>`}</div>
    ${said?.refused?.map((problem) => html`<${Wrong} problem=${problem} />`)}
  </div>`;
}

/** Quiet folds away what was seen. */
function Quiet({ quiet, onChange }) {
  return html`<details class="panel"><summary>Seen: ${quiet.length}</summary>
    <ul class="plain bounded" tabindex="0" aria-label="What was seen">${quiet.map(({ row, reason }) => html`<li key=${row.student.id + reason.reason + reason.skill_id}><${Silent} row=${row} reason=${reason} onChange=${onChange} /></li>`)}</ul></details>`;
}

function Silent({ row, reason, onChange }) {
  const again = useSend(async () => {
    await unsilence(row.student, reason);
    onChange();
  });
  return html`<p><a href=${to("student", row.student.id)}>${row.student.name}</a>, <strong>${reasonText(reason)}</strong>; ${untilText(reason.silenced)}
    ${" "}${reason.evidence}</p><${Button} class="small-button" busy=${again.busy} onClick=${again.run} aria-label=${`Remind me now: ${reasonText(reason)}, ${row.student.name}`}>Remind me now</${Button}><${Wrong} problem=${again.problem} />`;
}

/** untilText says how long what was seen is not told again, with the note. */
export const untilText = ({ until, note }) => `you will be reminded after ${day(until)}${note ? `: “${note}”` : "."}`;
