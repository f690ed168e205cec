// The front door: what this is, signing in, accepting an invitation, and making
// an academy.

import { homeOf, start, who } from "../base/account.js";
import * as api from "../base/api.js";
import { leaving } from "../base/leave.js";
import { accept, signUp } from "../base/me.js";
import { SignIn } from "../base/signin.js";
import { day } from "../base/units.js";
import { roleName } from "../base/words.js";
import { watch } from "../base/update.js";
import { fragment } from "./fragment.js";
import { Button, Field, html, Loading, Notice, Page, render, SkipLink, useEffect, useSend, useState, Wrong } from "../base/ui.js";

/** home goes on; who lacks a second factor that the academy asks for sets one up first. */
const home = () => location.assign(!who.value.membership && who.value.memberships?.length ? "/account" : homeOf(who.value.membership?.role));

function Front() {
  const known = who.value;
  return html`<${Page} title="Fringework" lead="The work done around the fringe of the green: a weekly programme from your coach, every ball logged with one tap, and numbers that say what to do next.">
    ${leaving.value && html`<${Notice} title="You have signed out on this device" live><p>What it kept is erased. The service will be told as soon as there is a network.</p></${Notice}>`}
    ${known
      ? html`<section class="panel"><h2>Welcome back</h2><p>You are ${known.account.name}${known.membership ? `, ${roleName(known.membership.role).toLowerCase()} in ${known.membership.academy_name}` : ""}.</p>
          <p><a class="button main big" href=${homeOf(known.membership?.role)}>Go on</a></p></section>`
      : html`<section class="panel"><h2>Sign in</h2><${SignIn} onDone=${home} /></section>`}
    <section class="panel"><h2>You were invited</h2><p>Open the link that you were sent, or type its code.</p><p><a class="button" href="/join">Accept an invitation</a></p></section>
    <section><h2>What it does</h2>
      <ul class="plain">
        <li>Students see what to do with each part of the hour, and log each ball as it stops: out, in or holed. It works on the green without a network.</li>
        <li>So many balls in a row inside the circle pass a step; a ladder of steps proves a skill.</li>
        <li>Coaches see who practised, who moved up, who is stuck and why, each number with its uncertainty.</li>
      </ul></section>
    <details class="panel"><summary>Make an academy</summary><${MakeAcademy} /></details>
    <p class="small">Estimates are advice to a coach, not a verdict on a person. <a href="/privacy">What is kept of people</a>. For software: <a href="/docs">the API, explained for developers</a>.</p>
  </${Page}>`;
}

function MakeAcademy() {
  const [form, set] = useState({ academy_name: "", name: "", email: "", password: "" });
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const [sent, setSent] = useState(false);
  const send = useSend(async () => {
    const mailed = await signUp({ ...form, time_zone: Intl.DateTimeFormat().resolvedOptions().timeZone });
    if (mailed) setSent(true);
    else home();
  });
  if (sent) return html`<${Sent} to=${form.email} />`;
  return html`<form class="form" onSubmit=${send.run}>
    <${Field} label="Name of the academy" maxlength="100" ...${input("academy_name")} />
    <${Field} label="Your name" autocomplete="name" maxlength="100" ...${input("name")} />
    <${Field} label="Your e-mail" type="email" autocomplete="username" ...${input("email")} />
    <${Field} label="Your password" hint="8 to 128 characters, of any kind." type="password" autocomplete="new-password" minlength="8" maxlength="128" ...${input("password")} />
    <${Wrong} problem=${send.problem} />
    <p class="small"><a href="/privacy">What is kept, and what you may do about it</a></p>
    <${Button} kind="main" type="submit" busy=${send.busy}>Make the academy</${Button}>
  </form>`;
}

/** Join reads the code from the fragment, which browsers send to nobody. */
function Join() {
  const [code, setCode] = useState(fragment());
  const [view, setView] = useState(null);
  const look = useSend(async () => setView(await api.post("/v1/invitations/inspect", { code }, { open: true })));
  useEffect(() => {
    if (code) look.run();
  }, []);
  if (view) return html`<${Invitation} code=${code} view=${view} />`;
  return html`<${Page} title="Accept an invitation">
    ${look.busy ? html`<${Loading} what="the invitation" />` : html`<form class="form" onSubmit=${look.run}>
      <${Field} label="Code" hint="As it was sent to you; spaces and small letters do no harm." autocomplete="off" required value=${code} onInput=${(e) => setCode(e.currentTarget.value)} />
      <${Wrong} problem=${look.problem} />
      <${Button} kind="main" type="submit">See the invitation</${Button}></form>`}
    <p><a href="/">Back to the front page</a></p>
  </${Page}>`;
}

const Sent = ({ to }) => html`<${Notice} kind="good" title="Look into your mail" live><p>We have written to ${to}. Open the link in that mail within a day to go on.</p></${Notice}>`;

function Invitation({ code, view }) {
  const [sent, setSent] = useState(false);
  const [form, set] = useState({ name: view.name ?? "", email: "", password: "" });
  const input = (name) => ({ value: form[name], error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const send = useSend(async () => {
    const mailed = await accept({ ...form, code, time_zone: Intl.DateTimeFormat().resolvedOptions().timeZone });
    if (mailed) setSent(true);
    else home();
  });
  if (sent) return html`<${Page} title=${view.academy_name}><${Sent} to=${form.email} /></${Page}>`;
  return html`<${Page} title=${view.academy_name} lead=${`${view.invited_by} invites you to join as ${view.role === "owner" ? "an" : "a"} ${roleName(view.role).toLowerCase()}${view.student ? ` of ${view.student}` : ""}.`}>
    <p>Good until ${day(view.expires_at)}.${view.email_bound ? " It is for one e-mail alone: use the one it was sent to." : ""}</p>
    ${view.junior && html`<${Notice}><p>As you are a junior, what you practise is kept once a guardian has agreed.</p></${Notice}>`}
    <form class="form" onSubmit=${send.run}>
      <${Field} label="Your name" autocomplete="name" maxlength="100" required ...${input("name")} />
      <${Field} label="Your e-mail" type="email" autocomplete="username" required ...${input("email")} />
      <${Field} label="Password" hint="8 to 128 characters, of any kind. If you have an account with this e-mail already, give its password." type="password" autocomplete="new-password" required minlength="8" maxlength="128" ...${input("password")} />
      <${Wrong} problem=${send.problem} />
      <p class="small"><a href="/privacy">What is kept, and what you may do about it</a></p>
      <${Button} kind="main" class="big" type="submit" busy=${send.busy}>Join</${Button}>
    </form>
  </${Page}>`;
}

watch();
start();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} />${location.pathname === "/join" ? html`<${Join} />` : html`<${Front} />`}</div>`, root);
