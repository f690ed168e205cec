// Where an app sends a person who is to let it read for them: what it asks for, as
// whom, and what it can never do.

import { homeOf, start, who } from "../base/account.js";
import * as api from "../base/api.js";
import { moveTo } from "../base/me.js";
import { SignIn } from "../base/signin.js";
import { roleName } from "../base/words.js";
import { Button, Failed, html, Loading, Notice, Page, render, SkipLink, useEffect, useSend, useState, Wrong } from "../base/ui.js";

const names = ["response_type", "client_id", "redirect_uri", "scope", "state", "code_challenge", "code_challenge_method"];

/** requestOf reads what the app asks from the address; null when it says a thing twice. */
function requestOf(search) {
  const query = new URLSearchParams(search);
  if (names.some((n) => query.getAll(n).length > 1)) return null;
  return Object.fromEntries(names.filter((n) => query.has(n)).map((n) => [n, query.get(n)]));
}

const request = requestOf(location.search);

function Connect() {
  const [state, set] = useState({});
  const member = who.value?.membership?.member_id;
  const look = async () => {
    set({});
    try {
      set({ asked: await api.post("/v1/oauth/authorizations/inspect", request) });
    } catch (problem) {
      if (!problem.known) console.error(problem);
      set({ problem });
    }
  };
  useEffect(() => {
    if (member && request) look();
  }, [member]);
  if (!request) return html`<${Page} title="Connect an app"><${Notice} kind="bad" title="The app’s link is broken"><p>It says the same thing twice. Nothing was allowed; tell the people who make the app.</p></${Notice}></${Page}>`;
  if (!who.value) return html`<${Page} title="Connect an app" lead="An app wants to see your data. Sign in first, then you will see which app it is and what it asks for."><section class="panel"><${SignIn} /></section></${Page}>`;
  if (!member) return html`<${Page} title="Connect an app"><p>You belong to no academy, so there is nothing that an app could see.</p></${Page}>`;
  if (state.asked) return state.asked.elsewhere ? html`<${Elsewhere} a=${state.asked} />` : html`<${Asked} a=${state.asked} />`;
  return html`<${Page} title="Connect an app">${state.problem ? html`<${Failed} what="What the app asks for" problem=${state.problem} retry=${state.problem.status < 500 ? null : look} />` : html`<${Loading} what="what the app asks for" />`}<p><a href=${homeOf(who.value.membership?.role)}>Back to Fringework</a></p></${Page}>`;
}

function Elsewhere({ a }) {
  const go = useSend(() => moveTo(a.academy_id));
  return html`<${Page} title="Connect an app"><p>${a.app_name} belongs to another academy of yours, ${a.academy_name}.</p><${Wrong} problem=${go.problem} />
    <p><${Button} kind="main" busy=${go.busy} onClick=${go.run}>Go on in ${a.academy_name}</${Button}></p></${Page}>`;
}

const small = (text) => text[0].toLowerCase() + text.slice(1);

function Asked({ a }) {
  const answer = (allow) => async () => location.assign((await api.post("/v1/oauth/authorizations", { ...request, allow })).return_to);
  const yes = useSend(answer(true));
  const no = useSend(answer(false));
  if (a.error) return html`<${Page} title=${`${a.app_name} cannot be connected`}>
    <p>The app’s request has a mistake in it. Nothing was allowed. Tell the people who make the app:</p><p class="secret">${a.error}: ${a.error_description}</p>
    <p><a class="button main" href=${a.return_to} rel="noreferrer">Back to ${a.app_name}</a></p></${Page}>`;
  return html`<${Page} title=${`Let ${a.app_name} see your data?`} lead=${`${a.app_name} is not part of Fringework. ${a.registered_by} of ${a.academy_name} registered it.`}>
    <section class="panel"><h2>It asks to</h2><ul>${a.asks.map((s) => html`<li key=${s.scope}>${small(s.text)}</li>`)}</ul>
      <p>It would see this as you: ${a.member_name}, ${roleName(a.role).toLowerCase()} in ${a.academy_name}.</p></section>
    <section><h2>It can never</h2><ul>${a.never.map((text) => html`<li key=${text}>${text}</li>`)}</ul>
      <p>Its makers may keep what it has read. You can disconnect it at any time under Settings, Connected apps.</p></section>
    ${a.needs_guardian && html`<${Notice} kind="warn" title="Ask your guardian first"><p>As you are a junior, a guardian has to agree before an app may see your data. Until then you can only say no.</p></${Notice}>`}
    <div role="alert"><${Wrong} problem=${yes.problem ?? no.problem} /></div>
    <p class="row">${!a.needs_guardian && html`<${Button} kind="main" class="big" busy=${yes.busy} disabled=${no.busy} onClick=${yes.run}>Allow</${Button}>`}
      <${Button} class="big" busy=${no.busy} disabled=${yes.busy} onClick=${no.run}>Don’t allow</${Button}></p>
  </${Page}>`;
}

start();
const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} /><${Connect} /></div>`, root);
