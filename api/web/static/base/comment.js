// One comment under a session: its words, whether they were edited or deleted, and the
// answer to it.

import * as api from "./api.js";
import { dayTime } from "./units.js";
import { Button, Field, html, useSend, useState, Wrong } from "./ui.js";

/** Comment shows one; me is who reads, answer says that they may reply. */
export function Comment({ session, c, me, answer, onDone }) {
  const [writing, write] = useState(""); // "reply" or "edit"
  const at = `/v1/sessions/${session}/comments/${c.id}`;
  const remove = useSend(async () => {
    await api.del(at);
    onDone();
  });
  if (c.deleted_at) return html`<li class=${c.reply_to ? "reply" : ""}><p class="small">A comment was deleted.</p></li>`;
  const name = c.author_id === me ? "You" : c.author_name;
  return html`<li class=${c.reply_to ? "reply" : ""}><p class="small">${name ? `${name}, ` : ""}${dayTime(c.created_at)}${c.edited_at ? `, edited ${dayTime(c.edited_at)}` : ""}</p>
    ${writing === "edit" ? "" : html`<p class="text">${c.text}</p>`}
    ${!writing && answer && html`<p class="row screen-only"><${Button} onClick=${() => write("reply")}>Reply</${Button}>
      ${c.author_id === me && html`<${Button} onClick=${() => write("edit")}>Edit</${Button}><${Button} busy=${remove.busy} onClick=${remove.run}>Delete</${Button}>`}</p>`}
    ${writing && html`<${Words} at=${at} edit=${writing === "edit"} text=${writing === "edit" ? c.text : ""} onDone=${(sent) => (write(""), sent && onDone())} />`}
    <${Wrong} problem=${remove.problem} /></li>`;
}

function Words({ at, edit, text: first, onDone }) {
  const [text, set] = useState(first);
  const send = useSend(async () => {
    await (edit ? api.put(at, { text }) : api.post(`${at}/replies`, { text }));
    onDone(true);
  });
  return html`<form class="form" onSubmit=${send.run}>
    <${Field} as="textarea" label=${edit ? "Your comment" : "Your reply"} rows="3" required maxlength="4000" value=${text} error=${send.at("/text")} onInput=${(e) => set(e.currentTarget.value)} />
    <${Wrong} problem=${send.problem} />
    <p class="row"><${Button} kind="main" type="submit" busy=${send.busy}>${edit ? "Save" : "Send the reply"}</${Button}><${Button} onClick=${() => onDone(false)}>Cancel</${Button}></p></form>`;
}
