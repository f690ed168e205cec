// Webhooks: other software that is told when something happens.

import * as api from "../base/api.js";
import { count, day, dayTime } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Ask, AsOf, CopyButton, Missing, useAll } from "./parts.js";
import { PeopleNav } from "./people.js";
import { kindText } from "./log.js";

const groups = [
  ["Sessions", ["session.stored", "session.extended", "session.edited", "session.deleted", "session.restored"]],
  ["Steps passed", ["milestone.made", "milestone.withdrawn", "milestone.held", "milestone.reopened"]],
  ["Reasons to look at a student", ["reason.raised", "reason.cleared"]],
  ["Programmes given to students", ["assignment.made", "assignment.paused", "assignment.resumed", "assignment.moved", "assignment.ended"]],
  ["Changes for one student", ["adjustment.made", "adjustment.ended"]],
  ["New members", ["member.joined"]],
];

const why = { by_owner: "switched off by an owner", failing: "switched off, since it failed for five days", gone: "switched off, since the receiver wants nothing more" };

export function Webhooks() {
  const hooks = useAll("/v1/webhooks");
  const [made, setMade] = useState(null);
  const shown = (hook) => (setMade(hook), hooks.reload());
  return html`<${Page} title="Webhooks" wide><${PeopleNav} current="webhooks" />
    <p>A webhook tells other software, at its address, that something happened here. It sends only IDs; your software reads the data with a <a href="#/keys">key</a>.</p>
    ${made && html`<${Notice} kind="good" title=${`Secret of ${made.name}`} live><p>Keep it now: it is shown only once. The receiver checks by it that messages come from here.</p>
      <p><strong class="secret">${made.secret}</strong></p><p class="row"><${CopyButton} text=${made.secret} label="Copy the secret" /></p></${Notice}>`}
    <${Missing} what="the webhooks" from=${hooks} /><${AsOf} from=${hooks} />
    ${hooks.items?.length === 0 && html`<section class="empty"><h2>No webhooks yet</h2><p>Nothing is sent to other software yet.</p></section>`}
    ${hooks.items?.map((hook) => html`<${Hook} key=${hook.id} hook=${hook} onDone=${hooks.reload} onSecret=${shown} />`)}
    <${Make} onMade=${shown} />
  </${Page}>`;
}

/** kindsText names what a webhook is told of by its groups, and single kinds where a group is not whole. */
function kindsText(kinds) {
  if (kinds.length === 0) return "Told of everything it can be told of";
  const named = groups.flatMap(([name, all]) => (all.every((k) => kinds.includes(k)) ? [name] : all.filter((k) => kinds.includes(k)).map(kindText)));
  return `Told of: ${named.join("; ")}`;
}

function standing(hook) {
  if (!hook.enabled) return `${why[hook.disabled_for] ?? "switched off"} on ${day(hook.disabled_at)}`;
  return hook.failing_since ? `failing since ${dayTime(hook.failing_since)}` : "working";
}

function Hook({ hook, onDone, onSecret }) {
  const [asking, ask] = useState("");
  const path = `/v1/webhooks/${hook.id}`;
  const closed = (done) => (ask(""), done && onDone());
  const put = useSend(async () => {
    await api.put(path, { name: hook.name, url: hook.url, kinds: hook.kinds, enabled: !hook.enabled });
    onDone();
  });
  return html`<section class="panel"><h2>${hook.name}</h2>
    ${hook.disabled_for && hook.disabled_for !== "by_owner" && html`<${Notice} kind="warn" title=${`${hook.name} is ${why[hook.disabled_for]}`}><p>Mend the receiver, then switch it on again: it is told of everything it missed.</p></${Notice}>`}
    <p>${kindsText(hook.kinds)}.</p><p class="small"><span class="secret">${hook.url}</span>, ${standing(hook)}.${hook.old_secret_until ? ` The old secret is valid until ${dayTime(hook.old_secret_until)}.` : ""}</p>
    <p class="row"><${Button} busy=${put.busy} onClick=${put.run}>${hook.enabled ? "Switch off" : "Switch on"}</${Button}>
      <${Button} aria-label=${`New secret for ${hook.name}`} onClick=${() => ask("rotate")}>New secret</${Button}>
      <${Button} aria-label=${`Delete the webhook ${hook.name}`} onClick=${() => ask("delete")}>Delete</${Button}></p><${Wrong} problem=${put.problem} />
    <details><summary>Messages sent</summary><${Deliveries} path=${path} enabled=${hook.enabled} /></details>
    ${asking === "rotate" && html`<${Ask} title=${`New secret for ${hook.name}?`} verb="Make a new secret" onDo=${async () => onSecret(await api.post(`${path}/rotate`))} onClose=${() => ask("")}><p>The old secret stays valid for a day, so that you can change it at the receiver.</p></${Ask}>`}
    ${asking === "delete" && html`<${Ask} title=${`Delete the webhook ${hook.name}?`} verb="Delete" onDo=${() => api.del(path)} onClose=${closed}><p>Nothing more is sent, also not what still waits.</p></${Ask}>`}
  </section>`;
}

