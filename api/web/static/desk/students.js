// Students: all of them in one table, a line each, to sort and to filter.

import { go, route, to } from "../base/router.js";
import { count, day, percent } from "../base/units.js";
import { Button, Field, html, Page, useEffect, useRef, useState } from "../base/ui.js";
import { useLoad } from "../base/load.js";
import { active, agoText, AsOf, Missing, positionText, useAll } from "./parts.js";
import { reasonName, reasonText, stallReasons } from "./reasons.js";
import { Line, Steps, stepsText } from "./steps.js";
import { pressing } from "./triage.js";

const running = (row) => row.assignments.filter(active);
const sum = (list, of) => list.reduce((n, x) => n + of(x), 0);
const done = (row) => sum(running(row), (a) => a.done);
const planned = (row) => sum(running(row), (a) => a.planned);
const at = (row, id) => row.skills.find((s) => s.skill_id === id);

/** How many skills the table has room for. */
const SKILLS = 3; // one fewer beside the course

/**
 * columnsOf are what the table tells: id, heading, what is shown, what to sort by,
 * whether the first press sorts the most first, and how it looks where not by its id.
 */
function columnsOf(rows, shown) {
  const programmes = new Set(rows.flatMap(running).map((a) => a.programme_name));
  const work = (a) => html`<span class="line" title=${`${a.programme_name}, ${positionText(a)}`}>${weekText(a)}${programmes.size > 1 ? `, ${a.programme_name}` : ""}</span>`;
  return [
    { id: "name", head: "Name", sort: (r) => r.student.name.toLowerCase() },
    { id: "programme", head: "Programme", cell: (r) => running(r).map(work), sort: (r) => running(r).map((a) => `${a.programme_name} ${String(a.position.week).padStart(3, "0")}`).join() },
    { id: "attention", head: "Attention", most: true, cell: attention, sort: (r) => pressing(r).length },
    ...shown.map((skill) => ({ id: skill.skill_id, look: "skill", head: skill.name, most: true, cell: (r) => standing(at(r, skill.skill_id)), sort: (r) => held(at(r, skill.skill_id)) })),
    { id: "done", head: "Done", cell: (r) => (planned(r) + done(r) > 0 ? `${done(r)} of ${planned(r)}` : ""), sort: (r) => (planned(r) ? done(r) / planned(r) : 1) },
    ...(rows.some((r) => r.course) ? [{ id: "course", head: "Course", most: true, cell: onCourse, sort: (r) => r.course ? r.course.saved / r.course.chances : -1 }] : []),
    { id: "last", head: "Last seen", most: true, cell: (r) => (r.last_at ? html`<span title=${day(r.last_at)}>${agoText(r.last_at)}</span>` : "not yet"), sort: (r) => Date.parse(r.last_at ?? 0) },
  ];
}

/** weekText says in short where an assignment stands: "week 2 of 6". */
const weekText = (a) => positionText(a).replace(/, day \d+$/, "");

function attention(row) {
  const [first, ...others] = pressing(row);
  if (!first) return "";
  return html`<span class="cut" title=${[first, ...others].map(reasonText).join("; ")}>${reasonName(first.reason)}${others.length > 0 && html` <span class="soft">+${others.length}<span class="unseen"> more</span></span>`}</span>`;
}

/** standing draws where a student stands at a skill: steps, the rate as a small line, and the rate now. */
function standing(skill) {
  if (!skill?.tiers) return "";
  return html`<span class="standing" title=${stepsText(skill)}><${Steps} skill=${skill} /><${Line} line=${skill.line} width=${56} />${skill.rate && html`<span>${percent(skill.rate.mean)}</span>`}</span>`;
}

/** onCourse is how often up and down, as counts: a few rounds make no rate. The rest is said when it is pointed at. */
const onCourse = ({ course }) => (course ? html`<span title=${`And on the course: ${course.text}`}>${course.saved} of ${course.chances}</span>` : "");

/** held orders by steps passed, then by the rate. */
const held = (skill) => (skill ? skill.held + (skill.rate?.mean ?? 0) / 2 : -1);

/** skillsOf lists the skills that the students have, those of most of them first. */
function skillsOf(rows) {
  const found = new Map();
  for (const skill of rows.flatMap((r) => r.skills)) {
    const { students = 0 } = found.get(skill.skill_id) ?? {};
    found.set(skill.skill_id, { skill_id: skill.skill_id, name: skill.name, students: students + 1 });
  }
  return [...found.values()].sort((a, b) => b.students - a.students || a.name.localeCompare(b.name));
}

