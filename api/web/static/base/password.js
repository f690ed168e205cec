// Changing one's password.

import * as api from "./api.js";
import { Button, Field, html, Notice, useSend, useState, Wrong } from "./ui.js";

export function PasswordForm() {
  const [now, setNow] = useState("");
  const [next, setNext] = useState("");
  const [done, finish] = useState(false);
  const send = useSend(async () => {
    await api.put("/v1/me/password", { current_password: now, new_password: next });
    finish(true);
    setNow("");
    setNext("");
  });
  return html`<details class="password"><summary>Change your password</summary>
    <form class="form" onSubmit=${send.run}>
      <${Field} label="Password now" type="password" autocomplete="current-password" required value=${now} error=${send.at("/current_password")} onInput=${(e) => setNow(e.currentTarget.value)} />
      <${Field} label="New password" hint="8 to 128 characters, of any kind." type="password" autocomplete="new-password" required minlength="8" maxlength="128" value=${next} error=${send.at("/new_password")} onInput=${(e) => setNext(e.currentTarget.value)} />
      <${Wrong} problem=${send.problem} />
      <${Button} type="submit" busy=${send.busy}>Change it</${Button}>
      ${done && html`<${Notice} kind="good" title="Changed" live><p>All other devices are signed out.</p></${Notice}>`}
    </form></details>`;
}
