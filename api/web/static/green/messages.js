// Messages between the student and the coaches.

import { who } from "../base/account.js";
import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { dayTime } from "../base/units.js";
import { Button, Failed, Field, html, Loading, Notice, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";

const path = () => `/v1/students/${who.value.membership.member_id}/messages`;

/** How many messages the page shows. */
const SHOWN = 100;

/** Latest is the coaches' new words on the first page, or the way to the older ones. thread is the last few messages. */
export function Latest({ thread }) {
  const fresh = thread.body.items.filter((m) => m.unread).reverse();
  const seen = useSend(async () => {
    await api.put(`${path()}/read`, { up_to: fresh.at(-1).id });
    thread.reload();
  });
  if (fresh.length === 0) return html`<p><a href=${to("messages")}>Messages with your coach</a></p>`;
  return html`<${Notice} title=${fresh.length > 1 ? "New messages" : `Message from ${fresh[0].author_name}`} live>
    ${fresh.map((m) => html`<p class="text" key=${m.id}>${m.text}</p><p class="small">${m.author_name}, ${dayTime(m.created_at)}</p>`)}
    <div class="row"><a class="button" href=${to("messages")}>Answer</a><${Button} busy=${seen.busy} onClick=${seen.run}>Seen</${Button}></div>
    <${Wrong} problem=${seen.problem} /></${Notice}>`;
}

/** Messages is the whole thread, with a place to write. */
export function Messages() {
  const me = who.value.membership.member_id;
  const thread = useLoad(`${path()}?limit=${SHOWN}`);
  const items = thread.body?.items;
  const [text, setText] = useState("");
  useEffect(() => {
    if (items?.some((m) => m.unread)) api.put(`${path()}/read`, { up_to: items[0].id }).catch((e) => e.known || console.error(e));
  }, [items?.[0]?.id]);
  const send = useSend(async () => {
    await api.post(path(), { text });
    setText("");
    thread.reload();
  });
  return html`<${Page} title="Messages">
    ${!items && (thread.problem ? html`<${Failed} what="Your messages" problem=${thread.problem} retry=${thread.reload} />` : html`<${Loading} what="your messages" />`)}
    ${items?.length === 0 && html`<p>No messages yet.</p>`}
    <ul class="comments">${[...(items ?? [])].reverse().map((m) => html`<li key=${m.id}><p class="small">${m.author_id === me ? "You" : m.author_name}, ${dayTime(m.created_at)}</p><p class="text">${m.text}</p></li>`)}</ul>
    <form class="form" onSubmit=${send.run}>
      <${Field} as="textarea" label="Message to your coach" rows="4" required maxlength="4000" value=${text} error=${send.at("/text")} onInput=${(e) => setText(e.currentTarget.value)} />
      <div role="alert"><${Wrong} problem=${send.problem} /></div><${Button} kind="main" type="submit" busy=${send.busy}>Send</${Button}></form>
  </${Page}>`;
}
