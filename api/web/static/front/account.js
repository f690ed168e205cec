// A person's account: how they sign in beside a password, and the weekly letter.

import { homeOf, start, who } from "../base/account.js";
import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { able, addPasskey } from "../base/passkey.js";
import { SignIn } from "../base/signin.js";
import { count, day } from "../base/units.js";
import { Button, Failed, Field, html, Loading, Notice, Page, render, SkipLink, useSend, useState, Wrong } from "../base/ui.js";

function Account() {
  if (!who.value) return html`<${Page} title="Your account"><${SignIn} /></${Page}>`;
  const { account, membership } = who.value;
  return html`<${Page} title="Your account" lead=${`${account.name}, ${account.email}`}>
    <${Address} account=${account} />
    <${Weekly} membership=${membership} />
    <${Factors} owner=${membership?.role === "owner"} />
    <p><a class="button" href=${homeOf(membership?.role)}>Back to ${membership ? membership.academy_name : "Fringework"}</a></p>
  </${Page}>`;
}

/** Address confirms and changes the e-mail that somebody signs in with. */
function Address({ account }) {
  const ways = useLoad("/v1/sign-in/ways");
  const [form, set] = useState({ email: "", password: "" });
  const [said, say] = useState("");
  const verify = useSend(async () => {
    await api.post("/v1/me/email/verify");
    say(`We have written to ${account.email}. Open the link in that mail.`);
  });
  const send = useSend(async () => {
    const { waiting } = await api.put("/v1/me/email", form);
    say(waiting ? `We have written to ${form.email}. Open the link in that mail to change to it.` : `From now on you sign in with ${form.email}.`);
    set({ email: "", password: "" });
  });
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  return html`<section class="panel"><h2>E-mail</h2><p>You sign in with ${account.email}.${account.email_verified_at ? ` Confirmed on ${day(account.email_verified_at)}.` : ""}</p>
    ${ways.body?.mail && !account.email_verified_at && html`<p>Once it is confirmed, we can write to you when something happens to your account.</p><${Wrong} problem=${verify.problem} /><p><${Button} busy=${verify.busy} onClick=${verify.run}>Confirm this address</${Button}></p>`}
    ${said && html`<${Notice} kind="good" title=${said} live />`}
    <details><summary>Change it</summary><form class="form" onSubmit=${send.run}>
      <${Field} label="New e-mail" type="email" maxlength="254" ...${input("email")} />
      <${Field} label="Your password" type="password" autocomplete="current-password" ...${input("password")} />
      <${Wrong} problem=${send.problem} /><${Button} type="submit" busy=${send.busy}>Change it</${Button}></form></details></section>`;
}

/** Weekly stops the weekly letter of the academy, and turns it on again. Guardians get none, nor do juniors, and nobody where there is no mail. */
function Weekly({ membership }) {
  return membership && membership.role !== "guardian" ? html`<${Letter} membership=${membership} />` : null;
}

function Letter({ membership }) {
  const read = useLoad("/v1/me/weekly-letter");
  const [now, set] = useState(null);
  const send = useSend(async () => set(await api.put("/v1/me/weekly-letter", { wanted: !letter.wanted })));
  const letter = now ?? read.body;
  if (!letter) return read.problem ? html`<${Failed} what="The weekly letter" problem=${read.problem} retry=${read.reload} />` : html`<${Loading} what="the weekly letter" />`;
  if (["junior", "mail"].includes(letter.missing)) return null;
  const about = membership.role === "student" ? "your week and the one ahead" : "your students' week";
  return html`<section class="panel"><h2>Weekly letter</h2>
    <p role="status">${letter.wanted ? `On Mondays ${membership.academy_name} writes to you about ${about}, when there is something to tell.` : `You have stopped the weekly letter of ${membership.academy_name}.`}${letter.wanted && letter.missing ? " None is sent until your e-mail is confirmed." : ""}</p>
    <${Wrong} problem=${send.problem} /><p><${Button} busy=${send.busy} onClick=${send.run}>${letter.wanted ? "Stop the letter" : "Get it again"}</${Button}></p></section>`;
}

function Factors({ owner }) {
  const read = useLoad("/v1/me/second-factor");
  const [codes, show] = useState(null);
  if (!read.body) return read.problem ? html`<${Failed} what="Your second factor" problem=${read.problem} retry=${read.reload} />` : html`<${Loading} what="your second factor" />`;
  const f = read.body;
  const done = (fresh) => {
    if (fresh?.length) show(fresh);
    read.reload();
  };
  return html`<section class="panel"><h2>App for codes</h2>
    <p>An app on your phone shows a new code every half minute. With it, somebody who knows your password still cannot sign in.</p>
    ${f.required && !f.authenticator_since && f.passkeys.length === 0 && html`<${Notice} title="Your academy asks for this"><p>Set it up to go on. Then <a href="/">sign in</a> again.</p></${Notice}>`}
    ${codes && html`<${Codes} codes=${codes} />`}
    ${f.authenticator_since
      ? html`<p>Set up on ${day(f.authenticator_since)}. ${count(f.recovery_codes_left, "recovery code")} left.</p>
        <details><summary>Make new recovery codes</summary><${Confirm} label="Make new codes" act=${async (body) => done((await api.post("/v1/me/recovery-codes", body)).recovery_codes)} /></details>
        <details><summary>Remove the app</summary><${Confirm} label="Remove it" act=${async (body) => {
          await api.post("/v1/me/authenticator/remove", body);
          show(null);
          done();
        }} /></details>`
      : html`<${SetUp} done=${done} />`}
    <${Passkeys} passkeys=${f.passkeys} done=${done} />
    ${owner && html`<${Rule} required=${f.required} reload=${read.reload} />`}
  </section>`;
}

