// Where links from mails lead, and links that a coach hands on: a new password, an
// address confirmed, an academy begun. The secret is in the fragment, which
// browsers send to nobody.

import { enter, homeOf, who } from "../base/account.js";
import * as api from "../base/api.js";
import { fragment } from "./fragment.js";
import { Button, Field, html, Page, render, SkipLink, useEffect, useSend, useState, Wrong } from "../base/ui.js";

const front = html`<p><a class="button" href="/">To the front page</a></p>`;

function Reset() {
  const [password, set] = useState("");
  const [done, finish] = useState(false);
  const send = useSend(async () => {
    await api.post("/v1/password/reset", { token: fragment(), new_password: password }, { open: true });
    finish(true);
  });
  if (done) return html`<${Page} title="Your new password is set"><p>All devices are signed out. Sign in with the new password.</p><p><a class="button main" href="/">Sign in</a></p></${Page}>`;
  return html`<${Page} title="Choose a new password"><form class="form" onSubmit=${send.run}>
    <${Field} label="New password" hint="8 to 128 characters, such as three or four words." type="password" autocomplete="new-password" required minlength="8" maxlength="128" value=${password} error=${send.at("/new_password")} onInput=${(e) => set(e.currentTarget.value)} />
    <${Wrong} problem=${send.problem} /><${Button} kind="main" type="submit" busy=${send.busy}>Set it</${Button}></form></${Page}>`;
}

function Forgotten() {
  const [ways, know] = useState(null);
  useEffect(() => {
    api.get("/v1/sign-in/ways", { open: true }).then(know, () => {});
  }, []);
  const [email, set] = useState("");
  const [sent, setSent] = useState(false);
  const send = useSend(async () => {
    await api.post("/v1/password/forgotten", { email }, { open: true });
    setSent(true);
  });
  if (sent) return html`<${Page} title="Look into your mail"><p>If ${email} has an account here, we have written to it. Open the link in that mail within an hour.</p>${front}</${Page}>`;
  if (ways && !ways.mail) return html`<${Page} title="Forgotten your password?"><p>This service sends no mail. Ask your coach or the academy’s owner for a link to set a new password. An owner asks whoever runs the service.</p>${front}</${Page}>`;
  return html`<${Page} title="Forgotten your password?" lead="We send you a link to choose a new one."><form class="form" onSubmit=${send.run}>
    <${Field} label="Your e-mail" type="email" autocomplete="username" required value=${email} error=${send.at("/email")} onInput=${(e) => set(e.currentTarget.value)} />
    <${Wrong} problem=${send.problem} /><${Button} kind="main" type="submit" busy=${send.busy}>Send the link</${Button}></form>${front}</${Page}>`;
}

function Confirm() {
  const [done, finish] = useState(false);
  const send = useSend(async () => {
    await api.post("/v1/email/confirm", { token: fragment() }, { open: true });
    finish(true);
  });
  return html`<${Page} title=${done ? "Your address is confirmed" : "Confirm your address"}>
    ${done ? html`<p>You sign in with it from now on.</p>${front}` : html`<${Wrong} problem=${send.problem} /><p><${Button} kind="main" busy=${send.busy} onClick=${send.run}>Confirm it</${Button}></p>`}</${Page}>`;
}

function Begin() {
  const send = useSend(async () => {
    await enter(() => api.post("/v1/academies/confirm", { token: fragment(), keep: "cookie" }, { open: true }));
    location.assign(homeOf(who.value?.membership?.role));
  });
  return html`<${Page} title="Confirm your address"><${Wrong} problem=${send.problem} /><p><${Button} kind="main" busy=${send.busy} onClick=${send.run}>Confirm it and go on</${Button}></p></${Page}>`;
}

const pages = { "/reset": Reset, "/forgotten": Forgotten, "/confirm": Confirm, "/begin": Begin };
const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} /><${pages[location.pathname]} /></div>`, root);
