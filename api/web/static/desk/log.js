// The log: everything that was changed, by whom and when.

import * as api from "../base/api.js";
import { to } from "../base/router.js";
import { count, day, dayTime, time } from "../base/units.js";
import { kindName, roleName } from "../base/words.js";
import { Switch } from "../base/choices.js";
import { Button, Failed, html, Loading, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";
import { useAll } from "./parts.js";
import { PeopleNav } from "./people.js";
import { reasonName } from "./reasons.js";

const kinds = {
  "academy.created": "Academy made", "academy.changed": "Academy changed", "export.made": "Data exported", "import.made": "Sessions imported from a table",
  "member.joined": "Joined", "member.changed": "Member changed", "member.removed": "Member removed",
  "coach.linked": "Coach linked", "coach.unlinked": "Coach unlinked", "member.left": "Member left", "member.erased": "Member erased", "guardian.allowed": "Guardian reads on", "guardian.ended": "Guardian ended", "digest.stopped": "Weekly letter stopped", "digest.wanted": "Weekly letter wanted", "calendar.made": "Calendar address made", "calendar.withdrawn": "Calendar address ended", "comment.edited": "Comment edited", "comment.deleted": "Comment deleted", "consent.given": "Consent given", "consent.withdrawn": "Consent withdrawn",
  "group.created": "Group made", "group.changed": "Group changed", "group.deleted": "Group deleted",
  "invitation.made": "Invitation made", "invitation.accepted": "Invitation accepted", "invitation.revoked": "Invitation withdrawn",
  "key.created": "Key made", "key.revoked": "Key revoked", "app.registered": "App registered", "app.connected": "App connected", "app.disconnected": "App disconnected", "app.replayed": "App disconnected: its code or token was used twice", "app.revoked": "App withdrawn", "password.changed": "Password changed", "reset-link.made": "Link to set a password made", "email.changed": "E-mail changed", "second-factor.added": "Second factor added", "second-factor.removed": "Second factor removed", "sign-in.replayed": "Sign-in ended: a refresh token was used twice",
  "skill.created": "Skill made", "skill.changed": "Skill changed", "skill.archived": "Skill archived", "skill.restored": "Skill brought back",
  "programme.created": "Programme made", "programme.cloned": "Programme copied", "programme.imported": "Programme imported", "programme.drafted": "Draft saved",
  "programme.published": "Programme published", "programme.archived": "Programme archived", "programme.restored": "Programme brought back",
  "assignment.made": "Programme assigned", "assignment.paused": "Assignment paused", "assignment.resumed": "Assignment resumed", "assignment.moved": "Assignment moved to another version", "assignment.ended": "Assignment ended", "assignment.changed": "First and end tests switched on or off",
  "adjustment.made": "Change for a student made", "adjustment.ended": "Change for a student ended",
  "proposal.refused": "Proposal refused", "proposal.restored": "Proposal allowed again",
  "session.stored": "Session saved", "session.extended": "Session continued", "session.edited": "Session edited", "session.deleted": "Session deleted", "session.restored": "Session brought back",
  "round.stored": "Round saved", "round.extended": "Round continued", "round.edited": "Round edited", "round.deleted": "Round deleted", "round.restored": "Round brought back",
  "lesson.planned": "Lesson planned", "lesson.changed": "Lesson written", "lesson.deleted": "Lesson deleted", "lesson-media.added": "Photo or clip added to a lesson", "lesson-media.deleted": "Photo or clip of a lesson deleted",
  "comment.made": "Comment made", "message.sent": "Message sent", "report.shared": "Report shared", "report.withdrawn": "Shared report withdrawn", "bag.changed": "Clubs changed", "season.changed": "Season changed", "reason.acknowledged": "Reason marked as seen", "reason.raised": "Reason to look at a student", "reason.cleared": "Reason gone",
  "milestone.made": "Step passed", "milestone.withdrawn": "Step no longer passed",
  "milestone.held": "Step held", "milestone.reopened": "Step not held any more",
  "quiet-tests.agreed": "Quiet tests agreed to", "quiet-tests.withdrawn": "Quiet tests withdrawn",
  "webhook.created": "Webhook made", "webhook.changed": "Webhook changed", "webhook.deleted": "Webhook deleted", "webhook.disabled": "Webhook switched off after days of failure", "progress.rebuilt": "Progress rebuilt",
};

/** kindText says what kind of event it was; one that is new here by its own name. */
export const kindText = (kind) => kinds[kind] ?? kind.replace(/[.\-_]/g, " ");

/** How many events are read at once. */
const STEP = 40;

/** earlier reads the events before those at hand. */
async function earlier({ items, next }) {
  const page = await api.get(next);
  return { items: [...items, ...page.items], next: page.links.next };
}

export function Log() {
  const people = useAll("/v1/members?removed=true&limit=200");
  const [state, set] = useState({});
  const read = async () => {
    set({});
    try {
      set(await earlier({ items: [], next: `/v1/events?order=latest&limit=${STEP}` }));
    } catch (problem) {
      if (!problem.known) console.error(problem);
      set({ problem });
    }
  };
  useEffect(() => void read(), []);
  const more = useSend(async () => set(await earlier(state)));
  const [whole, setWhole] = useState(false);
  const nameOf = (id) => people.items?.find((m) => m.id === id)?.name;
  return html`<${Page} title="Log" wide><${PeopleNav} current="log" />
    <p>Everything that was changed in the academy, latest first. Nothing in it can be changed.</p>
    ${state.problem && html`<${Failed} what="The log" problem=${state.problem} retry=${read} />`}
    ${!state.items && !state.problem && html`<${Loading} what="the log" />`}
    ${state.items && html`<div class="row log-tools"><${Button} onClick=${read}>Refresh</${Button}><${Switch} label="Show IDs" on=${whole} onChange=${setWhole} /></div>
      ${byDay(state.items).map(([date, entries], i) => html`<${Day} key=${date} date=${date} entries=${entries} open=${i === 0} say=${{ nameOf, whole }} />`)}
      ${state.next && html`<p><${Button} busy=${more.busy} onClick=${more.run}>Earlier</${Button}></p>`}<${Wrong} problem=${more.problem} />`}
  </${Page}>`;
}

/**
 * byDay gathers events into days, and within a day into entries: those of one kind
 * and by one person that follow each other.
 */
function byDay(events) {
  const days = new Map();
  for (const e of events) {
    const date = day(e.at);
    if (!days.has(date)) days.set(date, []);
    const entries = days.get(date);
    const last = entries.at(-1)?.[0];
    if (last?.kind === e.kind && last.actor_id === e.actor_id) entries.at(-1).push(e);
    else entries.push([e]);
  }
  return [...days];
}

const columns = ["When", "What", "By", "About", "Details"];

/** Day is one day of the log; say has how names are found, and whether identities are told. */
function Day({ date, entries, open, say }) {
  return html`<details class="log-day" open=${open}><summary>${date}: ${count(entries.flat().length, "change")}</summary>
    <table class="grid log" role="table" aria-label=${`Log of ${date}`}>
      <thead role="rowgroup"><tr role="row">${columns.map((c) => html`<th scope="col" role="columnheader">${c}</th>`)}</tr></thead>
      <tbody role="rowgroup">${entries.map((entry) => html`<${Entry} key=${entry[0].number} entry=${entry} say=${say} />`)}</tbody></table></details>`;
}

/** Entry is a line of the log; several events of one kind are folded in it. It is a paragraph on a phone, with its roles kept. */
function Entry({ entry, say }) {
  const [e, ...others] = entry;
  const cell = (i, text) => html`<td role="cell" data-head=${columns[i]}>${text}</td>`;
  return html`<tr role="row"><th scope="row" role="rowheader">${time(e.at)}</th>${cell(1, kindText(e.kind))}${cell(2, e.actor_id ? say.nameOf(e.actor_id) ?? "software" : "nobody signed in")}
    ${others.length === 0 ? html`${cell(3, about(e, say.nameOf))}${cell(4, details(e, say))}`
      : html`<td role="cell" data-head="About" colspan="2" aria-colspan="2"><details><summary>${entry.length} times</summary><ul class="plain">${entry.map((x) => html`<li key=${x.number}>${time(x.at)} ${about(x, say.nameOf)} ${details(x, say)}</li>`)}</ul></details></td>`}</tr>`;
}

function about(e, nameOf) {
  if (e.kind.startsWith("session.") && e.kind !== "session.deleted") return html`<a href=${to("session", e.subject_id)}>session of ${nameOf(e.student_id) ?? "a student"}</a>`;
  if (e.student_id) return html`<a href=${to("student", e.student_id)}>${nameOf(e.student_id) ?? "a student"}</a>`;
  if (e.kind.startsWith("programme.")) return html`<a href=${to("programme", e.subject_id)}>programme</a>`;
  if (e.kind.startsWith("member.") && e.kind !== "member.erased" && e.subject_id) return html`<a href=${to("member", e.subject_id)}>${nameOf(e.subject_id) ?? "a member"}</a>`;
  return "";
}

const IDENTITY = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

const changed = { minutes: "shorter sessions", step: "extra step", radius: "another circle", distance: "other distances", shares: "time moved between kinds of block", earlier_skill: "another warm-up skill", sessions: "fewer sessions a week" };

/** said writes values in words that need no name before them; what is left out is of no use to a reader. */
const said = {
  kind: (v) => changed[v] ?? kindName(v), name: (v) => v, role: (v) => roleName(v).toLowerCase(), reason: (v) => reasonName(v),
  from: (v) => `from ${day(v)}`, until: (v) => `until ${day(v)}`, text: (v) => `“${v}”`, note: (v) => `“${v}”`,
  days: (v) => `for ${count(v, "day")}`, started_at: (v) => `started ${dayTime(v)}`, revision: () => "", time_zone: () => "",
};

/** details writes what an event carries, short values only: a person by name; all of it, with IDs, when they are wanted. */
export function details({ number, subject_id: subject, data = {} }, { nameOf, whole }) {
  const known = Object.entries(data).map(([k, v]) => [k, nameOf(v) ?? v])
    .filter(([k, v]) => (whole || !k.endsWith("_id")) && ["string", "number", "boolean"].includes(typeof v) && v !== "" && String(v).length < 80 && (whole || !IDENTITY.test(v)));
  const all = whole ? [...known, ["event", number], ...(subject ? [["identity", subject]] : [])] : known;
  const write = ([k, v]) => (!whole && said[k] ? said[k](v) : `${k.replace(/_id$/, "").replaceAll("_", " ")} ${v}`);
  return all.map(write).filter(Boolean).join(", ");
}
