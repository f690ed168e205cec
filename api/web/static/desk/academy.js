// The academy itself.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { day } from "../base/units.js";
import { Button, Field, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { AsOf, Missing } from "./parts.js";
import { isOwner, PeopleNav } from "./people.js";
import { Zones } from "./member.js";

export function AcademyPage() {
  const academy = useLoad("/v1/academy");
  const { body } = academy;
  return html`<${Page} title="Academy" wide><${PeopleNav} current="academy" />
    <${Missing} what="the academy" from=${academy} /><${AsOf} from=${academy} />
    ${body && html`<p>${body.name}, in ${body.time_zone.replaceAll("_", " ")}, since ${day(body.created_at)}. Next week is proposed so that ${Math.round(100 * body.challenge)} % succeed.</p>`}
    ${body && (isOwner() ? html`<${Form} key=${body.name + body.time_zone + body.challenge} academy=${body} onDone=${academy.reload} />` : html`<p>An owner can change the name, the time zone and the share of success.</p>`)}
  </${Page}>`;
}

function Form({ academy, onDone }) {
  const [form, set] = useState({ name: academy.name, time_zone: academy.time_zone, challenge: Math.round(100 * academy.challenge), erase_removed_days: academy.erase_removed_days, forget_events_days: academy.forget_events_days });
  const [done, setDone] = useState(false);
  const send = useSend(async () => {
    setDone(false);
    await api.patch("/v1/academy", { ...form, challenge: Number(form.challenge) / 100, erase_removed_days: Number(form.erase_removed_days), forget_events_days: Number(form.forget_events_days) });
    setDone(true);
    onDone();
  });
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  return html`<form class="form" onSubmit=${send.run}><${Field} label="Name of the academy" maxlength="120" ...${input("name")} />
    <${Field} label="Time zone" hint="For new members." list="zones" ...${input("time_zone")} /><${Zones} />
    <${Field} label="Wanted success, in %" hint="The share of balls inside the practice circle, and of sessions that pass a step, that next week aims for. 70 is our choice; research gives no number for golf." type="number" min="50" max="90" ...${input("challenge")} />
    <${Field} label="Erase who left after, in days" hint="30 to 3650; 0 for never. It does not come back." type="number" min="0" max="3650" ...${input("erase_removed_days")} />
    <${Field} label="Forget the log's details after, in days" hint="30 to 3650; 0 for never. Number, time and kind of each entry stay." type="number" min="0" max="3650" ...${input("forget_events_days")} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div><${Button} kind="main" type="submit" busy=${send.busy}>Save</${Button}> <span role="status">${done ? "Saved." : ""}</span></form>`;
}
