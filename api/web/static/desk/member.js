// One member: what can be changed, groups, and who coaches a student.

import * as api from "../base/api.js";
import { who } from "../base/account.js";
import { useLoad } from "../base/load.js";
import { go, to } from "../base/router.js";
import { day, dayTime } from "../base/units.js";
import { roleName } from "../base/words.js";
import { Choice, Switch } from "../base/choices.js";
import { Button, Field, html, Notice, Page, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { Lacking } from "./lacking.js";
import { Ask, AsOf, CopyButton, Missing, useAll } from "./parts.js";
import { isOwner, knowText, PeopleNav } from "./people.js";

export function MemberPage({ args: [id] }) {
  const loaded = useLoad(`/v1/members/${id}`);
  const m = loaded.body;
  if (!m) return html`<${Page} title="Member" wide><${PeopleNav} current="people" /><${Missing} what="The member" from=${loaded} /></${Page}>`;
  const mayChange = isOwner() || m.role === "student" || m.id === who.value.membership.member_id;
  return html`<${Page} title=${m.name} wide><${PeopleNav} current="people" /><${AsOf} from=${loaded} />
    <p>${roleName(m.role)}, ${m.email}, joined ${day(m.joined_at)}.${knowText(m) ? ` Note: ${knowText(m)}.` : ""}</p>
    ${m.role === "student" && !m.removed_at && html`<p class="row"><a class="button" href=${to("student", m.id)}>Progress and sessions</a><a class="button" href=${`${to("assign")}?student=${m.id}`}>Assign a programme</a></p>`}
    ${m.removed_at ? html`<${Notice} title="Not in the academy any more"><p>Their practice is kept. A new invitation brings them back.</p></${Notice}>${isOwner() && html`<${Erase} member=${m} />`}` : html`
      ${mayChange && html`<${Change} key=${m.revision} member=${m} onDone=${loaded.reload} />`}
      ${m.role === "student" && html`<${Groups} member=${m} />`}
      ${m.role === "student" && html`<${Coaches} member=${m} />`}
      ${m.role === "student" && html`<${Guardians} student=${m} />`}
      ${m.junior && html`<${Consent} member=${m} onDone=${loaded.reload} />`}
      ${(m.role === "student" || (isOwner() && m.role !== "owner")) && html`<${NewPassword} member=${m} />`}
      ${isOwner() && m.id !== who.value.membership.member_id && html`<${Remove} member=${m} />`}`}
  </${Page}>`;
}

function Change({ member, onDone }) {
  const [form, set] = useState({ name: member.name, time_zone: member.time_zone, units: member.units, role: member.role, junior: member.junior });
  const [done, setDone] = useState(false);
  const send = useSend(async () => {
    setDone(false);
    const change = Object.fromEntries(Object.entries(form).filter(([k, v]) => v !== member[k]));
    await api.patch(`/v1/members/${member.id}`, change, { headers: { "If-Match": `"${member.revision}"` } });
    setDone(true);
    onDone();
  });
  const input = (name) => ({ value: form[name], error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  return html`<section><h2>Change</h2><form class="form" onSubmit=${send.run}>
    <${Field} label="Name" required maxlength="120" ...${input("name")} />
    <${Field} label="Time zone" hint="An IANA name. Practice weeks are counted in it." required ...${input("time_zone")} list="zones" />
    <${Zones} />
    <${Choice} label="Lengths shown in" value=${form.units} options=${[["feet", "Feet and yards"], ["metres", "Metres"]]} onChange=${(units) => set({ ...form, units })} />
    ${isOwner() && ["coach", "owner"].includes(member.role) && html`<${Choice} label="Role" value=${form.role} options=${[["coach", "Coach"], ["owner", "Owner"]]} onChange=${(role) => set({ ...form, role })} />`}
    ${member.role === "student" && (isOwner() || !member.junior) && html`<${Switch} label="Junior" hint=${member.junior ? "Once it is off, the student says who may read on." : "Sessions are kept only with a guardian's consent; only an owner takes it back."} on=${form.junior} onChange=${(junior) => set({ ...form, junior })} />`}
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy}>Save</${Button}> <span role="status">${done ? "Saved." : ""}</span>
  </form></section>`;
}

/** NewPassword makes a link that the member sets a new password by. */
function NewPassword({ member }) {
  const [made, set] = useState(null);
  const send = useSend(async () => set(await api.post(`/v1/members/${member.id}/reset-link`)));
  return html`<section><h2>Forgotten password</h2>
    ${made ? html`<${Notice} kind="good" title=${`Link made for ${member.name}`} live><p>Hand it on now: it is shown only once. Good once, until ${dayTime(made.expires_at)}. ${member.name} is told at the next sign-in that you made it.</p><p><a class="secret" href=${made.link}>${made.link}</a></p><p><${CopyButton} text=${made.link} label="Copy the link" /></p></${Notice}>`
      : html`<p>Make a link with which ${member.name} chooses a new password.</p><${Wrong} problem=${send.problem} /><${Button} busy=${send.busy} onClick=${send.run}>Make a link</${Button}>`}</section>`;
}

/** Zones proposes time zones to a field with list="zones". */
export const Zones = () => html`<datalist id="zones">${(Intl.supportedValuesOf?.("timeZone") ?? []).map((z) => html`<option value=${z} />`)}</datalist>`;

function Groups({ member }) {
  const groups = useAll("/v1/groups?limit=200");
  const [problem, setProblem] = useState(null);
  const [saved, setSaved] = useState(null);
  const toggle = async (g, on) => {
    try {
      setProblem(null);
      setSaved(null);
      const ids = g.student_ids.filter((x) => x !== member.id);
      const after = await api.put(`/v1/groups/${g.id}`, { name: g.name, student_ids: on ? [...ids, member.id] : ids }, { headers: { "If-Match": `"${g.revision}"` } });
      // Others of the group are not this member's page's business.
      if (on) setSaved({ ...after, programmes: after.programmes.filter((p) => p.lacking_ids.includes(member.id)).map((p) => ({ ...p, lacking_ids: [member.id] })) });
    } catch (e) {
      if (!e.known) console.error(e);
      setProblem(e);
    }
    groups.reload();
  };
  return html`<section><h2>Groups</h2><${Missing} what="the groups" from=${groups} />
    ${groups.items?.length === 0 && html`<p>There are no groups yet. <a href=${to("groups")}>Make one.</a></p>`}
    ${groups.items?.map((g) => html`<${Switch} key=${g.id + g.revision} label=${g.name} on=${g.student_ids.includes(member.id)} onChange=${(on) => toggle(g, on)} />`)}
    ${saved && html`<${Lacking} key=${saved.id + saved.revision} group=${saved} students=${[member]} />`}
    <${Wrong} problem=${problem} /></section>`;
}

function Coaches({ member }) {
  const linked = useLoad(`/v1/students/${member.id}/coaches`);
  const staff = useAll("/v1/members?limit=200");
  const coaches = (staff.items ?? []).filter((m) => ["coach", "owner"].includes(m.role));
  const ids = new Set(linked.body?.items.map((c) => c.id));
  const [problem, setProblem] = useState(null);
  const toggle = async (coach, on) => {
    try {
      setProblem(null);
      await (on ? api.put : api.del)(`/v1/students/${member.id}/coaches/${coach.id}`);
    } catch (e) {
      if (!e.known) console.error(e);
      setProblem(e);
    }
    linked.reload();
  };
  return html`<section><h2>Coaches</h2><${Missing} what="the coaches" from=${linked} />
    ${linked.body && (isOwner() ? coaches.map((c) => html`<${Switch} key=${c.id + ids.has(c.id)} label=${c.name} on=${ids.has(c.id)} onChange=${(on) => toggle(c, on)} />`)
      : html`<p>${coaches.filter((c) => ids.has(c.id)).map((c) => c.name).join(", ") || "None."}</p>`)}
    <${Wrong} problem=${problem} /></section>`;
}

/** Consent gives or withdraws consent for a junior, and for each sharing. */
export function Consent({ member, onDone }) {
  const given = Boolean(member.consent_at);
  const said = useRef(null);
  const send = useSend(async () => {
    await api.put(`/v1/students/${member.id}/consent`, said.current);
    onDone();
  });
  const say = (change) => ((said.current = change), send.run());
  const may = isOwner() || who.value.membership.role === "guardian";
  const stands = given ? `Given ${day(member.consent_at)}.` : member.consent_withdrawn_at ? `Withdrawn ${day(member.consent_withdrawn_at)}: nothing more of this junior is kept.` : "Not given: no session of this junior is kept until then.";
  const share = (name, label, hint) => html`<${Switch} key=${name + member.revision} label=${label} hint=${hint} on=${Boolean(member[`${name}_at`])} onChange=${(on) => say({ given: true, [name]: on })} />`;
  return html`<section><h2>Consent</h2>
    <p>${stands}</p>
    ${isOwner() && html`<p class="small">An owner records it when it was given on paper.</p>`}
    ${may && given && html`${share("reports", "Links to the report", "Coaches may share it with whoever has the link.")}${share("apps", "Software with a key", "Other software of the academy may read the junior's practice.")}${share("matches", "Matches with others", "Those who play the same match see the junior's name and balls in it, and nothing else.")}${share("media", "Photos and clips of lessons", "Coaches may keep them for the days agreed. Once this is off, those that are kept are deleted within the hour.")}`}
    ${may ? html`<p class="row">${!given && html`<${Button} busy=${send.busy} onClick=${() => say({ given: true })}>Give consent</${Button}>`}
        ${(given || !member.consent_withdrawn_at) && html`<${Button} busy=${send.busy} onClick=${() => say({ given: false })}>${given ? "Withdraw consent" : "Refuse consent"}</${Button}>`}</p>` : html`<p>Invite a guardian to give it, or let an owner record it.</p>`}
    <p class="small"><a href="/privacy">What is kept, in plain words</a></p>
    <${Wrong} problem=${send.problem} /></section>`;
}

/** Guardians lists who reads a student's data as a guardian; owners and guardians end it. */
export function Guardians({ student, onEnd }) {
  const list = useLoad(`/v1/students/${student.id}/guardians`);
  const ended = useRef(null);
  const send = useSend(async () => {
    await api.del(`/v1/students/${student.id}/guardians/${ended.current}`);
    (onEnd ?? list.reload)();
  });
  const me = who.value.membership.member_id;
  if (!list.body?.items.length) return null;
  return html`<section><h2>Guardians</h2>
    ${list.body.items.map((g) => html`<p key=${g.id} class="row">${g.name}, ${g.email}${g.asked_at ? ": waits for the student's word" : ""}
      ${(isOwner() || g.id === me) && html`<${Button} busy=${send.busy} onClick=${() => ((ended.current = g.id), send.run())}>${g.id === me ? "Cease to be a guardian" : "End"}</${Button}>`}</p>`)}
    <${Wrong} problem=${send.problem} /></section>`;
}

function Erase({ member }) {
  const [asking, ask] = useState(false);
  const erase = async () => {
    await api.post(`/v1/members/${member.id}/erase`);
    go(to("people"));
  };
  return html`<section><h2>Erase</h2><p>The name, sessions, rounds and words go for good. How much was practised stays counted, without them.</p><${Button} onClick=${() => ask(true)}>Erase ${member.name}</${Button}>
    ${asking && html`<${Ask} title=${`Erase ${member.name}?`} verb="Erase" onDo=${erase} onClose=${() => ask(false)}><p>It does not come back.</p></${Ask}>`}</section>`;
}

function Remove({ member }) {
  const [asking, ask] = useState(false);
  const remove = async () => {
    await api.del(`/v1/members/${member.id}`);
    go(to("people"));
  };
  return html`<section><h2>Remove</h2><p>Access ends at once; what they did is kept.</p><${Button} onClick=${() => ask(true)}>Remove ${member.name}</${Button}>
    ${asking && html`<${Ask} title=${`Remove ${member.name}?`} verb="Remove" onDo=${remove} onClose=${() => ask(false)}><p>${member.name} cannot sign in to this academy any more. An invitation brings them back.</p></${Ask}>`}</section>`;
}
