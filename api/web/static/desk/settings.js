// Settings: how lengths and dates are shown, one's name, and signing out.

import { who } from "../base/account.js";
import { changeMe, moveTo } from "../base/me.js";
import { PasswordForm } from "../base/password.js";
import { set, settings, units } from "../base/settings.js";
import { Rights } from "../base/rights.js";
import { SignOut } from "../base/signout.js";
import { roleName } from "../base/words.js";
import { Choice } from "../base/choices.js";
import { Button, Field, html, Page, useSend, useState, Wrong } from "../base/ui.js";
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
      <${PasswordForm} /><p><a class="button" href="/account">How you sign in</a></p>${membership.role !== "guardian" && html`<p><a class="button" href="/apps">Connected apps</a></p>`}<${SignOut} /></section>
    <${Rights} />
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
