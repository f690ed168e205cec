// Invitations: making one, handing it on, and those that are open.

import * as api from "../base/api.js";
import { day } from "../base/units.js";
import { roleName } from "../base/words.js";
import { Choice, Switch } from "../base/choices.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { who } from "../base/account.js";
import { InviteMany, Sheet } from "./invitemany.js";
import { AsOf, CopyButton, Missing, useAll } from "./parts.js";
import { isOwner, PeopleNav } from "./people.js";

export function Invitations() {
  const [every, setEvery] = useState(false);
  const list = useAll(`/v1/invitations?limit=200${every ? "" : "&open=true"}`);
  const [made, setMade] = useState([]);
  const tell = (all) => {
    setMade(all);
    list.reload();
  };
  const withdrawn = (id) => tell(made.filter((m) => m.id !== id));
  return html`<${Page} title="Invitations" wide><div class="screen-only"><${PeopleNav} current="invitations" /></div>
    ${made.length === 1 && html`<${Made} made=${made[0]} />`}
    ${made.length > 1 && html`<${Sheet} made=${made} />`}
    <div class="screen-only invite"><${InviteMany} onMade=${tell} />
    <${Invite} onMade=${(m) => tell([m])} /></div>
    <section class="screen-only"><h2>${every ? "All invitations" : "Open invitations"}</h2>
      <${Missing} what="the invitations" from=${list} /><${AsOf} from=${list} />
      ${list.items?.length === 0 && html`<p>None.</p>`}
      <ul class="plain">${[...(list.items ?? [])].reverse().map((i) => html`<li key=${i.id}><${Line} invitation=${i} onDone=${() => withdrawn(i.id)} /></li>`)}</ul>
      <${Switch} label="Show accepted, withdrawn and expired ones as well" on=${every} onChange=${setEvery} /></section>
  </${Page}>`;
}

const states = { open: "open", accepted: "accepted", revoked: "withdrawn", expired: "expired" };

function Line({ invitation, onDone }) {
  const send = useSend(async () => {
    await api.del(`/v1/invitations/${invitation.id}`);
    onDone();
  });
  const whom = invitation.name || invitation.email || "Somebody";
  return html`${whom}${invitation.name && invitation.email ? ` (${invitation.email})` : ""}, ${roleName(invitation.role).toLowerCase()}${invitation.junior ? ", junior" : ""}: ${states[invitation.state]}, made ${day(invitation.created_at)}, valid until ${day(invitation.expires_at)}${invitation.gives ? `, with a programme from ${day(invitation.gives.start_date)}` : ""}.
    ${" "}${invitation.state === "open" && html`<${Button} class="small-button" busy=${send.busy} aria-label=${`Withdraw the invitation of ${whom}`} onClick=${send.run}>Withdraw</${Button}>`}<${Wrong} problem=${send.problem} />`;
}

/** Made shows a new invitation's code, which is shown this once. */
function Made({ made }) {
  return html`<${Notice} kind="good" title=${`Invitation made for ${made.name || "a " + roleName(made.role).toLowerCase()}`} live>
    <p>Share the link or the code now: they are shown only once. Valid for one person, until ${day(made.expires_at)}.</p>
    <p>Link: <a class="secret" href=${made.link}>${made.link}</a></p><p>Code, as typed from paper: <strong class="secret">${made.code.replace(/(.{4})(?=.)/g, "$1 ")}</strong></p>
    <p class="row"><${CopyButton} text=${made.link} label="Copy the link" /><${CopyButton} text=${made.code} label="Copy the code" /></p></${Notice}>`;
}

function Invite({ onMade }) {
  const groups = useAll("/v1/groups?limit=200");
  const people = useAll("/v1/members?limit=200");
  const [role, setRole] = useState("student");
  // Whoever invites a student coaches them, unless somebody else is chosen.
  const [form, set] = useState({ coach_id: isOwner() ? who.value.membership.member_id : undefined });
  const send = useSend(async () => {
    const { name, email, group_id, coach_id, student_id, junior } = form;
    const body = { role, name: name || undefined, email: email || undefined };
    if (role === "student") Object.assign(body, { group_id: group_id || undefined, coach_id: coach_id || undefined, junior: junior || undefined });
    if (role === "guardian") body.student_id = student_id || undefined;
    onMade(await api.post("/v1/invitations", body));
    set({ group_id, coach_id });
  });
  const input = (name) => ({ value: form[name] ?? "", error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const juniors = (people.items ?? []).filter((m) => m.role === "student" && m.junior);
  const coaches = (people.items ?? []).filter((m) => ["coach", "owner"].includes(m.role));
  return html`<section class="panel"><h2>Invite a person</h2><form class="form" onSubmit=${send.run}>
    <${Choice} label="As" value=${role} options=${[["student", "Student"], ["guardian", "Guardian of a junior"], ...(isOwner() ? [["coach", "Coach"]] : [])]} onChange=${setRole} />
    <${Field} label="Name" hint="They can correct it." maxlength="100" ...${input("name")} />
    <${Field} label="E-mail" hint="If given, only they can accept." type="email" maxlength="254" ...${input("email")} />
    ${role === "student" && groups.items?.length > 0 && html`<${Field} as="select" label="Group" value=${form.group_id ?? ""} error=${send.at("/group_id")} onChange=${(e) => set({ ...form, group_id: e.currentTarget.value })}><option value="">None</option>${groups.items.map((g) => html`<option value=${g.id}>${g.name}</option>`)}</${Field}>`}
    ${role === "student" && isOwner() && html`<${Field} as="select" label="Their coach" hint="Who will see the student." value=${form.coach_id ?? ""} error=${send.at("/coach_id")} onChange=${(e) => set({ ...form, coach_id: e.currentTarget.value })}><option value="">Nobody yet</option>${coaches.map((c) => html`<option value=${c.id}>${c.name}</option>`)}</${Field}>`}
    ${role === "student" && html`<${Switch} label="Junior" hint="Sessions are kept once a guardian has agreed: invite the guardian after the junior has joined." on=${Boolean(form.junior)} onChange=${(junior) => set({ ...form, junior })} />`}
    ${role === "guardian" && html`<${Field} as="select" label="Which junior" required value=${form.student_id ?? ""} error=${send.at("/student_id")} onChange=${(e) => set({ ...form, student_id: e.currentTarget.value })}><option value="">Choose a junior</option>${juniors.map((j) => html`<option value=${j.id}>${j.name}</option>`)}</${Field}>`}
    ${role === "guardian" && people.items && juniors.length === 0 && html`<p>There is no junior among your students yet.</p>`}
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy}>Make the invitation</${Button}>
  </form></section>`;
}
