// A student's sessions, latest first.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { dayTime } from "../base/units.js";
import { Button, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { sessionText } from "./actions.js";
import { goingOn } from "./live.js";
import { AsOf, Missing } from "./parts.js";

/** SessionList lists sessions; with all, one may go on to earlier ones. */
export function SessionList({ studentID, limit, all }) {
  const first = useLoad(`/v1/sessions?student_id=${studentID}&limit=${limit}`);
  const [more, setMore] = useState({ items: [], next: null });
  const next = more.items.length ? more.next : first.body?.links.next;
  const onward = useSend(async () => {
    const page = await api.get(next);
    setMore({ items: [...more.items, ...page.items], next: page.links.next });
  });
  const items = [...(first.body?.items ?? []), ...more.items];
  return html`<${Missing} what="the sessions" from=${first} /><${AsOf} from=${first} />
    ${first.body && items.length === 0 && html`<p>No sessions yet.</p>`}
    <ul class="sessions">${items.map((s) => html`<li key=${s.id}><a class="session" href=${to("session", s.id)}>
      <span class="session-when">${dayTime(s.started_at)}${goingOn(s) ? ", going on" : ""}</span>
      <span class="session-what">${s.week ? `Week ${s.week}, plan ${s.plan} · ` : "Own practice · "}${sessionText(s)}${s.week && !s.counts ? " · does not count for the week" : ""}</span></a></li>`)}</ul>
    ${next && (all ? html`<${Button} busy=${onward.busy} onClick=${onward.run}>Earlier sessions</${Button}>` : html`<p><a href=${to("sessions", studentID)}>All sessions</a></p>`)}
    <${Wrong} problem=${onward.problem} />`;
}

export function Sessions({ args: [id] }) {
  const progress = useLoad(`/v1/students/${id}/progress`);
  return html`<${Page} title=${progress.body ? `Sessions of ${progress.body.student.name}` : "Sessions"}>
    <p><a href=${to("student", id)}>Back to the student</a></p><${SessionList} studentID=${id} limit=${30} all /></${Page}>`;
}
