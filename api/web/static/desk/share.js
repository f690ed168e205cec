// Sharing a student's report by a link that expires and can be withdrawn.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { day } from "../base/units.js";
import { Choice } from "../base/choices.js";
import { Button, html, Notice, useSend, useState, Wrong } from "../base/ui.js";
import { CopyButton, Missing } from "./parts.js";

const states = { open: "open", withdrawn: "withdrawn", expired: "expired" };

/** Share makes links to a student's report, with the coach's words, and lists them. */
export function Share({ student, words }) {
  const path = `/v1/students/${student.id}/report-links`;
  const links = useLoad(path);
  const [days, setDays] = useState("14");
  const [made, setMade] = useState(null);
  const send = useSend(async () => {
    setMade(await api.post(path, { days: Number(days), words: words || undefined }));
    links.reload();
  });
  return html`<details><summary>Share by a link</summary><form onSubmit=${send.run}>
    <p>Anyone with the link sees the first name, the steps passed, what comes next and your own words; always up to date.${student.junior ? " A junior's report needs the guardian's consent and shows no dates." : ""}</p>
    <${Choice} label="The link works for" value=${days} options=${[["7", "1 week"], ["14", "2 weeks"], ["30", "30 days"], ["90", "90 days"]]} onChange=${setDays} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} type="submit" busy=${send.busy}>Make a link</${Button}></form>
    ${made && html`<${Notice} kind="good" title="Share this now; it is shown only once" live><p><a class="secret" href=${made.link}>${made.link}</a></p><p>Until ${day(made.expires_at)}. <${CopyButton} text=${made.link} label="Copy the link" /></p></${Notice}>`}
    <${Missing} what="the links" from=${links} />
    ${links.body?.items.length > 0 && html`<ul class="plain">${links.body.items.map((l) => html`<li key=${l.id}><${Line} path=${path} link=${l} onDone=${() => (setMade(made?.id === l.id ? null : made), links.reload())} /></li>`)}</ul>`}
  </details>`;
}

function Line({ path, link, onDone }) {
  const send = useSend(async () => {
    await api.del(`${path}/${link.id}`);
    onDone();
  });
  return html`Made ${day(link.created_at)}, ${link.state === "open" ? `open until ${day(link.expires_at)}` : states[link.state]}
    ${" "}${link.state === "open" && html`<${Button} class="small-button" busy=${send.busy} aria-label=${`Withdraw the link made ${day(link.created_at)}`} onClick=${send.run}>Withdraw</${Button}>`}<${Wrong} problem=${send.problem} />`;
}
