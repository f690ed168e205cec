// What a guardian sees: the junior's progress, and consent.

import * as api from "../base/api.js";
import { Learning } from "../base/learning.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { rateText } from "../base/rates.js";
import { html, Notice, Page, useEffect, useState } from "../base/ui.js";
import { Consent, Guardians } from "./member.js";
import { AsOf, ladderText, Missing, seenText } from "./parts.js";

export function Family() {
  const juniors = useLoad("/v1/me/juniors");
  const items = juniors.body?.items;
  return html`<${Page} title=${items?.length > 1 ? "Your juniors" : "Your junior"}><${Missing} what="your juniors" from=${juniors} /><${AsOf} from=${juniors} />
    ${items?.length === 0 && html`<section class="empty"><h2>Nobody here</h2><p>A coach invites you for each junior. If you were invited and see nobody, the student is no longer a junior and decides who may still read.</p></section>`}
    ${items?.map((m) => html`<${Junior} key=${m.id} id=${m.id} onEnd=${juniors.reload} />`)}</${Page}>`;
}

function Junior({ id, onEnd }) {
  const progress = useLoad(`/v1/students/${id}/progress`);
  const [member, setMember] = useState(null);
  const read = () => api.get(`/v1/members/${id}`).then(setMember, (e) => e.known || console.error(e));
  useEffect(() => void read(), [id]);
  const { body } = progress;
  if (!body) return html`<${Missing} what="the progress" from=${progress} />`;
  return html`<section><h2>${body.student.name}</h2><p>${seenText(body.last_at)}.</p>
    ${member && !member.consent_at && html`<${Notice} kind="warn" title="Your consent is needed"><p>Until you agree, no session is kept. What is kept: balls, times and results of practice, for the coach, the academy's owner and you.</p></${Notice}>`}
    ${body.skills.map((s) => html`<h3>${s.name}</h3><p>${ladderText(s)}${s.rate ? ` Now ${rateText(s.rate)}.` : ""}</p>`)}
    <${Learning} student=${id} side="guardian" junior=${body.student.junior} />
    <p class="row"><a class="button" href=${to("report", id)}>Progress report</a><a class="button" href=${to("messages", id)}>Messages with the coaches</a></p>
    ${member && html`<${Consent} member=${member} onDone=${read} /><${Guardians} student=${member} onEnd=${onEnd} />`}</section>`;
}
