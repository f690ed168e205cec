// The second step of signing in: a code of an app, or a recovery code.

import { enter } from "./account.js";
import * as api from "./api.js";
import { Button, Field, html, useSend, useState, Wrong } from "./ui.js";

/** SecondStep asks for a code; again begins with the password again. */
export function SecondStep({ step, onDone, again }) {
  const [code, setCode] = useState("");
  const send = useSend(async () => {
    await enter(() => api.post("/v1/sign-in/code", { ticket: step.ticket, code, keep: "cookie" }, { open: true }));
    onDone?.();
  });
  const app = step.methods.includes("authenticator");
  return html`<form class="form" onSubmit=${send.run}>
    <p>${app ? "Your password is right. Now give the six digits that your app shows, or a recovery code." : "Your password is right. Now give a recovery code."}</p>
    <${Field} label="Code" name="code" autocomplete="one-time-code" inputmode=${app ? "text" : undefined} required value=${code} onInput=${(e) => setCode(e.currentTarget.value)} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy}>Go on</${Button}> <${Button} onClick=${again}>Begin again</${Button}>
  </form>`;
}
