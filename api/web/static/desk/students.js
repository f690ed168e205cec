// Students: all of them in one table to sort and to filter.

import { go, route, to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { ballsText } from "../base/words.js";
import { reasonName, stallReasons } from "./reasons.js";
import { Button, Field, html, Page, useEffect, useRef, useState } from "../base/ui.js";
import { useLoad } from "../base/load.js";
import { active, AsOf, Missing, positionText, useAll } from "./parts.js";

const names = (list) => list.map((g) => g.name).join(", ");
const running = (row) => row.assignments.filter(active);
const pressing = (row) => row.attention.filter((a) => !a.silenced);
const weekBalls = (row) => row.skills.reduce((sum, s) => sum + s.week.balls + s.week.attested.balls, 0);
const tiersMade = (row) => row.skills.reduce((sum, s) => sum + s.held, 0);

/** columns are what the table tells: id, heading, what is shown, what to sort by. */
const columns = [
  { id: "name", head: "Name", sort: (r) => r.student.name.toLowerCase() },
  { id: "groups", head: "Groups", cell: (r) => names(r.groups), sort: (r) => names(r.groups).toLowerCase() },
  { id: "programme", head: "Programme", cell: (r) => running(r).map((a) => html`<span class="line">${a.programme_name}, ${positionText(a)}</span>`), sort: (r) => running(r)[0]?.programme_name ?? "" },
  { id: "attention", head: "Attention", cell: (r) => pressing(r).map((a) => html`<span class="line">${reasonName(a.reason)}${a.skill_name ? `, ${a.skill_name}` : ""}</span>`), sort: (r) => -pressing(r).length },
  { id: "tiers", head: "Tiers made", cell: (r) => r.skills.map((s) => html`<span class="line">${s.name} ${s.held}\u00a0of\u00a0${s.tiers}</span>`), sort: (r) => -tiersMade(r) },
  { id: "week", head: "This week", cell: (r) => ballsText(weekBalls(r)), sort: (r) => -weekBalls(r) },
  { id: "last", head: "Last session", cell: (r) => (r.last_at ? day(r.last_at) : "none yet"), sort: (r) => -Date.parse(r.last_at ?? 0) },
];

export function Students() {
  const board = useLoad("/v1/dashboard");
  const groups = useAll("/v1/groups");
  const { query } = route.value;
  const set = (change) => {
    const next = new URLSearchParams(query);
    for (const [k, v] of Object.entries(change)) v ? next.set(k, v) : next.delete(k);
    go(`${to("students")}${next.size ? `?${next}` : ""}`, { replace: true });
  };
  const rows = (board.body?.items ?? []).map((r) => ({ ...r, groups: (groups.items ?? []).filter((g) => g.student_ids.includes(r.student.id)) }));
  const shown = sorted(rows.filter((r) => keeps(r, query)), query);
  return html`<${Page} title="Students" wide>
    <${Missing} what="your students" from=${board} /><${AsOf} from=${board} />
    ${board.body && rows.length === 0 && html`<section class="empty"><h2>No students yet</h2><p>Students appear here once they have joined. <a href=${to("invitations")}>Invite the first one.</a></p></section>`}
    ${rows.length > 0 && html`<${Filters} rows=${rows} groups=${groups.items ?? []} query=${query} set=${set} />
      <p role="status">${shown.length === rows.length ? count(rows.length, "student") : `${shown.length} of ${count(rows.length, "student")}`}.</p>
      ${shown.length === 0 ? html`<p>Nobody matches. <${Button} onClick=${() => go(to("students"), { replace: true })}>Show everybody</${Button}></p>` : html`<${Grid} rows=${shown} query=${query} set=${set} />`}`}
  </${Page}>`;
}

function keeps(row, query) {
  const [text, group, programme, reason] = ["name", "group", "programme", "reason"].map((k) => query.get(k) ?? "");
  return row.student.name.toLowerCase().includes(text.toLowerCase().trim())
    && (!group || row.groups.some((g) => g.id === group))
    && (!programme || row.assignments.some((a) => active(a) && a.programme_id === programme))
    && (!reason || (reason === "any" ? pressing(row).length > 0 : reason === "none" ? pressing(row).length === 0 : pressing(row).some((a) => a.reason === reason)));
}

function sorted(rows, query) {
  const id = query.get("sort") ?? "name";
  const { sort } = columns.find((c) => c.id === id) ?? columns[0];
  const way = query.get("down") ? -1 : 1;
  const compare = (a, b) => (typeof a === "string" ? a.localeCompare(b) : a - b);
  return rows.sort((a, b) => way * compare(sort(a), sort(b)) || a.student.name.localeCompare(b.student.name));
}

function Filters({ rows, groups, query, set }) {
  const programmes = new Map(rows.flatMap(running).map((a) => [a.programme_id, a.programme_name]));
  const name = query.get("name") ?? "";
  const [text, setText] = useState(name);
  const typed = useRef(name);
  // The address may change by other ways than typing here.
  useEffect(() => {
    if (name !== typed.current) setText((typed.current = name));
  }, [name]);
  const type = (e) => {
    typed.current = e.currentTarget.value;
    setText(typed.current);
    set({ name: typed.current });
  };
  const pick = (name) => ({ value: query.get(name) ?? "", onChange: (e) => set({ [name]: e.currentTarget.value }) });
  return html`<form class="filters" role="search" aria-label="Students" onSubmit=${(e) => e.preventDefault()}>
    <${Field} label="Name" type="search" value=${text} onInput=${type} />
    <${Field} as="select" label="Group" ...${pick("group")}><option value="">All</option>${groups.map((g) => html`<option value=${g.id}>${g.name}</option>`)}</${Field}>
    <${Field} as="select" label="Programme" ...${pick("programme")}><option value="">All</option>${[...programmes].map(([id, name]) => html`<option value=${id}>${name}</option>`)}</${Field}>
    <${Field} as="select" label="Attention" ...${pick("reason")}><option value="">All</option><option value="any">Any reason</option><option value="none">None</option>${stallReasons.map((r) => html`<option value=${r}>${reasonName(r)}</option>`)}</${Field}>
    <${Field} class="narrow-only" as="select" label="Sorted by" value=${query.get("sort") ?? "name"} onChange=${(e) => set({ sort: e.currentTarget.value, down: "" })}>${columns.map((c) => html`<option value=${c.id}>${c.head}</option>`)}</${Field}>
  </form>`;
}

/** Grid is the table; each row becomes a card on a phone, with its roles kept. */
function Grid({ rows, query, set }) {
  const by = query.get("sort") ?? "name";
  const down = Boolean(query.get("down"));
  const head = (c) => html`<th scope="col" role="columnheader" aria-sort=${c.id !== by ? undefined : down ? "descending" : "ascending"}>
    <button type="button" class="sort" onClick=${() => set({ sort: c.id, down: c.id === by && !down ? "1" : "" })}>${c.head}<span aria-hidden="true">${c.id !== by ? "" : down ? " ▼" : " ▲"}</span></button></th>`;
  return html`<table class="grid" role="table" aria-label="Students">
    <thead role="rowgroup"><tr role="row">${columns.map(head)}</tr></thead>
    <tbody role="rowgroup">${rows.map((r) => html`<tr role="row" key=${r.student.id}>
      <th scope="row" role="rowheader"><a href=${to("student", r.student.id)}>${r.student.name}</a>${r.student.junior ? " (junior)" : ""}</th>
      ${columns.slice(1).map((c) => html`<td role="cell" data-head=${c.head}>${c.cell(r)}</td>`)}</tr>`)}</tbody></table>`;
}
