// Signing in, wherever it is asked for.

import { signIn } from "./account.js";
import { Button, Field, html, useSend, useState, Wrong } from "./ui.js";

/** SignIn is the form; onDone is called once signed in. */
export function SignIn({ onDone, email: known = "" }) {
  const [email, setEmail] = useState(known);
  const [password, setPassword] = useState("");
  const [Second, next] = useState(null);
  const send = useSend(async () => {
    const step = await signIn(email, password);
    if (!step) return onDone?.();
    const { SecondStep } = await import("./second.js");
    next(() => () => html`<${SecondStep} step=${step} onDone=${onDone} again=${() => next(null)} />`);
  });
  const passkey = useSend(async () => {
    const { signInByPasskey } = await import("./passkey.js");
    await signInByPasskey();
    onDone?.();
  });
  if (Second) return html`<${Second} />`;
  return html`<form class="form" onSubmit=${send.run}>
    <${Field} label="E-mail" type="email" name="email" autocomplete="username" required value=${email} onInput=${(e) => setEmail(e.currentTarget.value)} />
    <${Field} label="Password" type="password" name="password" autocomplete="current-password" required value=${password} onInput=${(e) => setPassword(e.currentTarget.value)} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <div role="alert"><${Wrong} problem=${passkey.problem} /></div>
    <p class="row"><${Button} kind="main" type="submit" busy=${send.busy}>Sign in</${Button}>
      ${window.PublicKeyCredential?.parseRequestOptionsFromJSON && html`<${Button} busy=${passkey.busy} onClick=${passkey.run}>Use a passkey</${Button}>`}</p>
    <p><a href="/forgotten">Forgotten your password?</a></p>
  </form>`;
}
