// People: who is in the academy.

import { who } from "../base/account.js";
import { to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { roleName } from "../base/words.js";
import { Switch } from "../base/choices.js";
import { Field, html, Page, useState } from "../base/ui.js";
import { AsOf, Missing, Subnav, useAll } from "./parts.js";

/** isOwner tells whether the reader owns the academy. */
export const isOwner = () => who.value?.membership?.role === "owner";

/** PeopleNav is the places within this tab. */
export function PeopleNav({ current }) {
  const places = [["people", "Members"], ["invitations", "Invitations"], ["groups", "Groups"], ["data", "Data"], ...(isOwner() ? [["keys", "Keys"], ["apps", "Apps"], ["webhooks", "Webhooks"], ["log", "Log"]] : []), ["academy", "Academy"]];
  return html`<${Subnav} label="People" current=${to(current)} places=${places.map(([place, text]) => [to(place), text])} />`;
}

const roles = ["owner", "coach", "student", "guardian"];

export function People() {
  const [removed, setRemoved] = useState(false);
  const [text, setText] = useState("");
  const [role, setRole] = useState("");
  const list = useAll(`/v1/members?limit=200${removed ? "&removed=true" : ""}`);
  const wanted = text.toLowerCase().trim();
  const shown = (list.items ?? []).filter((m) => (!role || m.role === role) && (m.name.toLowerCase().includes(wanted) || m.email.toLowerCase().includes(wanted)))
    .sort((a, b) => roles.indexOf(a.role) - roles.indexOf(b.role) || a.name.localeCompare(b.name));
  return html`<${Page} title="People" wide><${PeopleNav} current="people" />
    <p><a class="button main" href=${to("invitations")}>Invite somebody</a></p>
    <${Missing} what="the members" from=${list} /><${AsOf} from=${list} />
    ${list.items && html`<form class="filters" role="search" aria-label="Members" onSubmit=${(e) => e.preventDefault()}>
      <${Field} label="Name or e-mail" type="search" value=${text} onInput=${(e) => setText(e.currentTarget.value)} />
      <${Field} as="select" label="Role" value=${role} onChange=${(e) => setRole(e.currentTarget.value)}><option value="">All</option>${roles.map((r) => html`<option value=${r}>${roleName(r)}</option>`)}</${Field}></form>
      <p role="status">${shown.length === list.items.length ? count(shown.length, "member") : `${shown.length} of ${count(list.items.length, "member")}`}.</p>
      <table class="grid people" role="table" aria-label="Members"><thead role="rowgroup"><tr role="row"><th scope="col" role="columnheader">Name</th><th scope="col" role="columnheader">Role</th><th scope="col" role="columnheader">E-mail</th><th scope="col" role="columnheader">Joined</th><th scope="col" role="columnheader">To know</th></tr></thead>
      <tbody role="rowgroup">${shown.map((m) => html`<tr role="row" key=${m.id}><th scope="row" role="rowheader"><a href=${to("member", m.id)}>${m.name}</a></th><td role="cell" data-head="Role">${roleName(m.role)}</td><td role="cell" data-head="E-mail"><${Email} text=${m.email} /></td><td role="cell" data-head="Joined">${day(m.joined_at)}</td><td role="cell" data-head="To know">${knowText(m)}</td></tr>`)}</tbody></table>`}
    <${Switch} label="Show those who left as well" on=${removed} onChange=${setRemoved} />
  </${Page}>`;
}

/** Email breaks behind its @ where it is too long for a line. */
function Email({ text }) {
  const [name, place] = text.split(/(?<=@)/);
  return html`<span>${name}<wbr />${place}</span>`;
}

/** knowText says what is special about a member. */
export function knowText(m) {
  return [m.removed_at && `left ${day(m.removed_at)}`, m.junior && (m.consent_at ? `junior, consent since ${day(m.consent_at)}` : "junior, no consent yet: no session is kept")].filter(Boolean).join("; ");
}
