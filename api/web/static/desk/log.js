// The log: everything that was changed, by whom and when.

import * as api from "../base/api.js";
import { to } from "../base/router.js";
import { dayTime } from "../base/units.js";
import { Button, Failed, html, Loading, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";
import { useAll } from "./parts.js";
import { PeopleNav } from "./people.js";

const kinds = {
  "academy.created": "Academy made", "academy.changed": "Academy changed",
  "member.joined": "Joined", "member.changed": "Member changed", "member.removed": "Member removed",
  "coach.linked": "Coach linked", "coach.unlinked": "Coach unlinked", "consent.given": "Consent given", "consent.withdrawn": "Consent withdrawn",
  "group.created": "Group made", "group.changed": "Group changed", "group.deleted": "Group deleted",
  "invitation.made": "Invitation made", "invitation.accepted": "Invitation accepted", "invitation.revoked": "Invitation withdrawn",
  "key.created": "Key made", "key.revoked": "Key revoked", "password.changed": "Password changed", "sign-in.replayed": "Sign-in ended: a refresh token was used twice",
  "skill.created": "Skill made", "skill.changed": "Skill changed", "skill.archived": "Skill archived", "skill.restored": "Skill brought back",
  "programme.created": "Programme made", "programme.cloned": "Programme copied", "programme.imported": "Programme imported", "programme.drafted": "Draft saved",
  "programme.published": "Programme published", "programme.archived": "Programme archived", "programme.restored": "Programme brought back",
  "assignment.made": "Programme assigned", "assignment.paused": "Assignment paused", "assignment.resumed": "Assignment resumed", "assignment.moved": "Assignment moved to another version", "assignment.ended": "Assignment ended",
  "proposal.refused": "Proposal refused", "proposal.restored": "Proposal allowed again",
  "session.stored": "Session stored", "session.extended": "Session went on", "session.edited": "Session edited", "session.deleted": "Session deleted", "session.restored": "Session brought back",
  "comment.made": "Comment made", "message.sent": "Message sent", "report.shared": "Report shared", "report.withdrawn": "Shared report withdrawn", "bag.changed": "Clubs changed", "reason.acknowledged": "Reason marked as seen", "progress.rebuilt": "Progress rebuilt",
};

/** kindText says what kind of event it was; one that is new here by its own name. */
const kindText = (kind) => kinds[kind] ?? kind.replace(/[.\-_]/g, " ");

/** How many events are read at once. */
const STEP = 100;

const page = (after, limit) => api.get(`/v1/events?after=${after}&limit=${limit}`);

/** lastNumber finds the number of the latest event: they are counted without gaps. */
async function lastNumber() {
  const some = async (after) => (await page(after, 1)).items.length > 0;
  let [low, high] = [0, 256];
  while (await some(high)) [low, high] = [high, high * 4];
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (await some(middle)) low = middle + 1;
    else high = middle;
  }
  return low;
}

export function Log() {
  const people = useAll("/v1/members?removed=true&limit=200");
  const [state, set] = useState({});
  const read = async () => {
    set({});
    try {
      const last = await lastNumber();
      set(await earlier({ items: [], from: last }));
    } catch (problem) {
      if (!problem.known) console.error(problem);
      set({ problem });
    }
  };
  useEffect(() => void read(), []);
  const more = useSend(async () => set(await earlier(state)));
  const nameOf = (id) => people.items?.find((m) => m.id === id)?.name;
  return html`<${Page} title="Log" wide><${PeopleNav} current="log" />
    <p>Everything that was changed in the academy, latest first. Nothing in it can be changed or removed.</p>
    ${state.problem && html`<${Failed} what="The log" problem=${state.problem} retry=${read} />`}
    ${!state.items && !state.problem && html`<${Loading} what="the log" />`}
    ${state.items && html`<p><${Button} onClick=${read}>Read again</${Button}></p><table class="grid" role="table" aria-label="Log">
      <thead role="rowgroup"><tr role="row">${columns.map((c) => html`<th scope="col" role="columnheader">${c}</th>`)}</tr></thead>
      <tbody role="rowgroup">${state.items.map((e) => html`<${Row} key=${e.number} event=${e} nameOf=${nameOf} />`)}</tbody></table>
      ${state.from > 0 && html`<p><${Button} busy=${more.busy} onClick=${more.run}>Earlier</${Button}></p>`}<${Wrong} problem=${more.problem} />`}
  </${Page}>`;
}

const columns = ["When", "What", "By", "About", "Details"];

/** Row becomes a card on a phone, with its roles kept. */
function Row({ event: e, nameOf }) {
  const cells = [kindText(e.kind), e.actor_id ? nameOf(e.actor_id) ?? "software" : "nobody signed in", about(e, nameOf), details(e.data)];
  return html`<tr role="row"><th scope="row" role="rowheader">${dayTime(e.at)}</th>
    ${cells.map((cell, i) => html`<td role="cell" data-head=${columns[i + 1]}>${cell}</td>`)}</tr>`;
}

async function earlier({ items, from }) {
  const start = Math.max(0, from - STEP);
  const { items: found } = await page(start, from - start || 1);
  return { items: [...items, ...found.filter((e) => e.number <= from).reverse()], from: start };
}

function about(e, nameOf) {
  if (e.kind.startsWith("session.") && e.kind !== "session.deleted") return html`<a href=${to("session", e.subject_id)}>session of ${nameOf(e.student_id) ?? "a student"}</a>`;
  if (e.student_id) return html`<a href=${to("student", e.student_id)}>${nameOf(e.student_id) ?? "a student"}</a>`;
  if (e.kind.startsWith("programme.")) return html`<a href=${to("programme", e.subject_id)}>programme</a>`;
  if (e.kind.startsWith("member.") && e.subject_id) return html`<a href=${to("member", e.subject_id)}>${nameOf(e.subject_id) ?? "a member"}</a>`;
  return "";
}

/** details writes what an event carries, short values only. */
function details(data = {}) {
  return Object.entries(data).filter(([k, v]) => !k.endsWith("_id") && ["string", "number", "boolean"].includes(typeof v) && v !== "" && String(v).length < 80)
    .map(([k, v]) => `${k.replaceAll("_", " ")} ${v}`).join(", ");
}
