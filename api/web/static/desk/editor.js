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
import { atOf, Grip, moved, Reorder, show, useOpened, Wrongs } from "./edit.js";
import { ChooseSkill, Week } from "./editweek.js";
import { copyFor, newWeek } from "./fit.js";
import { useNarrow } from "./narrow.js";
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
  return html`<${Page} title=${s.content.name || "A programme without a name"} wide><div onFocusOut=${() => draft.settle()}>
    <${ProgrammeNav} current="programmes" />
    <${Bar} draft=${draft} s=${s} skills=${known} />
    ${s.conflict && html`<${Conflict} draft=${draft} s=${s} skills=${known} />`}
    ${s.programme.archived_at && html`<${Notice} title="Archived"><p>Students who have this programme keep it.</p></${Notice}>`}
    <${LeftToDo} s=${s} />
    <${Basics} draft=${draft} s=${s} />
    <${Limits} draft=${draft} s=${s} />
    <${Weeks} draft=${draft} s=${s} skills=${known} />
    <${More} id=${id} draft=${draft} s=${s} />
  </div></${Page}>`;
}

const statuses = {
  saved: "Saved.", unsaved: "Not saved yet …", saving: "Saving …", offline: "Kept on this device; it is saved once there is a connection.",
  refused: "Kept on this device: not accepted yet, see below.", conflict: "Kept on this device: somebody else saved a change, see below.",
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
    <p class="did" role="status">${s.said}</p>
    <div class="row"><${Button} disabled=${!s.undoable} onClick=${() => draft.undo()}>Undo</${Button}>
      <${Button} busy=${preview.busy} onClick=${preview.run}>Preview</${Button}>
      <${Button} kind="main" onClick=${() => ask("publish")}>Publish version ${s.programme.published + 1}</${Button}></div>
    ${asking === "preview" && html`<${PreviewDialog} programme=${s.programme} saved=${s.status === "saved"} skills=${skills} onClose=${close} />`}
    ${asking === "publish" && html`<${PublishDialog} draft=${draft} skills=${skills} onClose=${close} />`}
  </div>`;
}

/** Places is a list of what is told of places in the draft, each a way to go there. */
const Places = ({ list }) => html`<ul>${list.map((p) => html`<li key=${p.pointer + p.detail}><button type="button" class="button quiet" onClick=${() => show(p.pointer)}>${p.detail}</button></li>`)}</ul>`;

/** LeftToDo lists what stands between the draft and publication, and what to look at before it. */
function LeftToDo({ s }) {
  const warnings = warningsOf(s);
  return html`<${Problems} s=${s} />
    ${warnings.length > 0 && html`<details class="panel problems quiet"><summary>Worth a look: ${warnings.length}</summary><${Places} list=${warnings} /></details>`}`;
}

function Problems({ s }) {
  const refused = s.status === "refused" && s.problem;
  const list = refused ? s.problem.errors : s.problems;
  if (refused && list.length === 0) return html`<${Notice} kind="bad" title="Not saved"><p>${s.problem.detail}</p></${Notice}>`;
  if (list.length === 0) return html`<p class="ready">Ready to publish.</p>`;
  return html`<details class=${`panel problems ${refused ? "bad" : ""}`} open=${Boolean(refused)}><summary>${refused ? `${s.problem.detail} To correct: ${list.length}` : `Before publication: ${count(list.length, "thing")} to do`}</summary>
    <${Places} list=${list} /></details>`;
}

/** warningsOf are what the service would have the coach look at; a draft may be published with them. */
const warningsOf = (s) => s.programme.warnings ?? [];

/** problemsOf are the ones to show beside fields. */
const problemsOf = (s) => [...(s.problem?.errors ?? []), ...(s.status === "refused" ? [] : s.problems)];

function Basics({ draft, s }) {
  const at = atOf(problemsOf(s), "");
  const set = (name) => (e) => draft.edit((c) => (c[name] = e.currentTarget.value));
  const narrow = useNarrow();
  const [unnamed] = useState(!s.content.name);
  const fields = html`<${Field} label="Name" maxlength="120" required ...${at("/name")} value=${s.content.name} onInput=${set("name")} />
    <${Field} as="textarea" label="What it is about" hint="For the students." rows="3" maxlength="4000" ...${at("/text")} value=${s.content.text ?? ""} onInput=${set("text")} />`;
  return narrow ? html`<details class="panel" open=${unnamed}><summary>Name, and what it is about</summary>${fields}</details>` : html`<section class="form">${fields}</section>`;
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
  return html`<details class="panel limits"><summary>Limits on the time split: ${limits.length === 0 ? "none" : limits.map((l) => `${kindName(l.kind).toLowerCase()} ${l.at_least ? `at least ${l.at_least} %` : ""}${l.at_least && (l.at_most ?? 100) < 100 ? ", " : ""}${(l.at_most ?? 100) < 100 ? `at most ${l.at_most} %` : ""}`).join("; ")}</summary>
    <p>Every plan must keep to them before it can be published.</p><${Wrongs} problems=${problems} at="/limits" />
    ${blockKinds.map((kind) => {
      const i = limits.findIndex((l) => l.kind === kind);
      const at = atOf(problems, `/limits/${i}`);
      const field = (name, label) => html`<${Field} label=${`${kindName(kind)}, ${label} per cent`} type="number" min="0" max="100" ...${at(`/${name}`)} value=${limits[i]?.[name] ?? { at_least: 0, at_most: 100 }[name]} onInput=${(e) => edit(kind, name, e.currentTarget.value)} />`;
      return html`<div class="pair" key=${kind}>${field("at_least", "at least")}${field("at_most", "at most")}</div>`;
    })}</details>`;
}

function Weeks({ draft, s, skills }) {
  const weeks = s.content.weeks ?? [];
  const [ref, heading] = useKeptFocus();
  const opened = useOpened([true]);
  const [asked, ask] = useState(null); // { w, title, onChoose }: which skill?
  const [arrived, arrive] = useState(null);
  useEffect(() => {
    if (arrived !== null) show(`/weeks/${arrived}`);
    arrive(null);
  }, [arrived]);
  /** add makes a week at a place, opens it and goes there; fn changes the draft and says what it did. */
  const add = (at, fn) => {
    draft.act(fn);
    opened.added(at);
    ask(null);
    arrive(at);
  };
  const move = (i) => (by) => {
    draft.act((c) => {
      moved(c.weeks, i, by);
      return `Week ${i + 1} is week ${i + by + 1} now.`;
    });
    opened.moved(i, by);
  };
  const copy = (i) => () => add(i + 1, (c) => {
    c.weeks.splice(i + 1, 0, structuredClone(c.weeks[i]));
    return `Week ${i + 2} is a copy of week ${i + 1}.`;
  });
  const remove = (i) => () => {
    draft.act((c) => {
      c.weeks.splice(i, 1);
      return `Week ${i + 1} removed.`;
    });
    opened.removed(i);
  };
  const append = (id) => add(weeks.length, (c) => {
    c.weeks = [...(c.weeks ?? []), newWeek(c, id, skills)];
    return `Week ${c.weeks.length} added${id ? ` for ${skills.get(id).name}, in four equal parts` : ""}.`;
  });
  const copyTo = (i) => () => ask({ title: `Copy week ${i + 1} for another skill`, except: weeks[i].skill_id, onChoose: (id) => add(i + 1, (c) => copyFor(c, i, id, skills)) });
  return html`<section ref=${ref}><h2 ref=${heading} tabindex="-1">Weeks</h2><${Wrongs} problems=${problemsOf(s)} at="/weeks" />
    ${weeks.map((week, i) => html`<${Week} key=${i} draft=${draft} week=${week} index=${i} open=${opened.is(i)} onOpen=${(on) => opened.set(i, on)} problems=${problemsOf(s)} warnings=${warningsOf(s)} skills=${skills}
      grip=${html`<${Grip} group="weeks" index=${i} length=${weeks.length} onMove=${move(i)} />`}
      order=${html`<${Reorder} what=${`week ${i + 1}`} group="weeks" index=${i} length=${weeks.length} onMove=${move(i)} onCopy=${copy(i)} onRemove=${remove(i)}>
        ${week.skill_id && skills.size > 1 && html`<${Button} class="small-button" onClick=${copyTo(i)}>Copy for another skill</${Button}>`}</${Reorder}>`} />`)}
    <div class="row tools"><${Button} onClick=${() => ask({ title: `What does week ${weeks.length + 1} train?`, onChoose: append, later: "Choose later" })}>Add a week</${Button}>
      ${weeks.length > 0 && html`<${Button} onClick=${() => add(weeks.length, (c) => (c.weeks.push(structuredClone(c.weeks.at(-1))), `Week ${c.weeks.length} is a copy of week ${c.weeks.length - 1}.`))}>Add a week like the last</${Button}>`}</div>
    ${asked && html`<${ChooseSkill} ...${asked} skills=${skills} onClose=${() => ask(null)} />`}
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
      <thead><tr><th scope="col">Where</th><th scope="col">Yours</th><th scope="col">Theirs</th></tr></thead>
      <tbody>${list.map((d) => html`<tr><th scope="row">${d.place}: ${d.what}</th><td class="text">${d.mine || "–"}</td><td class="text">${d.theirs || "–"}</td></tr>`)}</tbody></table></div>
    <div class="row"><${Button} kind="main" busy=${keep.busy} onClick=${keep.run}>Keep yours</${Button}><${Button} busy=${take.busy} onClick=${take.run}>Use theirs</${Button}><${Button} busy=${copy.busy} onClick=${copy.run}>Use theirs, keep yours as a copy</${Button}></div>
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
  return html`<section><h2>More</h2><div class="row tools">
    ${s.programme.published > 0 && html`<a class="button" href=${to("versions", id)}>Versions and differences</a><a class="button" href=${`${to("assign")}?programme=${id}`}>Assign</a>`}
    <${ExportButton} id=${id} label="Export the draft as YAML" before=${() => draft.save()} />
    <${Button} busy=${clone.busy} onClick=${clone.run}>Copy to a new programme</${Button}>
    <${Button} busy=${archive.busy} onClick=${archive.run}>${s.programme.archived_at ? "Bring back" : "Archive"}</${Button}></div>
    <${Wrong} problem=${archive.problem ?? clone.problem} /></section>`;
}
