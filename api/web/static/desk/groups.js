// Groups: some students under a name.

import * as api from "../base/api.js";
import { to } from "../base/router.js";
import { count } from "../base/units.js";
import { Button, Field, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Picker } from "./assign.js";
import { Lacking } from "./lacking.js";
import { Ask, AsOf, Missing, useAll } from "./parts.js";
import { PeopleNav } from "./people.js";

export function Groups() {
  const groups = useAll("/v1/groups?limit=200");
  const students = useAll("/v1/members?role=student&limit=200");
  // The group saved last, with what newcomers to it lack.
  const [saved, setSaved] = useState(null);
  const done = (group) => {
    setSaved(group ?? null);
    groups.reload();
  };
  return html`<${Page} title="Groups" wide><${PeopleNav} current="groups" />
    ${saved && html`<${Lacking} key=${saved.id + saved.revision} group=${saved} students=${students.items ?? []} />`}
    <${Missing} what="the groups" from=${groups} /><${AsOf} from=${groups} />
    ${groups.items?.length === 0 && html`<section class="empty"><h2>No groups yet</h2><p>A group gives a programme to several students at once, and narrows the list of students.</p></section>`}
    ${groups.items?.map((g) => html`<${Group} key=${g.id + g.revision} group=${g} students=${students.items ?? []} onDone=${done} />`)}
    <section class="panel"><h2>New group</h2><${Form} verb="Make the group" group=${{ name: "", student_ids: [] }} students=${students.items ?? []} save=${(body) => api.post("/v1/groups", body)} onDone=${done} clear /></section>
  </${Page}>`;
}

function Group({ group, students, onDone }) {
  const [asking, ask] = useState(false);
  const names = students.filter((s) => group.student_ids.includes(s.id)).map((s) => s.name);
  const remove = () => api.del(`/v1/groups/${group.id}`);
  return html`<details class="panel"><summary>${group.name}: ${count(group.student_ids.length, "student")}<span class="line small">${names.join(", ")}</span></summary>
    <${Form} verb="Save the group" group=${group} students=${students} save=${(body) => api.put(`/v1/groups/${group.id}`, body, { headers: { "If-Match": `"${group.revision}"` } })} onDone=${onDone} />
    ${group.student_ids.length > 0 && html`<p class="row"><a class="button" href=${`${to("bulk")}?group=${group.id}`}>Programmes of ${group.name}</a><a class="button" href=${`${to("messages")}?group=${group.id}`}>Message to ${group.name}</a><a class="button" href=${`${to("cards")}?group=${group.id}`}>Practice cards</a></p>`}
    <p><${Button} onClick=${() => ask(true)}>Delete ${group.name}</${Button}></p>
    ${asking && html`<${Ask} title=${`Delete ${group.name}?`} verb="Delete" onDo=${remove} onClose=${(done) => (ask(false), done && onDone())}><p>The students stay; only the group goes.</p></${Ask}>`}</details>`;
}

function Form({ verb, group, students, save, onDone, clear }) {
  const [name, setName] = useState(group.name);
  const [picked, setPicked] = useState(new Set(group.student_ids));
  const send = useSend(async () => {
    const saved = await save({ name, student_ids: [...picked] });
    if (clear) {
      setName("");
      setPicked(new Set());
    }
    onDone(saved);
  });
  const pick = (id, on) => setPicked((s) => new Set(on ? [...s, id] : [...s].filter((x) => x !== id)));
  return html`<form onSubmit=${send.run}><${Field} class="form" label="Name" required maxlength="120" value=${name} error=${send.at("/name")} onInput=${(e) => setName(e.currentTarget.value)} />
    ${students.length > 0 && html`<${Picker} label="Students" students=${students} picked=${picked} pick=${pick} />`}
    <div role="alert"><${Wrong} problem=${send.problem} /></div><${Button} kind="main" type="submit" busy=${send.busy}>${verb}</${Button}></form>`;
}
