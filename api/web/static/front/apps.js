// The apps that a person has let in, and taking that back.

import { homeOf, start, who } from "../base/account.js";
import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { SignIn } from "../base/signin.js";
import { day } from "../base/units.js";
import { Button, Failed, html, Loading, Page, render, SkipLink, useSend, useState, Wrong } from "../base/ui.js";

function Apps() {
  if (!who.value) return html`<${Page} title="Connected apps"><${SignIn} /></${Page}>`;
  const { account, membership } = who.value;
  return html`<${Page} title="Connected apps" lead=${`${account.name}${membership ? `, ${membership.academy_name}` : ""}`}>
    <${List} />
    <p class="after"><a class="button" href=${homeOf(membership?.role)}>Back to Fringework</a></p>
  </${Page}>`;
}

function List() {
  const read = useLoad("/v1/connections?limit=200");
  if (!read.body) return read.problem ? html`<${Failed} what="The list of apps" problem=${read.problem} retry=${read.reload} />` : html`<${Loading} what="the list of apps" />`;
  if (read.body.items.length === 0) return html`<section class="empty"><h2>No apps yet</h2><p>When you connect one, it is listed here.</p></section>`;
  return html`<p>You have let these apps see your data. They cannot change anything.</p>
    ${read.body.items.map((c) => html`<${Connection} key=${c.id} c=${c} onDone=${read.reload} />`)}`;
}

function Connection({ c, onDone }) {
  const [sure, ask] = useState(false);
  const end = useSend(async () => {
    await api.del(`/v1/connections/${c.id}`);
    onDone();
  });
  return html`<section class="panel"><h2>${c.app_name}</h2><ul>${c.allows.map((s) => html`<li key=${s.scope}>${s.text}</li>`)}</ul>
    <p class="small">Connected ${day(c.connected_at)}, last used ${day(c.used_at)}.</p><${Wrong} problem=${end.problem} />
    ${sure ? html`<p>${c.app_name} will see nothing new from now on.</p><p class="row"><${Button} kind="main" busy=${end.busy} onClick=${end.run}>Disconnect</${Button}><${Button} onClick=${() => ask(false)}>Keep it</${Button}></p>`
      : html`<${Button} aria-label=${`Disconnect ${c.app_name}`} onClick=${() => ask(true)}>Disconnect</${Button}>`}
  </section>`;
}

start();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} /><${Apps} /></div>`, root);
