// What one may do with what is held on one: take it home, leave, have it erased; for a
// student the calendar's address too.

import { who } from "./account.js";
import * as api from "./api.js";
import { signOut } from "./leave.js";
import { useLoad } from "./load.js";
import { day } from "./units.js";
import { Button, Dialog, Field, html, Notice, useSend, useState, Wrong } from "./ui.js";

/** save lets the person keep an answer of the service as a file. */
async function save(path, name) {
  const response = await fetch(path, { headers: await api.bearer() });
  if (!response.ok) throw new api.Problem(response.status, await response.json(), 0);
  const url = URL.createObjectURL(await response.blob());
  Object.assign(document.createElement("a"), { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

export function Rights() {
  const [asking, ask] = useState("");
  const here = who.value.membership;
  const page = useSend(() => save("/v1/me/export/page", "fringework.html"));
  const data = useSend(() => save("/v1/me/export", "fringework.json"));
  return html`<section><h2>What is held on you</h2>
    <p>${here?.role === "student" ? "Your practice" : "What you wrote"}, and who may read it: <a href="/privacy">in plain words</a>.</p>
    <p class="row"><${Button} busy=${page.busy} onClick=${page.run}>Download it to read</${Button}><${Button} busy=${data.busy} onClick=${data.run}>Download it for software</${Button}></p>
    <${Wrong} problem=${page.problem ?? data.problem} />
    <p class="row">${here && html`<${Button} onClick=${() => ask("leave")}>Leave ${here.academy_name}</${Button}>`}
      <${Button} onClick=${() => ask("delete")}>Delete your account</${Button}></p>
    ${asking === "leave" && html`<${Leave} from=${here} onClose=${() => ask("")} />`}
    ${asking === "delete" && html`<${Delete} onClose=${() => ask("")} />`}
  </section>`;
}

async function gone() {
  await signOut();
  location.assign("/");
}

function Leave({ from, onClose }) {
  const send = useSend(async () => {
    await api.post("/v1/me/leave", { academy_id: from.academy_id });
    await gone();
  });
  return html`<${Dialog} title=${`Leave ${from.academy_name}?`} onClose=${onClose}>
    <p>You cannot read anything there any more. What you did is kept until an owner erases it; a new invitation brings you back.</p>
    <div class="stack"><${Button} kind="main" busy=${send.busy} onClick=${send.run}>Leave</${Button}><${Button} onClick=${onClose}>Stay</${Button}></div>
    <${Wrong} problem=${send.problem} /></${Dialog}>`;
}

function Delete({ onClose }) {
  const [password, type] = useState("");
  const send = useSend(async () => {
    await api.post("/v1/me/deletion", { password });
    await gone();
  });
  return html`<${Dialog} title="Delete your account?" onClose=${onClose}>
    <p>Everything that is held on you is erased at once, in every academy. It does not come back. The academies keep how much was practised, without you.</p>
    <form class="form" onSubmit=${send.run}>
      <${Field} label="Your password" type="password" autocomplete="current-password" required value=${password} error=${send.at("/password")} onInput=${(e) => type(e.currentTarget.value)} />
      <${Wrong} problem=${send.problem} />
      <div class="stack"><${Button} kind="main" type="submit" busy=${send.busy}>Delete it all</${Button}><${Button} onClick=${onClose}>Keep it</${Button}></div></form></${Dialog}>`;
}

export function Calendar() {
  const link = useLoad("/v1/me/calendar");
  const [made, set] = useState(null);
  const make = useSend(async () => {
    set(await api.post("/v1/me/calendar"));
    link.reload();
  });
  const end = useSend(async () => {
    await api.del("/v1/me/calendar");
    set(null);
    link.reload();
  });
  const copy = useSend(() => navigator.clipboard.writeText(made.address));
  const stands = link.body && !link.problem;
  return html`<section><h2>Your weeks in a calendar</h2>
    ${made ? html`<p>Subscribe to this address in your calendar app. It is shown once; whoever has it can read your weeks.</p>
        <p class="text">${made.address}</p><p class="row"><${Button} busy=${copy.busy} onClick=${copy.run}>Copy the address</${Button}></p>`
      : html`<p>${stands ? `Your calendar has had an address since ${day(link.body.created_at)}.` : "A secret address shows the weeks of your programmes in any calendar app."}</p>`}
    <p class="row"><${Button} busy=${make.busy} onClick=${make.run}>${stands ? "Make a new address" : "Make the address"}</${Button}>
      ${stands && html`<${Button} busy=${end.busy} onClick=${end.run}>End the address</${Button}>`}</p>
    <${Wrong} problem=${make.problem ?? end.problem ?? copy.problem} /></section>`;
}

/** Guardians asks a student who is a junior no more who may read on, and lists who does. */
export function Guardians() {
  const id = who.value.membership.member_id;
  const list = useLoad(`/v1/students/${id}/guardians`);
  const [problem, fail] = useState(null);
  const junior = who.value.member?.junior;
  const act = async (method, g) => {
    try {
      await method(`/v1/students/${id}/guardians/${g.id}`);
      fail(null);
    } catch (e) {
      if (!e.known) console.error(e);
      fail(e);
    }
    list.reload();
  };
  if (!list.body?.items.length) return null;
  return html`<section><h2>${junior ? "Your guardians" : "Who may read on"}</h2>
    ${list.body.items.map((g) => html`<p key=${g.id}>${g.name}${g.asked_at ? " was your guardian. May they read your practice?" : " reads your practice."}
      ${!junior && html`<span class="row">${g.asked_at && html`<${Button} onClick=${() => act(api.put, g)}>Yes</${Button}>`}<${Button} onClick=${() => act(api.del, g)}>${g.asked_at ? "No" : "End it"}</${Button}></span>`}</p>`)}
    ${junior && html`<${Notice}><p>A guardian says what is kept and shared.</p></${Notice}>`}
    <${Wrong} problem=${problem} /></section>`;
}
