// Settings: how lengths and dates are shown, signals, and signing out.

import { who } from "../base/account.js";
import { changeMe, moveTo } from "../base/me.js";
import { PasswordForm } from "../base/password.js";
import { to } from "../base/router.js";
import { set, settings, units, zone } from "../base/settings.js";
import { Calendar, Guardians, Rights } from "../base/rights.js";
import { SignOut } from "../base/signout.js";
import { Choice, Switch } from "../base/choices.js";
import { Button, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { cue } from "./cues.js";
import { ZoneField } from "./zone.js";

export function Settings() {
  const { account, membership, memberships } = who.value;
  const inUnits = useSend(() => changeMe({ units: units.value === "feet" ? "metres" : "feet" }));
  const [home, setHome] = useState(zone.value);
  const inZone = useSend(() => changeMe({ time_zone: home }));
  const move = useSend(() => moveTo(wanted));
  const [wanted, want] = useState(membership.academy_id);
  return html`<${Page} title="Settings">
    <section><h2>Shown</h2>
      <${Choice} label="Lengths" value=${units.value} options=${[["feet", "Feet and yards"], ["metres", "Metres"]]} onChange=${(v) => v !== units.value && inUnits.run()} />
      <${Wrong} problem=${inUnits.problem} />
      <${Choice} label="Dates" value=${settings.value.dates} options=${[["words", "4 May 2026"], ["numbers", "2026-05-04"]]} onChange=${(dates) => set({ dates })} />
    </section>
    <section><h2>Signals for each ball</h2>
      <${Switch} label="Sounds" on=${settings.value.sounds} onChange=${(sounds) => (set({ sounds }), sounds && cue("in"))} />
      <${Switch} label="Vibration" hint="If the phone supports it." on=${settings.value.haptics} onChange=${(haptics) => (set({ haptics }), haptics && cue("in"))} />
    </section>
    <section><h2>Time zone</h2>
      <p>Your weeks are counted in ${zone.value.replaceAll("_", " ")}. A session away from home is kept in the phone's time zone; you can change that in History.</p>
      <${ZoneField} label="Home" value=${home} onChange=${setHome} />
      <${Button} busy=${inZone.busy} disabled=${home === zone.value} onClick=${inZone.run}>Use this time zone</${Button}><${Wrong} problem=${inZone.problem} />
    </section>
    <section><h2>Season</h2><p><a class="button" href=${to("season")}>Your goal, competitions and off-season</a></p></section>
    <section><h2>Clubs</h2><p><a class="button" href=${to("clubs")}>Your clubs and their lofts</a></p></section>
    <${Calendar} />
    <section><h2>First steps</h2><p><a class="button" href=${to("first")}>How to log a ball and mark the circle</a></p></section>
    <section><h2>On the green without a network</h2>
      <p>Everything but the first sign-in works without one. Add this page to your home screen from the browser's menu: the phone then keeps its data for longer and opens it like any other app.</p>
    </section>
    <section><h2>Account</h2>
      <p>${account.name}, ${account.email}, student in ${membership.academy_name}.</p>
      ${memberships?.length > 1 && html`<${Choice} label="Academy" value=${wanted} options=${memberships.map((m) => [m.academy_id, m.academy_name])} onChange=${want} />
        <${Button} busy=${move.busy} disabled=${wanted === membership.academy_id} onClick=${move.run}>Move there</${Button}><${Wrong} problem=${move.problem} />`}
      <${PasswordForm} /><p><a class="button" href="/account">How you sign in</a> <a class="button" href="/apps">Connected apps</a></p>
      <${SignOut} />
    </section>
    <${Guardians} />
    <${Rights} />
  </${Page}>`;
}
