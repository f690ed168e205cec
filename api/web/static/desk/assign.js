// Giving a published version to students or to a group.

import * as api from "../base/api.js";
import { route, to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Missing, nextMonday, useAll } from "./parts.js";
import { ProgrammeNav } from "./programmes.js";

export function Assign() {
  const programmes = useAll("/v1/programmes?limit=200");
  const students = useAll("/v1/members?role=student&limit=200");
  const groups = useAll("/v1/groups?limit=200");
  const ready = programmes.items && students.items && groups.items;
  const published = programmes.items?.filter((p) => p.published > 0) ?? [];
  return html`<${Page} title="Assign a programme" wide><${ProgrammeNav} current="assign" />
    <p><a href=${to("bulk")}>Move, pause, resume or end for many students</a></p>
    <${Missing} what="the programmes" from=${programmes} /><${Missing} what="the students" from=${students} /><${Missing} what="the groups" from=${groups} />
    ${ready && published.length === 0 && html`<section class="empty"><h2>Nothing to assign yet</h2><p>A programme is assigned once a version of it is published. <a href=${to("programmes")}>See the programmes.</a></p></section>`}
    ${ready && published.length > 0 && students.items.length === 0 && html`<section class="empty"><h2>Nobody to assign to yet</h2><p><a href=${`${to("invitations")}?programme=${route.value.query.get("programme") ?? published[0].id}`}>Invite your students first.</a> They are given the programme as they join.</p></section>`}
    ${ready && published.length > 0 && students.items.length > 0 && html`<${Form} programmes=${published} students=${students.items} groups=${groups.items} />`}
  </${Page}>`;
}

function Form({ programmes, students, groups }) {
  const { query } = route.value;
  const [programme, setProgramme] = useState(query.get("programme") ?? programmes[0].id);
  const chosen = programmes.find((p) => p.id === programme) ?? programmes[0];
  const [version, setVersion] = useState("");
  const [group, setGroup] = useState("");
  const [picked, setPicked] = useState(new Set([query.get("student")].filter(Boolean)));
  const [start, setStart] = useState(nextMonday());
  const [tests, setTests] = useState(true);
  const [done, setDone] = useState(null);
  const send = useSend(async () => {
    setDone(null);
    const body = { programme_id: chosen.id, version: Number(version || chosen.published), student_ids: [...picked], group_id: group || undefined, start_date: start, tests };
    setDone(await api.post("/v1/assignments", body));
    setPicked(new Set());
  });
  const pick = (id, on) => setPicked((s) => new Set(on ? [...s, id] : [...s].filter((x) => x !== id)));
  return html`<form onSubmit=${send.run}>
    <div class="trio wide-first"><${Field} as="select" label="Programme" error=${send.at("/programme_id")} value=${chosen.id} onChange=${(e) => (setProgramme(e.currentTarget.value), setVersion(""))}>${programmes.map((p) => html`<option value=${p.id}>${p.name}</option>`)}</${Field}>
      <${Field} as="select" label="Version" error=${send.at("/version")} value=${version || chosen.published} onChange=${(e) => setVersion(e.currentTarget.value)}>${Array.from({ length: chosen.published }, (_, i) => html`<option value=${chosen.published - i}>${chosen.published - i}${i === 0 ? " (latest)" : ""}</option>`)}</${Field}>
      <${Field} label="First day of week 1" hint="In each student's own time zone." type="date" required error=${send.at("/start_date")} value=${start} onInput=${(e) => setStart(e.currentTarget.value)} /></div>
    <label class="option"><input type="checkbox" checked=${tests} onChange=${(e) => setTests(e.currentTarget.checked)} /><span>Ask for a first test of new skills (20 balls each), and an end test in the last week</span></label>
    ${groups.length > 0 && html`<${Field} as="select" class="form" label="To a group" error=${send.at("/group_id")} value=${group} onChange=${(e) => setGroup(e.currentTarget.value)}><option value="">No group</option>${groups.map((g) => html`<option value=${g.id}>${g.name}, ${count(g.student_ids.length, "student")}</option>`)}</${Field}>`}
    <${Picker} label=${groups.length ? "And to these students" : "To these students"} students=${students} picked=${picked} pick=${pick} />
    ${send.at("/student_ids") && html`<p class="wrong">${send.at("/student_ids")}</p>`}
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${picked.size === 0 && !group}>Assign from ${start ? day(start) : "…"}</${Button}>
    ${done && html`<${Done} done=${done} students=${students} />`}
  </form>`;
}

function Done({ done: { items, had }, students }) {
  const names = had.map((a) => `${students.find((s) => s.id === a.student_id)?.name ?? "a student"} (version ${a.version})`);
  return html`<${Notice} kind="good" title=${items.length ? `Assigned to ${count(items.length, "student")}` : "Everybody in the group has it already"} live>
    ${items.length > 0 && html`<p>It begins on ${day(items[0].start_date)}. <a href=${to("students")}>See the students.</a></p>`}
    ${had.length > 0 && html`<p>${items.length ? "These had it already, and keep what they have" : "They keep what they have"}: ${names.join(", ")}.</p>`}</${Notice}>`;
}

/** Picker chooses students by checkboxes, with a filter by name. */
export function Picker({ label, students, picked, pick }) {
  const [text, setText] = useState("");
  const shown = students.filter((s) => s.name.toLowerCase().includes(text.toLowerCase().trim()));
  return html`<fieldset class="picker"><legend>${label} (${picked.size} chosen)</legend>
    ${students.length > 8 && html`<${Field} class="form" label="Find by name" type="search" value=${text} onInput=${(e) => setText(e.currentTarget.value)} />`}
    <div class="options">${shown.map((s) => html`<label class="option" key=${s.id}><input type="checkbox" checked=${picked.has(s.id)} onChange=${(e) => pick(s.id, e.currentTarget.checked)} /><span>${s.name}</span></label>`)}</div>
    ${shown.length === 0 && html`<p>Nobody has that name.</p>`}
    ${students.length > 3 && html`<div class="row"><${Button} kind="quiet" onClick=${() => shown.forEach((s) => pick(s.id, true))}>Choose all shown</${Button}><${Button} kind="quiet" onClick=${() => students.forEach((s) => pick(s.id, false))}>Choose none</${Button}></div>`}
  </fieldset>`;
}
