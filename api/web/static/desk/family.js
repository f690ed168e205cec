// What a guardian sees: the junior's progress, and consent.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { rateText } from "../base/rates.js";
import { html, Notice, Page, useEffect, useState } from "../base/ui.js";
import { Consent } from "./member.js";
import { AsOf, ladderText, Missing, seenText, useAll } from "./parts.js";

export function Family() {
  const work = useAll("/v1/assignments?limit=200");
  const ids = [...new Set((work.items ?? []).map((a) => a.student_id))];
  return html`<${Page} title="Your junior"><${Missing} what="your junior" from=${work} /><${AsOf} from=${work} />
    ${work.items && ids.length === 0 && html`<section class="empty"><h2>Nothing here yet</h2><p>Your junior appears here once the coach has assigned a programme.</p></section>`}
    ${ids.map((id) => html`<${Junior} key=${id} id=${id} />`)}</${Page}>`;
}

function Junior({ id }) {
  const progress = useLoad(`/v1/students/${id}/progress`);
  const [member, setMember] = useState(null);
  const read = () => api.get(`/v1/members/${id}`).then(setMember, (e) => e.known || console.error(e));
  useEffect(() => void read(), [id]);
  const { body } = progress;
  if (!body) return html`<${Missing} what="the progress" from=${progress} />`;
  return html`<section><h2>${body.student.name}</h2><p>${seenText(body.last_at)}.</p>
    ${member && !member.consent_at && html`<${Notice} kind="warn" title="Your consent is needed"><p>Until you agree, no session is kept. What is kept: balls, times and results of practice, for the coach, the academy's owner and you.</p></${Notice}>`}
    ${body.skills.map((s) => html`<h3>${s.name}</h3><p>${ladderText(s)}${s.rate ? ` Now ${rateText(s.rate)}.` : ""}</p>`)}
    <p class="row"><a class="button" href=${to("report", id)}>Progress report</a><a class="button" href=${to("messages", id)}>Messages with the coaches</a></p>
    ${member && html`<${Consent} member=${member} onDone=${read} />`}</section>`;
}
