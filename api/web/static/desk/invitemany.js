// Inviting many students at once: names are pasted, and come back as invitations
// with their links, on a sheet to print and cut.

import * as api from "../base/api.js";
import { who } from "../base/account.js";
import { route, to } from "../base/router.js";
import { count, day } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { Button, Field, html, Notice, useSend, useState, Wrong } from "../base/ui.js";
import { readNames, writeName } from "./names.js";
import { copied, nextMonday, useAll } from "./parts.js";

/** InviteMany invites; onMade is given those that were made. */
export function InviteMany({ onMade }) {
  const groups = useAll("/v1/groups?limit=200");
  const programmes = useAll("/v1/programmes?limit=200");
  const owner = who.value.membership.role === "owner";
  const staff = useAll(owner ? "/v1/members?limit=200" : "");
  const [text, setText] = useState("");
  const [form, set] = useState({ start_date: nextMonday(), programme_id: route.value.query.get("programme") ?? "", coach_id: owner ? who.value.membership.member_id : "" });
  const [wrong, setWrong] = useState([]);
  const people = readNames(text);
  // A group's programme is theirs, in step with the others, unless another is chosen.
  const join = async (group_id) => {
    set({ ...form, group_id });
    const common = group_id && (await api.get(`/v1/groups/${group_id}`).catch((e) => e.known || console.error(e)))?.programmes?.[0];
    if (common) set({ ...form, group_id, programme_id: common.programme_id, version: common.version, start_date: common.start_date });
  };
  const published = programmes.items?.filter((p) => p.published > 0) ?? [];
  const send = useSend(async () => {
    setWrong([]);
    const { results } = await api.post("/v1/invitations/bulk", {
      items: people.map((p) => ({ name: p.name || undefined, email: p.email || undefined, junior: form.junior || undefined })),
      group_id: form.group_id || undefined, coach_id: form.coach_id || undefined,
      ...(form.programme_id && { programme_id: form.programme_id, version: form.version, start_date: form.start_date }),
    });
    const refused = results.filter((r) => r.problem);
    setWrong(refused);
    // Those that were refused stay, to be put right and sent again.
    setText(refused.map(writeName).join("\n"));
    onMade(results.flatMap((r) => r.invitation ?? []));
  });
  const input = (name) => ({ value: form[name] ?? "", error: send.at(`/${name}`), onChange: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const coaches = (staff.items ?? []).filter((m) => ["coach", "owner"].includes(m.role));
  return html`<section class="panel"><h2>Invite several students</h2><form onSubmit=${send.run}>
    <${Field} as="textarea" class="form" label="Paste your students" hint="One on each line, or several with semicolons between them. Add an e-mail after a comma, and only they can accept." rows="8" value=${text} error=${send.at("/items")} onInput=${(e) => setText(e.currentTarget.value)} />
    <div class="trio wide-first">
      ${published.length > 0 && html`<${Field} as="select" label="Assign a programme" value=${form.programme_id} error=${send.at("/programme_id")} onChange=${(e) => set({ ...form, programme_id: e.currentTarget.value, version: undefined })}><option value="">None yet</option>${published.map((p) => html`<option value=${p.id}>${p.name}, version ${p.published}</option>`)}</${Field}>`}
      ${form.programme_id && html`<${Field} label="Week 1 starts on" type="date" required ...${input("start_date")} />`}
      ${groups.items?.length > 0 && html`<${Field} as="select" label="Put them in a group" value=${form.group_id ?? ""} error=${send.at("/group_id")} onChange=${(e) => join(e.currentTarget.value)}><option value="">No group</option>${groups.items.map((g) => html`<option value=${g.id}>${g.name}</option>`)}</${Field}>`}
      ${coaches.length > 1 && html`<${Field} as="select" label="Who coaches them" ...${input("coach_id")}>${coaches.map((c) => html`<option value=${c.id}>${c.name}</option>`)}</${Field}>`}
    </div>
    ${form.programme_id && html`<p class="small">Week 1 starts that day for everybody, even those who join later.</p>`}
    <${Switch} label="They are juniors" hint="Sessions are kept once a guardian has agreed." on=${Boolean(form.junior)} onChange=${(junior) => set({ ...form, junior })} />
    <div role="alert"><${Wrong} problem=${send.problem} />
      ${wrong.length > 0 && html`<${Notice} kind="bad" title=${`${count(wrong.length, "line")} to correct`}><ul>${wrong.map((r) => html`<li><strong>${writeName(r)}</strong>: ${r.problem.errors?.map((e) => e.detail).join("; ") || r.problem.detail}</li>`)}</ul></${Notice}>`}</div>
    <${Button} kind="main" type="submit" busy=${send.busy} disabled=${people.length === 0}>${people.length ? `Invite ${count(people.length, "student")}` : "Invite"}</${Button}>
  </form></section>`;
}

/** Sheet is the invitations just made, to hand out on paper or to copy. */
export function Sheet({ made }) {
  const [said, say] = useState("");
  const lines = made.map((m) => `${writeName(m)}\t${m.link}`).join("\n");
  const copy = async () => say((await copied(lines)) ? "Copied." : "Could not copy; print the sheet instead.");
  return html`<section class="codes-sheet"><h2 class="screen-only">${count(made.length, "invitation")} made</h2>
    <div class="screen-only"><${Notice} kind="good" title="Hand these out now; they are shown only once" live><p>Each is for one person, until ${day(made[0].expires_at)}.</p>
      <p class="row"><${Button} kind="main" onClick=${() => print()}>Print the sheet</${Button}><${Button} onClick=${copy}>Copy names and links</${Button}> <span role="status">${said}</span></p></${Notice}></div>
    <ul class="codes">${made.map((m) => html`<li key=${m.id} class="code-card"><p class="code-name">${m.name || m.email}</p>
      <p>${who.value.membership.academy_name} invites you. Open this page on your phone:</p><p class="secret">${m.link}</p>
      <p>Or go to ${new URL(m.link).origin}${new URL(m.link).pathname} and type the code</p><p class="secret code-typed">${m.code.replace(/(.{4})(?=.)/g, "$1 ")}</p>
      <p class="small">Until ${day(m.expires_at)}.${m.email ? ` Only for ${m.email}.` : ""}${m.junior ? " A guardian's consent is needed before sessions are kept." : ""}</p></li>`)}</ul>
    <p class="screen-only"><a class="button" href=${to("groups")}>See the groups</a></p></section>`;
}
