// The editor of a programme's draft: saved at each change, checked in place with
// the service's own words.

import * as api from "../base/api.js";
import { signedIn } from "../base/api.js";
import { go, to } from "../base/router.js";
import { count, dayTime } from "../base/units.js";
import { blockKinds, kindName } from "../base/words.js";
import { Button, Failed, Field, html, Loading, Notice, Page, useEffect, useMemo, useSend, useState, Wrong } from "../base/ui.js";
import { ExportButton } from "./document.js";
import { differences } from "./diff.js";
import { Draft } from "./draft.js";
import { atOf, moved, Reorder, show, Wrongs } from "./edit.js";
import { Week } from "./editweek.js";
import { useAll, useKeptFocus } from "./parts.js";
import { PreviewDialog } from "./preview.js";
import { ProgrammeNav } from "./programmes.js";
import { PublishDialog } from "./publish.js";

export function Editor({ args: [id] }) {
  const draft = useMemo(() => new Draft(id), [id]);
  const skills = useAll("/v1/skills?archived=true&limit=200");
  useEffect(() => {
    draft.open();
    return () => draft.close();
  }, [draft]);
  const on = signedIn.value;
  useEffect(() => {
    if (on === "yes" && draft.state.peek().status === "sign-in") draft.save();
  }, [on]);
  const s = draft.state.value;
  const known = new Map((skills.items ?? []).map((k) => [k.id, k]));
  if (s.phase !== "open") {
    return html`<${Page} title="Programme" wide>${s.phase === "failed" ? html`<${Failed} what="The programme" problem=${s.problem} retry=${() => draft.open()} />` : html`<${Loading} what="the programme" />`}</${Page}>`;
  }
  return html`<${Page} title=${s.content.name || "A programme without a name"} wide>
    <${ProgrammeNav} current="programmes" />
    <${Bar} draft=${draft} s=${s} skills=${known} />
    ${s.conflict && html`<${Conflict} draft=${draft} s=${s} skills=${known} />`}
    ${s.programme.archived_at && html`<${Notice} title="Archived"><p>This programme is put away. Assignments of its versions go on.</p></${Notice}>`}
    <${LeftToDo} s=${s} />
    <${Basics} draft=${draft} s=${s} />
    <${Limits} draft=${draft} s=${s} />
    <${Weeks} draft=${draft} s=${s} skills=${known} />
    <${More} id=${id} draft=${draft} s=${s} />
  </${Page}>`;
}

const statuses = {
  saved: "Saved.", unsaved: "Not saved yet …", saving: "Saving …", offline: "Kept on this device: the service cannot be reached. It is saved as soon as it can be.",
  refused: "Kept on this device: the service does not take it as it is, see below.", conflict: "Kept on this device: somebody else saved meanwhile, see below.",
  "sign-in": "Kept on this device: sign in again to save it.",
};

function Bar({ draft, s, skills }) {
  const [asking, ask] = useState("");
  const close = () => ask("");
  const preview = useSend(async () => {
    await draft.save();
    ask("preview");
  });
  return html`<div class="editbar">
    <p class=${`saved ${s.status}`} role="status">${statuses[s.status]}${s.unkept ? " This device could not keep it." : ""}</p>
    <div class="row"><${Button} disabled=${!s.undoable} onClick=${() => draft.undo()}>Undo</${Button}>
      <${Button} busy=${preview.busy} onClick=${preview.run}>Preview</${Button}>
      <${Button} kind="main" onClick=${() => ask("publish")}>Publish version ${s.programme.published + 1}</${Button}></div>
    ${asking === "preview" && html`<${PreviewDialog} programme=${s.programme} saved=${s.status === "saved"} skills=${skills} onClose=${close} />`}
    ${asking === "publish" && html`<${PublishDialog} draft=${draft} skills=${skills} onClose=${close} />`}
  </div>`;
}

/** LeftToDo lists what stands between the draft and publication. */
function LeftToDo({ s }) {
  const refused = s.status === "refused" && s.problem;
  const list = refused ? s.problem.errors : s.problems;
  if (refused && list.length === 0) return html`<${Notice} kind="bad" title="Not saved"><p>${s.problem.detail}</p></${Notice}>`;
  if (list.length === 0) return html`<p class="ready">Ready to publish.</p>`;
  return html`<details class=${`panel problems ${refused ? "bad" : ""}`} open=${Boolean(refused)}><summary>${refused ? `${s.problem.detail} To correct: ${list.length}` : `Before publication: ${count(list.length, "thing")} to do`}</summary>
    <ul>${list.map((p) => html`<li key=${p.pointer + p.detail}><button type="button" class="button quiet" onClick=${() => show(p.pointer)}>${p.detail}</button></li>`)}</ul></details>`;
}

/** problemsOf are the ones to show beside fields. */
const problemsOf = (s) => [...(s.problem?.errors ?? []), ...(s.status === "refused" ? [] : s.problems)];

function Basics({ draft, s }) {
  const at = atOf(problemsOf(s), "");
  const set = (name) => (e) => draft.edit((c) => (c[name] = e.currentTarget.value));
  return html`<section class="form"><${Field} label="Name" maxlength="120" required ...${at("/name")} value=${s.content.name} onInput=${set("name")} />
    <${Field} as="textarea" label="What it is about" hint="For the students." rows="3" maxlength="4000" ...${at("/text")} value=${s.content.text ?? ""} onInput=${set("text")} /></section>`;
}

