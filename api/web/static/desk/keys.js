// Keys for third-party software.

import * as api from "../base/api.js";
import { day } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Ask, AsOf, CopyButton, Missing, useAll } from "./parts.js";
import { PeopleNav } from "./people.js";

/** scopes are what software may be given, in words. */
export const scopes = [
  ["sessions:read", "Sessions and comments"], ["progress:read", "Progress, dashboard and what to do now"], ["programmes:read", "Programmes, skills and assignments"],
  ["members:read", "Members, groups and the academy"], ["events:read", "The log of everything that happens"], ["calc:use", "The calculations, which need nobody's data"],
];

export const scopeText = (scope) => scopes.find(([s]) => s === scope)?.[1] ?? scope;

export function Keys() {
  const keys = useAll("/v1/keys?limit=200");
  const [made, setMade] = useState(null);
  return html`<${Page} title="Keys" wide><${PeopleNav} current="keys" />
    <p>A key lets software read what you allow, for the whole academy. It is exchanged for tokens at <code>/v1/oauth/token</code>; see <a href="/docs">the API, explained for developers</a>.</p>
    ${made && html`<${Notice} kind="good" title=${`Key made for ${made.name}`} live><p>Keep the secret now: it is shown only once.</p>
      <p>Client ID: <span class="secret">${made.id}</span></p><p>Secret: <strong class="secret">${made.client_secret}</strong></p>
      <p class="row"><${CopyButton} text=${made.id} label="Copy the client ID" /><${CopyButton} text=${made.client_secret} label="Copy the secret" /></p></${Notice}>`}
    <${Missing} what="the keys" from=${keys} /><${AsOf} from=${keys} />
    ${keys.items?.length === 0 && html`<section class="empty"><h2>No keys yet</h2><p>Only the academy's people can read its data.</p></section>`}
    ${keys.items?.map((k) => html`<${Key} key=${k.id} k=${k} onDone=${keys.reload} />`)}
    <${Make} onMade=${(k) => (setMade(k), keys.reload())} />
  </${Page}>`;
}

function Key({ k, onDone }) {
  const [asking, ask] = useState(false);
  return html`<section class="panel"><h2>${k.name}</h2>
    <p>${k.scopes.map(scopeText).join("; ")}.</p><p class="small">Client ID <span class="secret">${k.id}</span>. Made ${day(k.created_at)}, ${k.used_at ? `last used ${day(k.used_at)}` : "never used"}${k.revoked_at ? `, revoked ${day(k.revoked_at)}` : ""}.</p>
    ${!k.revoked_at && html`<${Button} aria-label=${`Revoke the key of ${k.name}`} onClick=${() => ask(true)}>Revoke</${Button}>`}
    ${asking && html`<${Ask} title=${`Revoke the key of ${k.name}?`} verb="Revoke" onDo=${() => api.del(`/v1/keys/${k.id}`)} onClose=${(done) => (ask(false), done && onDone())}><p>The software loses access at once. This cannot be undone; a new key can be made.</p></${Ask}>`}
  </section>`;
}

function Make({ onMade }) {
  const [name, setName] = useState("");
  const [given, setGiven] = useState([]);
  const send = useSend(async () => {
    onMade(await api.post("/v1/keys", { name, scopes: given }));
    setName("");
    setGiven([]);
  });
  return html`<section class="panel"><h2>New key</h2><form class="form" onSubmit=${send.run}>
    <${Field} label="Which software" required maxlength="100" value=${name} error=${send.at("/name")} onInput=${(e) => setName(e.currentTarget.value)} />
    <fieldset><legend>It may read</legend>${scopes.map(([s, text]) => html`<${Switch} key=${s} label=${text} on=${given.includes(s)} onChange=${(on) => setGiven(on ? [...given, s] : given.filter((x) => x !== s))} />`)}</fieldset>
    ${send.at("/scopes") && html`<p class="wrong">${send.at("/scopes")}</p>`}
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${given.length === 0}>Make the key</${Button}></form></section>`;
}