/** Passkeys lists the passkeys, and adds and removes them. */
function Passkeys({ passkeys, done }) {
  const ways = useLoad("/v1/sign-in/ways");
  const [form, set] = useState({ name: "", password: "" });
  const send = useSend(async () => {
    done((await addPasskey(form.name, form.password)).recovery_codes);
    set({ name: "", password: "" });
  });
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  if (!ways.body?.passkeys && passkeys.length === 0) return null;
  return html`<h3>Passkeys</h3><p>With a passkey you sign in by unlocking your phone or computer: no password, no code.</p>
    <ul class="plain">${passkeys.map((p) => html`<li key=${p.id}>${p.name}, added ${day(p.created_at)}${p.used_at ? `, last used ${day(p.used_at)}` : ""}
      <details><summary>Remove ${p.name}</summary><${Confirm} label="Remove it" act=${async (body) => {
        await api.post(`/v1/me/passkeys/${p.id}/remove`, body);
        done();
      }} /></details></li>`)}</ul>
    ${ways.body?.passkeys && (able() ? html`<details><summary>Add a passkey</summary><form class="form" onSubmit=${send.run}>
      <${Field} label="Name of this device" maxlength="100" ...${input("name")} />
      <${Field} label="Your password" type="password" autocomplete="current-password" ...${input("password")} />
      <${Wrong} problem=${send.problem} /><${Button} type="submit" busy=${send.busy}>Add it</${Button}></form></details>` : html`<p>This browser is too old for passkeys.</p>`)}`;
}

/** Codes shows recovery codes, this once. */
function Codes({ codes }) {
  return html`<${Notice} kind="good" title="Your recovery codes" live>
    <p>Write them down or print them now: they are shown only once. Each of them stands in for the app once, if you lose your phone.</p>
    <ul class="plain">${codes.map((c) => html`<li class="secret">${c}</li>`)}</ul>
    <p class="screen-only"><${Button} onClick=${() => print()}>Print</${Button}></p></${Notice}>`;
}

function Confirm({ label, act }) {
  const [form, set] = useState({ password: "", code: "" });
  const send = useSend(() => act(form));
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  return html`<form class="form" onSubmit=${send.run}>
    <${Field} label="Your password" type="password" autocomplete="current-password" ...${input("password")} />
    <${Field} label="A code of your app, or a recovery code" autocomplete="one-time-code" ...${input("code")} />
    <${Wrong} problem=${send.problem} /><${Button} type="submit" busy=${send.busy}>${label}</${Button}></form>`;
}

function SetUp({ done }) {
  const [password, setPassword] = useState("");
  const [code, setCode] = useState("");
  const [made, make] = useState(null);
  const begin = useSend(async () => make(await api.post("/v1/me/authenticator", { password })));
  const confirm = useSend(async () => done((await api.post("/v1/me/authenticator/confirm", { code })).recovery_codes));
  if (!made) {
    return html`<form class="form" onSubmit=${begin.run}>
      <${Field} label="Your password" type="password" autocomplete="current-password" required value=${password} error=${begin.at("/password")} onInput=${(e) => setPassword(e.currentTarget.value)} />
      <${Wrong} problem=${begin.problem} /><${Button} kind="main" type="submit" busy=${begin.busy}>Set up an app</${Button}></form>`;
  }
  return html`<p>In your app, add an account and scan this picture. On this phone, <a href=${made.uri}>open the app</a>. Or type the key: <strong class="secret">${made.secret.replace(/(.{4})(?=.)/g, "$1 ")}</strong></p>
    <${Picture} rows=${made.picture} />
    <form class="form" onSubmit=${confirm.run}>
      <${Field} label="The six digits that the app shows now" autocomplete="one-time-code" inputmode="numeric" required value=${code} error=${confirm.at("/code")} onInput=${(e) => setCode(e.currentTarget.value)} />
      <${Wrong} problem=${confirm.problem} /><${Button} kind="main" type="submit" busy=${confirm.busy}>Turn it on</${Button}></form>`;
}

/** Picture draws a QR code, with the light border of four squares that it needs. */
function Picture({ rows }) {
  const size = rows.length + 8;
  const dark = rows.flatMap((row, y) => [...row].map((c, x) => (c === "1" ? `M${x + 4} ${y + 4}h1v1h-1z` : ""))).join("");
  return html`<svg class="qr" viewBox=${`0 0 ${size} ${size}`} role="img" aria-label="QR code with the key"><rect width=${size} height=${size} fill="#fff" /><path d=${dark} fill="#000" /></svg>`;
}

/** Rule is the owner's word on owners and coaches. */
function Rule({ required, reload }) {
  const send = useSend(async () => {
    await api.put("/v1/academy/second-factor", { required: !required });
    reload();
  });
  return html`<h3>In your academy</h3><p>${required ? "Owners and coaches must have a second factor." : "Owners and coaches may sign in with a password alone."}</p>
    <${Wrong} problem=${send.problem} /><p><${Button} busy=${send.busy} onClick=${send.run}>${required ? "Ask for it no more" : "Ask owners and coaches for a second factor"}</${Button}></p>`;
}

start();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} /><${Account} /></div>`, root);