function Limits({ draft, s }) {
  const limits = s.content.limits ?? [];
  const problems = problemsOf(s);
  const edit = (kind, name, text) => draft.edit((c) => {
    c.limits ??= [];
    let limit = c.limits.find((l) => l.kind === kind);
    if (!limit) c.limits.push((limit = { kind, at_least: 0, at_most: 100 }));
    limit[name] = text === "" ? { at_least: 0, at_most: 100 }[name] : Number(text);
    c.limits = c.limits.filter((l) => l.at_least || (l.at_most ?? 100) !== 100);
  });
  return html`<details class="panel"><summary>Limits of the time split: ${limits.length === 0 ? "none" : limits.map((l) => `${kindName(l.kind).toLowerCase()} ${l.at_least ? `at least ${l.at_least} %` : ""}${l.at_least && (l.at_most ?? 100) < 100 ? ", " : ""}${(l.at_most ?? 100) < 100 ? `at most ${l.at_most} %` : ""}`).join("; ")}</summary>
    <p>Each plan must keep them to be published.</p><${Wrongs} problems=${problems} at="/limits" />
    ${blockKinds.map((kind) => {
      const i = limits.findIndex((l) => l.kind === kind);
      const at = atOf(problems, `/limits/${i}`);
      const field = (name, label) => html`<${Field} label=${`${kindName(kind)}, ${label} per cent`} type="number" min="0" max="100" ...${at(`/${name}`)} value=${limits[i]?.[name] ?? { at_least: 0, at_most: 100 }[name]} onInput=${(e) => edit(kind, name, e.currentTarget.value)} />`;
      return html`<div class="pair" key=${kind}>${field("at_least", "at least")}${field("at_most", "at most")}</div>`;
    })}</details>`;
}

function Weeks({ draft, s, skills }) {
  const weeks = s.content.weeks ?? [];
  const problems = problemsOf(s);
  const last = weeks.at(-1);
  const add = (week) => draft.edit((c) => (c.weeks = [...(c.weeks ?? []), week]));
  const [ref, heading] = useKeptFocus();
  return html`<section ref=${ref}><h2 ref=${heading} tabindex="-1">Weeks</h2><${Wrongs} problems=${problems} at="/weeks" />
    ${weeks.map((week, i) => html`<${Week} key=${i} draft=${draft} week=${week} index=${i} limits=${s.content.limits ?? []} problems=${problems} skills=${skills}
      order=${html`<${Reorder} what=${`week ${i + 1}`} index=${i} length=${weeks.length} onMove=${(by) => draft.edit((c) => moved(c.weeks, i, by))}
        onCopy=${() => draft.edit((c) => c.weeks.splice(i + 1, 0, structuredClone(week)))} onRemove=${() => draft.edit((c) => c.weeks.splice(i, 1))} />`} />`)}
    <div class="row"><${Button} onClick=${() => add({ plans: [] })}>Add an empty week</${Button}>
      ${last && html`<${Button} onClick=${() => add(structuredClone(last))}>Add a week like the last</${Button}>`}</div>
  </section>`;
}

function Conflict({ draft, s, skills }) {
  const list = differences(s.content, s.conflict.theirs.draft, skills);
  const keep = useSend(() => draft.keepMine());
  const take = useSend(() => draft.takeTheirs());
  const copy = useSend(async () => go(to("programme", await draft.copyMine())));
  return html`<section class="notice bad conflict" role="alert"><p class="notice-title">Two drafts differ</p>
    <p>Yours, on this device, and one that was saved ${dayTime(s.conflict.theirs.updated_at)}. Neither is lost until you choose.</p>
    <div class="scroll" tabindex="0" role="region" aria-label="Where the two drafts differ"><table><caption>${count(list.length, "difference")}</caption>
      <thead><tr><th scope="col">Where</th><th scope="col">Yours</th><th scope="col">Saved meanwhile</th></tr></thead>
      <tbody>${list.map((d) => html`<tr><th scope="row">${d.place}: ${d.what}</th><td class="text">${d.mine || "–"}</td><td class="text">${d.theirs || "–"}</td></tr>`)}</tbody></table></div>
    <div class="row"><${Button} kind="main" busy=${keep.busy} onClick=${keep.run}>Keep yours</${Button}><${Button} busy=${take.busy} onClick=${take.run}>Take the saved one</${Button}><${Button} busy=${copy.busy} onClick=${copy.run}>Take the saved one, keep yours as a copy</${Button}></div>
    <${Wrong} problem=${keep.problem ?? take.problem ?? copy.problem} /></section>`;
}

function More({ id, draft, s }) {
  const archive = useSend(async () => {
    await api.post(`/v1/programmes/${id}/${s.programme.archived_at ? "restore" : "archive"}`);
    await draft.reread();
  });
  const clone = useSend(async () => {
    await draft.save();
    go(to("programme", (await api.post(`/v1/programmes/${id}/clone`)).id));
  });
  return html`<section><h2>More</h2><div class="row">
    ${s.programme.published > 0 && html`<a class="button" href=${to("versions", id)}>Versions and differences</a><a class="button" href=${`${to("assign")}?programme=${id}`}>Assign</a>`}
    <${ExportButton} id=${id} label="Export the draft as YAML" before=${() => draft.save()} />
    <${Button} busy=${clone.busy} onClick=${clone.run}>Copy to a new programme</${Button}>
    <${Button} busy=${archive.busy} onClick=${archive.run}>${s.programme.archived_at ? "Bring back" : "Archive"}</${Button}></div>
    <${Wrong} problem=${archive.problem ?? clone.problem} /></section>`;
}