const states = { waiting: "waiting", delivered: "received", failed: "given up" };

function Deliveries({ path, enabled }) {
  const [list, set] = useState(null);
  const read = async () => set((await api.get(`${path}/deliveries?limit=20`)).items);
  const look = useSend(read);
  const test = useSend(async () => (await api.post(`${path}/test`), await read()));
  return html`<p class="row"><${Button} busy=${look.busy} onClick=${look.run}>${list ? "Refresh" : "Show the latest"}</${Button}>
      ${enabled && html`<${Button} busy=${test.busy} onClick=${test.run}>Send a test</${Button}>`}</p>
    <${Wrong} problem=${look.problem ?? test.problem} />
    ${list?.length === 0 && html`<p>Nothing was sent in the last 30 days.</p>`}
    ${list && list.length > 0 && html`<ul class="plain">${list.map((d) => html`<${Delivery} key=${d.id} d=${d} path=${path} enabled=${enabled} onDone=${read} />`)}</ul>`}`;
}

function Delivery({ d, path, enabled, onDone }) {
  const send = useSend(async () => (await api.post(`${path}/deliveries/${d.id}/resend`), await onDone()));
  return html`<li>${dayTime(d.at)}: ${d.kind === "webhook.ping" ? "test" : kindText(d.kind)}, ${states[d.state] ?? d.state}${d.attempts > 1 ? ` after ${count(d.attempts, "try", "tries")}` : ""}. ${d.failure ?? ""}
    ${enabled && d.state !== "waiting" && html` <${Button} busy=${send.busy} aria-label=${`Send again: ${kindText(d.kind)} of ${dayTime(d.at)}`} onClick=${send.run}>Send again</${Button}>`}<${Wrong} problem=${send.problem} /></li>`;
}

function Make({ onMade }) {
  const [form, setForm] = useState({ name: "", url: "" });
  const [chosen, choose] = useState([]);
  const send = useSend(async () => {
    const kinds = chosen.length === groups.length ? [] : groups.filter(([name]) => chosen.includes(name)).flatMap(([, all]) => all);
    onMade(await api.post("/v1/webhooks", { ...form, kinds }));
    setForm({ name: "", url: "" });
    choose([]);
  });
  const input = (name) => ({ value: form[name], required: true, error: send.at(`/${name}`), onInput: (e) => setForm({ ...form, [name]: e.currentTarget.value }) });
  return html`<section class="panel"><h2>New webhook</h2><form class="form" onSubmit=${send.run}>
    <${Field} label="Which software" maxlength="100" ...${input("name")} />
    <${Field} label="Its address, beginning with https://" type="url" maxlength="1000" ...${input("url")} />
    <fieldset><legend>Tell it of</legend>${groups.map(([name]) => html`<${Switch} key=${name} label=${name} on=${chosen.includes(name)} onChange=${(on) => choose(on ? [...chosen, name] : chosen.filter((x) => x !== name))} />`)}</fieldset>
    <div role="alert"><${Wrong} problem=${send.problem} /></div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${chosen.length === 0}>Make the webhook</${Button}></form></section>`;
}
