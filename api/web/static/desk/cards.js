// Practice cards on paper for many students: each plan of the coming week on a
// sheet of its own.

import * as api from "../base/api.js";
import { route } from "../base/router.js";
import { count } from "../base/units.js";
import { Choice } from "../base/choices.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { CardSheet } from "../green/sheet.js";
import { Picker } from "./assign.js";
import { startingWith } from "./bulk.js";
import { Missing, useAll } from "./parts.js";

export function Cards() {
  const students = useAll("/v1/members?role=student&limit=200");
  const groups = useAll("/v1/groups?limit=200");
  return html`<${Page} title="Practice cards" wide>
    <div class="screen-only"><${Missing} what="the students" from=${students} /><${Missing} what="the groups" from=${groups} /></div>
    ${students.items && groups.items && html`<${Choose} students=${students.items} groups=${groups.items} />`}
  </${Page}>`;
}

/** sheetsOf are the plans of this or the next week of what a student follows now. */
export function sheetsOf(now, week) {
  return now.work.flatMap((work) => {
    const of = week === "next" ? work.next_week : work.week;
    return (of?.plans ?? []).map((plan) => ({ name: now.name, work, week: of, plan, skills: now.skills, now }));
  });
}

function Choose({ students, groups }) {
  const [picked, setPicked] = useState(() => startingWith(route.value.query, groups));
  const [week, setWeek] = useState("next");
  const [made, setMade] = useState(null);
  const send = useSend(async () => {
    setMade(null);
    const chosen = students.filter((s) => picked.has(s.id));
    const all = [];
    for (const s of chosen) all.push({ student: s, sheets: sheetsOf(await api.get(`/v1/students/${s.id}/now`), week) });
    setMade({ sheets: all.flatMap((a) => a.sheets), without: all.filter((a) => a.sheets.length === 0).map((a) => a.student.name) });
  });
  const pick = (id, on) => (setMade(null), setPicked((s) => new Set(on ? [...s, id] : [...s].filter((x) => x !== id))));
  return html`<form class="screen-only" onSubmit=${send.run}>
    <${Choice} label="Which week" value=${week} options=${[["next", "Next week"], ["this", "This week"]]} onChange=${(w) => (setMade(null), setWeek(w))} />
    ${groups.length > 0 && html`<${Field} as="select" class="form" label="Add the students of a group" value="" onChange=${(e) => groups.find((g) => g.id === e.currentTarget.value)?.student_ids.forEach((id) => pick(id, true))}><option value="">Choose a group</option>${groups.map((g) => html`<option value=${g.id}>${g.name}, ${count(g.student_ids.length, "student")}</option>`)}</${Field}>`}
    <${Picker} label="Students" students=${students} picked=${picked} pick=${pick} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${picked.size === 0}>Make the cards${picked.size ? ` of ${count(picked.size, "student")}` : ""}</${Button}>
  </form>
  ${made && html`<div class="screen-only"><${Notice} kind="good" live title=${count(made.sheets.length, "card")}>${made.without.length > 0 && html`<p>Nothing is planned in that week for ${made.without.join(", ")}.</p>`}
    ${made.sheets.length > 0 && html`<p><${Button} kind="main" onClick=${() => print()}>Print the cards</${Button}></p>`}</${Notice}></div>
    <div class="cards-sheet">${made.sheets.map((s, i) => html`<${CardSheet} key=${i} ...${s} named />`)}</div>`}`;
}