export function Students() {
  const board = useLoad("/v1/dashboard");
  const { query } = route.value;
  const name = query.get("name") ?? "";
  const [text, type, reset] = useTyped(name, (name) => set({ name }));
  const [open, setOpen] = useState(["group", "programme", "reason", "skill"].some((k) => query.has(k)));
  const groups = useAll(open ? "/v1/groups" : "");
  const rows = board.body?.items ?? [];
  const skills = skillsOf(rows);
  const first = skills.find((s) => s.skill_id === query.get("skill"));
  const columns = columnsOf(rows, [...new Set([first, ...skills])].filter(Boolean).slice(0, rows.some((r) => r.course) ? SKILLS - 1 : SKILLS));
  const inGroup = groups.items?.find((g) => g.id === query.get("group"));
  const shown = sorted(rows.filter((r) => keeps(r, query, text, inGroup)), columns, query);
  return html`<${Page} title="Students" wide>
    <${Missing} what="your students" from=${board} /><${AsOf} from=${board} />
    ${board.body && rows.length === 0 && html`<section class="empty"><h2>No students yet</h2><p>Students appear here once they have joined. <a href=${to("invitations")}>Invite the first one.</a></p></section>`}
    ${rows.length > 0 && html`<form class="filters" role="search" aria-label="Students" onSubmit=${(e) => e.preventDefault()}>
        <${Field} label="Name" type="search" value=${text} onInput=${type} />
        <${Field} class="narrow-only" as="select" label="Sorted by" value=${query.get("sort") ?? "name"} onChange=${(e) => set({ sort: e.currentTarget.value, way: "" })}>${columns.map((c) => html`<option value=${c.id}>${c.head}</option>`)}</${Field}>
        <details class="filters-more" open=${open} onToggle=${(e) => setOpen(e.currentTarget.open)}><summary>More filters</summary><div class="filters"><${Filters} rows=${rows} groups=${groups.items ?? []} skills=${skills} query=${query} /></div></details>
      </form>
      <p class="row tools"><a class="button" href=${`${to("bulk")}${query.get("group") ? `?group=${query.get("group")}` : ""}`}>Change programmes</a> <a class="button" href=${`${to("messages")}${query.get("group") ? `?group=${query.get("group")}` : ""}`}>Write to several</a><a class="button" href=${`${to("cards")}${query.get("group") ? `?group=${query.get("group")}` : ""}`}>Practice cards</a></p>
      <p role="status">${shown.length === rows.length ? count(rows.length, "student") : `${shown.length} of ${count(rows.length, "student")}`}${sharedWork(rows)}.</p>
      ${shown.length === 0 ? html`<p>Nobody matches. <${Button} onClick=${() => (reset(), go(to("students"), { replace: true }))}>Show everybody</${Button}></p>` : html`<${Grid} rows=${shown} columns=${columns} query=${query} />`}`}
  </${Page}>`;
}

/** sharedWork says once what all who have a programme share. */
function sharedWork(rows) {
  const names = [...new Set(rows.flatMap(running).map((a) => a.programme_name))];
  return names.length === 1 ? `; the programme is ${names[0]}` : "";
}

/** set changes what the address says of the table. */
function set(change) {
  const next = new URLSearchParams(route.value.query);
  for (const [k, v] of Object.entries(change)) v ? next.set(k, v) : next.delete(k);
  go(`${to("students")}${next.size ? `?${next}` : ""}`, { replace: true });
}

/** How long after the last letter the address takes what was typed, in milliseconds. */
const PAUSE = 300;

/**
 * useTyped gives [text, onInput, reset] of a field whose text the address keeps as well.
 * What was typed stands at once; the address follows when the typing pauses, and changes
 * the field only when it was changed by other ways. reset empties the field.
 */
export function useTyped(kept, keep) {
  const [text, setText] = useState(kept);
  const written = useRef(kept);
  const timer = useRef(0);
  useEffect(() => {
    if (kept === written.current) return;
    clearTimeout(timer.current);
    setText((written.current = kept));
  }, [kept]);
  useEffect(() => () => clearTimeout(timer.current), []);
  const type = (e) => {
    const now = e.currentTarget.value;
    setText(now);
    clearTimeout(timer.current);
    timer.current = setTimeout(() => keep((written.current = now)), PAUSE);
  };
  const reset = () => {
    clearTimeout(timer.current);
    setText((written.current = ""));
  };
  return [text, type, reset];
}

