// Apps of others that the academy's people may connect.

import * as api from "../base/api.js";
import { count, day } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { scopes, scopeText } from "./keys.js";
import { Ask, AsOf, CopyButton, Missing, useAll } from "./parts.js";
import { PeopleNav } from "./people.js";

export function Apps() {
  const apps = useAll("/v1/apps?limit=200");
  const [made, setMade] = useState(null);
  return html`<${Page} title="Apps" wide><${PeopleNav} current="apps" />
    <p>An app that you register here can ask your coaches and students, one by one, to see their data. Each sees what it asks for and says yes or no. For software that reads the whole academy, make a key instead.</p>
    ${made && html`<${Notice} kind="good" title=${`${made.name} is registered`} live>${made.client_secret && html`<p>Keep the secret now: it is shown only once.</p>`}
      <p>Client ID: <span class="secret">${made.id}</span></p>${made.client_secret && html`<p>Secret: <strong class="secret">${made.client_secret}</strong></p>`}
      <p class="row"><${CopyButton} text=${made.id} label="Copy the client ID" />${made.client_secret && html`<${CopyButton} text=${made.client_secret} label="Copy the secret" />`}</p></${Notice}>`}
    <${Missing} what="the apps" from=${apps} /><${AsOf} from=${apps} />
    ${apps.items?.length === 0 && html`<section class="empty"><h2>No apps yet</h2><p>Nobody can connect one until you register it.</p></section>`}
    ${apps.items?.map((a) => html`<${App} key=${a.id} a=${a} onDone=${apps.reload} />`)}
    <${Register} onMade=${(a) => (setMade(a), apps.reload())} />
  </${Page}>`;
}

function App({ a, onDone }) {
  const [asking, ask] = useState(false);
  const [open, show] = useState(false);
  return html`<section class="panel"><h2>${a.name}</h2>
    <p>It may ask for: ${a.scopes.map(scopeText).join("; ")}.</p>
    <p class="small">Client ID <span class="secret">${a.id}</span>${a.public ? ", without a secret" : ""}. People return to ${a.redirect_uris.join(", ")}. Registered ${day(a.created_at)}${a.revoked_at ? `, withdrawn ${day(a.revoked_at)}` : ""}.</p>
    ${!a.revoked_at && html`<p class="row"><${Button} aria-expanded=${open} onClick=${() => show(!open)}>Who has connected it</${Button}><${Button} aria-label=${`Withdraw ${a.name}`} onClick=${() => ask(true)}>Withdraw</${Button}></p>`}
    ${open && html`<${Connected} app=${a} />`}
    ${asking && html`<${Ask} title=${`Withdraw ${a.name}?`} verb="Withdraw" onDo=${() => api.del(`/v1/apps/${a.id}`)} onClose=${(done) => (ask(false), done && onDone())}><p>Everybody who has connected it is disconnected at once. This cannot be undone; the app can be registered again.</p></${Ask}>`}
  </section>`;
}

function Connected({ app }) {
  const list = useAll(`/v1/apps/${app.id}/connections?limit=200`);
  return html`<${Missing} what="who has connected it" from=${list} />
    ${list.items && html`<p>${list.items.length === 0 ? "Nobody has." : `${count(list.items.length, "connection")}:`}</p>`}
    ${list.items?.length > 0 && html`<ul class="plain">${list.items.map((c) => html`<${One} key=${c.id} c=${c} onDone=${list.reload} />`)}</ul>`}`;
}

function One({ c, onDone }) {
  const end = useSend(async () => {
    await api.del(`/v1/connections/${c.id}`);
    onDone();
  });
  return html`<li>${c.member_name}, since ${day(c.connected_at)}, last used ${day(c.used_at)} <${Button} kind="quiet" aria-label=${`Disconnect ${c.member_name}`} busy=${end.busy} onClick=${end.run}>Disconnect</${Button}><${Wrong} problem=${end.problem} /></li>`;
}

const empty = { name: "", redirects: "", scopes: [], public: false };

function Register({ onMade }) {
  const [form, set] = useState(empty);
  const send = useSend(async () => {
    const addresses = form.redirects.split("\n").map((line) => line.trim()).filter(Boolean);
    onMade(await api.post("/v1/apps", { name: form.name, redirect_uris: addresses, scopes: form.scopes, public: form.public }));
    set(empty);
  });
  const given = form.scopes;
  return html`<section class="panel"><h2>Register an app</h2><form class="form" onSubmit=${send.run}>
    <${Field} label="Name, as people will see it" required maxlength="100" value=${form.name} error=${send.at("/name")} onInput=${(e) => set({ ...form, name: e.currentTarget.value })} />
    <${Field} label="Where people return to" hint="The app’s makers tell you: one address per line, such as https://app.example/done." as="textarea" rows="2" required value=${form.redirects} error=${send.at("/redirect_uris")} onInput=${(e) => set({ ...form, redirects: e.currentTarget.value })} />
    <fieldset><legend>It may ask for</legend>${scopes.map(([s, text]) => html`<${Switch} key=${s} label=${text} on=${given.includes(s)} onChange=${(on) => set({ ...form, scopes: on ? [...given, s] : given.filter((x) => x !== s) })} />`)}</fieldset>
    ${send.at("/scopes") && html`<p class="wrong">${send.at("/scopes")}</p>`}
    <${Switch} label="It runs on people’s own devices and can keep no secret" on=${form.public} onChange=${(on) => set({ ...form, public: on })} />
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${given.length === 0}>Register it</${Button}></form></section>`;
}
