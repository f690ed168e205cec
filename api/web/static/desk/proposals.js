// Next week: what is proposed for each student, to accept, to edit or to refuse,
// one, all of a sort, or all at once. Nothing happens without the coach.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { go, route, to } from "../base/router.js";
import { count, day, unitName } from "../base/units.js";
import { kindName } from "../base/words.js";
import { Button, Field, html, Page, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { parseLength, writeLength } from "./lengths.js";
import { endAdjustment } from "./act.js";
import { adjustmentText, Standing } from "./adjustments.js";
import { AsOf, Ask, Missing, oddsText, useAll } from "./parts.js";

/** How many adjustments the service takes at once. */
const AT_ONCE = 200;

export function NextWeek() {
  const group = route.value.query.get("group") ?? "";
  const groups = useAll("/v1/groups");
  const skills = useAll("/v1/skills?archived=true&limit=200");
  const from = useLoad(`/v1/proposals${group ? `?group_id=${group}` : ""}`);
  return html`<${Page} title="Next week" lead=${from.body && lead(from.body)} wide>
    ${(groups.items?.length ?? 0) > 0 && html`<${Field} as="select" label="Group" value=${group} onChange=${(e) => go(`${to("proposals")}${e.currentTarget.value ? `?group=${e.currentTarget.value}` : ""}`, { replace: true })}>
      <option value="">Everybody</option>${groups.items.map((g) => html`<option value=${g.id}>${g.name}</option>`)}</${Field}>`}
    <${Missing} what="next week" from=${from} /><${AsOf} from=${from} />
    ${from.body && html`<${List} key=${group} students=${from.body.students} skills=${skills.items ?? []} onChange=${from.reload} /><${AbsentLines} absent=${from.body.absent} />`}
  </${Page}>`;
}

/** lead says from when, and what is aimed at. */
function lead({ students, challenge }) {
  const aim = `Moves each student towards success ${Math.round(10 * challenge)} times in 10; the chance after the change is beside each`;
  return students.length ? `From ${day(students[0].monday)}. ${aim}.` : `${aim}.`;
}

/** keyOf names a proposal among all. */
const keyOf = (item) => [item.adjustment.student_id, item.skill_id, item.adjustment.kind, item.adjustment.from].join(" ");

/** SORTS are what may be proposed, by the kind of the adjustment, in the order shown. */
const SORTS = [["step", "Steps"], ["radius", "Circles"], ["distance", "Distances"], ["shares", "Time"], ["earlier_skill", "Warm-ups"], ["sessions", "Sessions"]];

/** open lists what can be accepted of some students. */
const open = (students) => students.flatMap((s) => s.items.filter((i) => i.adjustment));

/** FOLDED is from how many students on the list is folded by kind. */
const FOLDED = 31;

/** byKind parts students by the kind of the first thing proposed, in the order of SORTS. */
export function byKind(students) {
  const kindOf = (s) => open([s])[0].adjustment.kind;
  return SORTS.map(([kind, name]) => ({ name, students: students.filter((s) => kindOf(s) === kind) })).filter((part) => part.students.length > 0);
}

function List({ students, skills, onChange }) {
  const [left, leave] = useState(new Set()); // what is not chosen
  const [done, setDone] = useState(null);
  const all = open(students);
  const chosen = all.filter((i) => !left.has(keyOf(i)));
  const choose = (items, on) => {
    const next = new Set(left);
    for (const item of items) on ? next.delete(keyOf(item)) : next.add(keyOf(item));
    leave(next);
  };
  const after = (told) => (setDone(told), onChange());
  const task = useRef(null);
  const send = useSend(async () => after(await task.current()));
  const act = (what) => {
    task.current = what;
    send.run();
  };
  const busy = students.filter((s) => open([s]).length > 0);
  const changed = students.filter((s) => open([s]).length === 0 && (s.given ?? []).length > 0);
  const calm = students.filter((s) => open([s]).length === 0 && !s.given?.length);
  const undone = () => (setDone(null), onChange());
  const nameOf = (id) => skills.find((s) => s.id === id)?.name;
  const rows = (some) => html`<ul class="proposals">${some.map((s) => html`<li key=${s.student.id}><h2><a href=${to("student", s.student.id)}>${s.student.name}</a></h2>
    <${Given} given=${s.given} nameOf=${nameOf} onUndone=${undone} />
    <ul>${s.items.map((item) => html`<${Item} key=${item.move + item.label + item.adjustment?.from} monday=${s.monday} item=${item} chosen=${item.adjustment && !left.has(keyOf(item))} onChoose=${choose} onAccept=${after} onRefuse=${(x) => act(() => refuseOne(x))} />`)}</ul></li>`)}</ul>`;
  return html`<${Done} done=${done} onUndone=${undone} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    ${students.length === 0 && html`<p>No programme of your students runs next week. <a href=${to("assign")}>Assign one.</a></p>`}
    ${students.length > 0 && all.length === 0 && html`<p>Nothing more to change for next week.</p>`}
    ${all.length > 0 && html`<${Sorts} all=${all} left=${left} onChoose=${choose} />
      <div class="row proposal-bar">
        <${Button} kind="main" busy=${send.busy} disabled=${chosen.length === 0} onClick=${() => act(() => acceptAll(chosen.map((i) => i.adjustment)))}>${chosen.length === all.length ? `Accept all ${all.length}` : `Accept ${chosen.length} of ${all.length}`}</${Button}>
      </div>
      ${busy.length < FOLDED ? rows(busy) : byKind(busy).map(({ name, students: some }, i) => html`<details class="panel" key=${name} open=${i === 0}><summary>${name}: ${count(some.length, "student")}</summary>${rows(some)}</details>`)}`}
    ${changed.length > 0 && html`<details class="panel" open=${all.length === 0 || undefined}><summary>Changed for next week: ${count(changed.length, "student")}</summary>
      <ul class="proposals">${changed.map((s) => html`<li key=${s.student.id}><h2><a href=${to("student", s.student.id)}>${s.student.name}</a></h2><${Given} given=${s.given} nameOf=${nameOf} onUndone=${undone} /></li>`)}</ul></details>`}
    ${calm.length > 0 && html`<details class="calm"><summary>${count(calm.length, "student")} ${calm.length === 1 ? "goes" : "go"} on as planned</summary>
      <ul class="proposals">${calm.map((s) => html`<li key=${s.student.id}><a href=${to("student", s.student.id)}>${s.student.name}</a>${`: ${s.items.length > 0 ? s.items.map((i) => `${i.skill_name}. ${i.reason}`).join(" ") : "you refused what was proposed; it comes back after two weeks, or when much changes."}`}</li>`)}</ul></details>`}`;
}

/** Given lists what was changed for a student's week already, with undo. */
function Given({ given = [], nameOf, onUndone }) {
  if (given.length === 0) return null;
  return html`<ul class="proposal-given">${given.map((a) => html`<li key=${a.id}><${Standing} adjustment=${a} text=${adjustmentText(a, nameOf(a.skill_id))} onUndone=${onUndone} /></li>`)}
    ${given.length > 1 && html`<li><${UndoAll} given=${given} onUndone=${onUndone} /></li>`}</ul>`;
}

/** UndoAll takes all of it back in one press. */
function UndoAll({ given, onUndone }) {
  const undo = useSend(async () => {
    await Promise.all(given.map((a) => endAdjustment(a.id)));
    onUndone();
  });
  return html`<p><${Button} kind="quiet" busy=${undo.busy} onClick=${undo.run}>Undo all ${given.length}</${Button}></p><${Wrong} problem=${undo.problem} />`;
}

const absences = { off_season: "Off-season", paused: "Paused", upcoming: "Start later", finished: "Programme over by then", no_programme: "No programme" };

/** AbsentLines says for whom nothing is proposed, and why: a line for each reason. */
function AbsentLines({ absent = [] }) {
  return html`${Object.entries(absences).map(([why, text]) => [text, absent.filter((x) => x.why === why)]).filter(([, some]) => some.length > 0).map(([text, some]) => html`<p key=${text}>${text}: ${some.map(({ student }, i) => html`${i > 0 && ", "}<a href=${to("student", student.id)}>${student.name}</a>`)}.</p>`)}`;
}

/** Sorts choose all proposals of a sort at once, or none of them. */
function Sorts({ all, left, onChoose }) {
  const sorts = SORTS.map(([kind, name]) => [name, all.filter((i) => i.adjustment.kind === kind)]).filter(([, items]) => items.length > 0);
  return html`<fieldset class="row proposal-sorts"><legend class="unseen">Choose by kind</legend>${sorts.map(([name, items]) => {
    const on = items.filter((i) => !left.has(keyOf(i))).length;
    return html`<label key=${name}><input type="checkbox" checked=${on === items.length} indeterminate=${on > 0 && on < items.length} onChange=${(e) => onChoose(items, e.currentTarget.checked)} /><span>${name} <span class="small">${on === items.length ? on : `${on} of ${items.length}`}</span></span></label>`;
  })}</fieldset>`;
}

function Item({ item, monday, chosen, onChoose, onAccept, onRefuse }) {
  const [editing, edit] = useState(false);
  const [why, ask] = useState(false);
  const from = item.adjustment?.from;
  const what = `${item.skill_name}: ${item.label}${from > monday ? `, from ${day(from)}` : ""}`;
  const reason = html`<${Button} kind="quiet" aria-expanded=${why} aria-label=${`Why? ${what}`} onClick=${() => ask(!why)}>Why?</${Button}>`;
  return html`<li class="proposal">
    ${item.adjustment ? html`<label class="proposal-what"><input type="checkbox" checked=${chosen} onChange=${(e) => onChoose([item], e.currentTarget.checked)} /><span>${what}</span></label>` : html`<span class="proposal-what proposal-stays">${what}</span>`}
    <span class="proposal-chance">${item.adjustment && chanceText(item.chance)}</span>
    <span class="row proposal-acts">${reason}${item.adjustment && html`<${Button} kind="quiet" aria-label=${`Edit: ${what}`} onClick=${() => edit(true)}>Edit</${Button}>
      <${Button} kind="quiet" aria-label=${`Refuse: ${what}`} onClick=${() => onRefuse(item)}>Refuse</${Button}>`}</span>
    ${why && html`<p class="proposal-why">${item.reason}</p>`}
    ${editing && html`<${EditDialog} item=${item} onClose=${(told) => (edit(false), told && onAccept(told))} />`}
  </li>`;
}

/** chanceText says how the chance changes. */
function chanceText(chance) {
  if (!chance) return "";
  const of = { ball: "Balls inside", three_sessions: "Chance of passing within three sessions" }[chance.of] ?? "Chance of passing";
  return `${of}: ${chance.now > 0 ? `${oddsText(chance.now)} \u2192 ` : ""}${oddsText(chance.then)}`;
}

/** acceptAll gives adjustments, and says what came of them. */
async function acceptAll(bodies) {
  const results = [];
  for (let i = 0; i < bodies.length; i += AT_ONCE) {
    results.push(...(await api.post("/v1/adjustments", { items: bodies.slice(i, i + AT_ONCE) })).results);
  }
  const given = results.filter((r) => r.adjustment).map((r) => r.adjustment.id);
  const problems = results.filter((r) => r.problem).map((r) => r.problem.errors?.[0]?.detail ?? r.problem.detail);
  return { text: `Accepted ${count(given.length, "proposal")}.`, problems, undo: given.length ? () => Promise.all(given.map((id) => api.post(`/v1/adjustments/${id}/end`))) : null };
}

/** refuseOne refuses a proposal for two weeks. */
async function refuseOne(item) {
  const items = [{ student_id: item.adjustment.student_id, skill_id: item.skill_id, kind: item.adjustment.kind }];
  const refused = (await api.post("/v1/proposals/refusals", { items })).items[0];
  return { text: `Refused. You will not see it again until after ${day(refused.until)}, unless much changes.`, problems: [], undo: () => api.post("/v1/proposals/refusals", { items, again: true }) };
}

/** Done says what was done, and takes it back. */
function Done({ done, onUndone }) {
  const undo = useSend(async () => {
    await done.undo();
    onUndone();
  });
  return html`<div class="proposal-done" role="status">${done && html`<p>${done.text} ${done.undo && html`<${Button} busy=${undo.busy} onClick=${undo.run}>Undo</${Button}>`}</p>
    ${done.problems.map((p) => html`<p class="wrong">Not accepted: ${p}</p>`)}<${Wrong} problem=${undo.problem} />`}</div>`;
}

/** EditDialog changes a proposal before it is accepted. */
function EditDialog({ item, onClose }) {
  const was = item.adjustment;
  const circle = was.tier?.radius_m ?? was.radius_m;
  const [form, set] = useState({ run: was.tier?.run, circle: circle && writeLength(circle), shares: was.shares ?? [], sessions: was.sessions_per_week, text: was.text ?? "" });
  const told = useRef(null);
  const input = (name) => ({ value: form[name], onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const share = (i, value) => set({ ...form, shares: form.shares.map((s, j) => (j === i ? { ...s, share: Number(value) } : s)) });
  const accept = async () => {
    const body = { ...was, text: form.text };
    if (was.tier) body.tier = { ...was.tier, run: Number(form.run), radius_m: parseLength(form.circle) ?? 0 };
    if (was.radius_m) body.radius_m = parseLength(form.circle) ?? 0;
    if (was.shares) body.shares = form.shares;
    if (was.sessions_per_week) body.sessions_per_week = Number(form.sessions);
    told.current = await acceptAll([body]);
    if (told.current.problems.length > 0) throw new api.Problem(422, { detail: told.current.problems[0] });
  };
  return html`<${Ask} title=${item.label} verb="Accept" onDo=${accept} onClose=${(done) => onClose(done ? told.current : null)}>
    <p>${item.reason}</p>
    ${was.tier && html`<${Field} label="In a row" type="number" min="1" max="200" required ...${input("run")} />`}
    ${circle && html`<${Field} label=${`Circle (${unitName()})`} required ...${input("circle")} />`}
    ${was.sessions_per_week && html`<${Field} label="Sessions a week" type="number" min="1" max="14" required ...${input("sessions")} />`}
    ${form.shares.map((s, i) => html`<${Field} label=${`${kindName(s.kind)}, % of the time`} type="number" min="1" max="100" required value=${s.share} onInput=${(e) => share(i, e.currentTarget.value)} />`)}
    <${Field} as="textarea" label="What the student will read" rows="3" maxlength="1000" ...${input("text")} />
  </${Ask}>`;
}
