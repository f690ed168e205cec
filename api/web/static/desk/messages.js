// Messages: a thread with each student, and the same words to many.

import * as api from "../base/api.js";
import { who } from "../base/account.js";
import { useLoad } from "../base/load.js";
import { route, to } from "../base/router.js";
import { count, dayTime } from "../base/units.js";
import { Button, Field, html, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";
import { Picker } from "./assign.js";
import { startingWith } from "./bulk.js";
import { AsOf, Missing, useAll } from "./parts.js";
import { UnreadList } from "./unread.js";

/** Messages is a student's thread, or without one the page to write to many. */
export const Messages = ({ args: [id] }) => (id ? html`<${Thread} id=${id} />` : html`<${Many} />`);

function Thread({ id }) {
  const path = `/v1/students/${id}/messages`;
  const thread = useAll(`${path}?limit=200`);
  const student = useLoad(`/v1/members/${id}`);
  const [text, setText] = useState("");
  const mayWrite = who.value.membership.role !== "guardian";
  const newest = thread.items?.[0];
  useEffect(() => {
    if (thread.items?.some((m) => m.unread)) api.put(`${path}/read`, { up_to: newest.id }).catch((e) => e.known || console.error(e));
  }, [newest?.id]);
  const send = useSend(async () => {
    await api.post(path, { text });
    setText("");
    thread.reload();
  });
  return html`<${Page} title=${`Messages with ${student.body?.name ?? "a student"}`} wide>
    <p class="row"><a class="button" href=${mayWrite ? to("student", id) : to("")}>${mayWrite ? "To the student's page" : "Back"}</a></p>
    <${Missing} what="the messages" from=${thread} /><${AsOf} from=${thread} />
    ${thread.items?.length === 0 && html`<p>No messages yet.</p>`}
    <ul class="comments">${[...(thread.items ?? [])].reverse().map((m) => html`<li key=${m.id} class=${m.author_id === id ? "theirs" : ""}><p class="small">${m.author_name}, ${dayTime(m.created_at)}${m.unread ? html`, <strong>new</strong>` : ""}</p><p class="text">${m.text}</p></li>`)}</ul>
    ${mayWrite && html`<form class="form screen-only" onSubmit=${send.run}>
      <${Field} as="textarea" label="Message" hint="The student sees it first and can reply. A junior's guardian reads it as well." rows="4" required maxlength="4000" value=${text} error=${send.at("/text")} onInput=${(e) => setText(e.currentTarget.value)} />
      <div role="alert"><${Wrong} problem=${send.problem} /></div><${Button} kind="main" type="submit" busy=${send.busy}>Send the message</${Button}></form>`}
  </${Page}>`;
}

function Many() {
  const students = useAll("/v1/members?role=student&limit=200");
  const groups = useAll("/v1/groups?limit=200");
  return html`<${Page} title="Message to students" wide><${UnreadList} />
    <${Missing} what="the students" from=${students} /><${Missing} what="the groups" from=${groups} />
    ${students.items && groups.items && html`<${Write} students=${students.items} groups=${groups.items} />`}
  </${Page}>`;
}

function Write({ students, groups }) {
  const [picked, setPicked] = useState(() => startingWith(route.value.query, groups));
  const [text, setText] = useState("");
  const [results, setResults] = useState(null);
  const send = useSend(async () => {
    setResults(null);
    setResults((await api.post("/v1/messages", { student_ids: [...picked], text })).results);
    setText("");
    setPicked(new Set());
  });
  const pick = (id, on) => setPicked((s) => new Set(on ? [...s, id] : [...s].filter((x) => x !== id)));
  const refused = results?.filter((r) => r.problem) ?? [];
  return html`<form onSubmit=${send.run}>
    <div role="status">${results && html`<section class="panel"><h2>Sent to ${results.length - refused.length} of ${count(results.length, "student")}</h2>${refused.length > 0 && html`<ul class="plain">${refused.map((r) => html`<li key=${r.student_id}><strong>${r.name ?? "A student"}</strong>: ${r.problem.detail}</li>`)}</ul>`}</section>`}</div>
    <${Field} as="textarea" class="form" label="Message" hint="Sent to each privately; they see it first and can reply." rows="4" required maxlength="4000" value=${text} error=${send.at("/text")} onInput=${(e) => setText(e.currentTarget.value)} />
    ${groups.length > 0 && html`<${Field} as="select" class="form" label="Add the students of a group" value="" onChange=${(e) => groups.find((g) => g.id === e.currentTarget.value)?.student_ids.forEach((id) => pick(id, true))}><option value="">Choose a group</option>${groups.map((g) => html`<option value=${g.id}>${g.name}, ${count(g.student_ids.length, "student")}</option>`)}</${Field}>`}
    <${Picker} label="Students" students=${students} picked=${picked} pick=${pick} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${picked.size === 0}>${picked.size ? `Send to ${count(picked.size, "student")}` : "Send"}</${Button}>
  </form>`;
}
