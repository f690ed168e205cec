// A student's rounds on the course, as the coach reads them.

import { Chances, roundText, shotText } from "../base/course.js";
import { to } from "../base/router.js";
import { day } from "../base/units.js";
import { html, Page } from "../base/ui.js";
import { Missing, useAll } from "./parts.js";

export function Rounds({ args: [id] }) {
  const rounds = useAll(`/v1/rounds?student_id=${id}`);
  return html`<${Page} title="Rounds on the course" wide>
    <p><a class="button" href=${to("student", id)}>Back to the student</a></p>
    <${Missing} what="the rounds" from=${rounds} />
    ${rounds.items?.map((r) => html`<details class="panel round" key=${r.id}><summary>${day(r.day)} · <${Chances} round=${r} /> ${roundText(r)}</summary>
      ${r.note && html`<p>${r.note}</p>`}<ol class="plain">${r.shots.map((s) => html`<li>${shotText(s)}</li>`)}</ol></details>`)}
    ${rounds.items?.length === 0 && html`<p>No round yet.</p>`}
  </${Page}>`;
}
