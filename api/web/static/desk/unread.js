// Whose messages are new: a line for Today, and a list.

import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { dayTime } from "../base/units.js";
import { html } from "../base/ui.js";

const PATH = "/v1/messages/unread";

/** NewMessages names the students of a dashboard who have written, in one line; nothing when nobody has. */
export function NewMessages({ rows }) {
  const items = rows.filter((r) => r.new_messages > 0);
  if (items.length === 0) return null;
  return html`<p class="new-messages"><strong>New messages:</strong> ${items.map(({ student, new_messages: n }, i) => html`${i > 0 && ", "}<a href=${to("messages", student.id)}>${student.name}${n > 1 ? ` (${n})` : ""}</a>`)}</p>`;
}

/** UnreadList lists them, with when they wrote last. */
export function UnreadList() {
  const items = useLoad(PATH).body?.items ?? [];
  if (items.length === 0) return null;
  return html`<section><h2>New messages</h2><ul class="plain">${items.map((t) => html`<li key=${t.student_id}><a href=${to("messages", t.student_id)}>${t.name}</a>: ${t.messages}, the last on ${dayTime(t.last_at)}</li>`)}</ul></section>`;
}