function keeps(row, query, text, inGroup) {
  const [group, programme, reason] = ["group", "programme", "reason"].map((k) => query.get(k) ?? "");
  return row.student.name.toLowerCase().includes(text.toLowerCase().trim())
    && (!group || !inGroup || inGroup.student_ids.includes(row.student.id))
    && (!programme || row.assignments.some((a) => active(a) && a.programme_id === programme))
    && (!reason || (reason === "any" ? pressing(row).length > 0 : reason === "none" ? pressing(row).length === 0 : pressing(row).some((a) => a.reason === reason)));
}

/** ordering is the column to sort by, and whether the most comes first. */
function ordering(columns, query) {
  const column = columns.find((c) => c.id === query.get("sort")) ?? columns[0];
  const way = query.get("way") || (column.most ? "descending" : "ascending");
  return { column, way };
}

function sorted(rows, columns, query) {
  const { column: { sort }, way } = ordering(columns, query);
  const compare = (a, b) => (typeof a === "string" ? a.localeCompare(b) : a - b);
  return rows.sort((a, b) => (way === "descending" ? -1 : 1) * compare(sort(a), sort(b)) || a.student.name.localeCompare(b.student.name));
}

function Filters({ rows, groups, skills, query }) {
  const programmes = new Map(rows.flatMap(running).map((a) => [a.programme_id, a.programme_name]));
  const pick = (name) => ({ value: query.get(name) ?? "", onChange: (e) => set({ [name]: e.currentTarget.value }) });
  return html`
    <${Field} as="select" label="Group" ...${pick("group")}><option value="">All</option>${groups.map((g) => html`<option value=${g.id}>${g.name}</option>`)}</${Field}>
    <${Field} as="select" label="Programme" ...${pick("programme")}><option value="">All</option>${[...programmes].map(([id, name]) => html`<option value=${id}>${name}</option>`)}</${Field}>
    <${Field} as="select" label="Attention" ...${pick("reason")}><option value="">All</option><option value="any">Any reason</option><option value="none">None</option>${stallReasons.map((r) => html`<option value=${r}>${reasonName(r)}</option>`)}</${Field}>
    ${skills.length > SKILLS && html`<${Field} as="select" label="Skill shown first" ...${pick("skill")}><option value="">The most practised</option>${skills.map((s) => html`<option value=${s.skill_id}>${s.name}</option>`)}</${Field}>`}`;
}

/** How many lines are shown at first. */
const LINES = 60;

/** Grid is the table; each row becomes a card on a phone, with its roles kept. */
function Grid({ rows, columns, query }) {
  const [every, showEvery] = useState(false);
  const shown = every ? rows : rows.slice(0, LINES);
  const { column, way } = ordering(columns, query);
  const press = (c) => set({ sort: c.id, way: c.id !== column.id ? "" : way === "ascending" ? "descending" : "ascending" });
  const head = (c) => html`<th scope="col" role="columnheader" aria-sort=${c.id === column.id ? way : undefined}>
    <button type="button" class="sort" onClick=${() => press(c)}>${c.head}<span aria-hidden="true">${c.id !== column.id ? "" : way === "descending" ? " ▼" : " ▲"}</span></button></th>`;
  return html`<table class="grid lines" role="table" aria-label="Students">
    <thead role="rowgroup"><tr role="row">${columns.map(head)}</tr></thead>
    <tbody role="rowgroup">${shown.map((r) => html`<tr role="row" key=${r.student.id}>
      <th scope="row" role="rowheader"><a href=${to("student", r.student.id)}>${r.student.name}</a>${r.student.junior ? " (junior)" : ""}</th>
      ${columns.slice(1).map((c) => html`<td role="cell" class=${`of-${c.look ?? c.id}`} data-head=${c.head}>${c.cell(r)}</td>`)}</tr>`)}</tbody></table>
    ${rows.length > LINES && html`<p><${Button} aria-expanded=${every} onClick=${() => showEvery(!every)}>${every ? `Show the first ${LINES}` : `Show all ${rows.length}`}</${Button}></p>`}`;
}
