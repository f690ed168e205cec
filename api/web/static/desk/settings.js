// Settings: how lengths and dates are shown, one's name, and signing out.

import { who } from "../base/account.js";
import { changeMe, moveTo, signOut } from "../base/me.js";
import * as db from "../base/db.js";
import { PasswordForm } from "../base/password.js";
import { set, settings, units } from "../base/settings.js";
import { count } from "../base/units.js";
import { roleName } from "../base/words.js";
import { Choice } from "../base/choices.js";
import { Button, Dialog, Field, html, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";
import { Zones } from "./member.js";

export function Settings() {
  const { account, membership, memberships, member } = who.value;
  const inUnits = useSend(() => changeMe({ units: units.value === "feet" ? "metres" : "feet" }));
  const [wanted, want] = useState(membership.academy_id);
  const move = useSend(async () => {
    await moveTo(wanted);
    location.hash = "";
  });
  return html`<${Page} title="Settings">
    <section><h2>Display</h2>
      <${Choice} label="Lengths" value=${units.value} options=${[["feet", "Feet and yards"], ["metres", "Metres"]]} onChange=${(v) => v !== units.value && inUnits.run()} />
      <${Wrong} problem=${inUnits.problem} />
      <${Choice} label="Dates" value=${settings.value.dates} options=${[["words", "4 May 2026"], ["numbers", "2026-05-04"]]} onChange=${(dates) => set({ dates })} /></section>
    <section><h2>You</h2>${member && html`<${Me} key=${member.revision} member=${member} />`}</section>
    <section><h2>Account</h2><p>${account.name}, ${account.email}, ${roleName(membership.role).toLowerCase()} in ${membership.academy_name}.</p>
      ${memberships?.length > 1 && html`<${Choice} label="Academy" value=${wanted} options=${memberships.map((m) => [m.academy_id, `${m.academy_name}, ${roleName(m.role).toLowerCase()}`])} onChange=${want} />
        <${Button} busy=${move.busy} disabled=${wanted === membership.academy_id} onClick=${move.run}>Move there</${Button}><${Wrong} problem=${move.problem} />`}
      <${PasswordForm} /><${SignOut} /></section>
  </${Page}>`;
}

function Me({ member }) {
  const [form, setForm] = useState({ name: member.name, time_zone: member.time_zone });
  const [done, setDone] = useState(false);
  const send = useSend(async () => {
    setDone(false);
    await changeMe(form);
    setDone(true);
  });
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => setForm({ ...form, [name]: e.currentTarget.value }) });
  return html`<form class="form" onSubmit=${send.run}><${Field} label="Your name" autocomplete="name" maxlength="120" ...${input("name")} />
    <${Field} label="Your time zone" list="zones" ...${input("time_zone")} /><${Zones} />
    <${Wrong} problem=${send.problem} /><${Button} type="submit" busy=${send.busy}>Save</${Button}> <span role="status">${done ? "Saved." : ""}</span></form>`;
}

function SignOut() {
  const [asking, ask] = useState(false);
  const [unsaved, setUnsaved] = useState(0);
  useEffect(() => {
    if (asking) db.readAll("drafts").then((all) => setUnsaved(all.length), () => {});
  }, [asking]);
  const out = useSend(async () => {
    await signOut();
    location.assign("/");
  });
  return html`<h3>Sign out</h3><p>Your data on this device will be erased.</p><${Button} onClick=${() => ask(true)}>Sign out</${Button}>
    ${asking && html`<${Dialog} title="Sign out?" onClose=${() => ask(false)}>
      <p>${unsaved ? html`<strong>${count(unsaved, "draft")} on this device ${unsaved === 1 ? "is" : "are"} not saved.</strong> Signing out now throws ${unsaved === 1 ? "it" : "them"} away.` : "Everything is saved."}</p>
      <div class="row"><${Button} kind="main" busy=${out.busy} onClick=${out.run}>${unsaved ? "Throw away and sign out" : "Sign out"}</${Button}><${Button} onClick=${() => ask(false)}>Stay signed in</${Button}></div><${Wrong} problem=${out.problem} />
    </${Dialog}>`}`;
}
