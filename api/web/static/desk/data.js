// Data: practice as tables, to download and to import.

import { Button, Field, html, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { count } from "../base/units.js";
import { reached } from "../base/reached.js";
import { SaveButton } from "./document.js";
import { isOwner, PeopleNav } from "./people.js";

const kinds = [["sessions", "Sessions"], ["balls", "Every ball"], ["milestones", "Steps passed"], ["progress", "Progress"]];

export function Data() {
  return html`<${Page} title="Data" wide><${PeopleNav} current="data" />
    <section class="panel"><h2>Download</h2>
      <p>All of your students' practice as a table (CSV), which spreadsheets open.</p>
      <div class="row">${kinds.map(([kind, label]) => html`<${SaveButton} key=${kind} path=${`/v1/exports/${kind}`} type="text/csv" name=${`${kind}.csv`} label=${label} />`)}</div>
      ${isOwner() && html`<p class="after">The whole academy in one file, to move it to another installation:</p>
        <p class="row"><${SaveButton} path="/v1/exports/academy" type="application/zip" name="academy.zip" label="The whole academy" /></p>`}</section>
    <${Import} /></${Page}>`;
}

// An import waits for nobody else, but may be long.
const silence = 120_000;

/** Import checks a table of sessions, and then imports it. */
function Import() {
  const [file, choose] = useState(null); // { name, text }
  const [checked, setChecked] = useState(null);
  const [done, setDone] = useState(null);
  const send = async (dry) => reached(`/v1/imports/sessions${dry ? "?dry_run=true" : ""}`,
    { method: "POST", headers: { "Content-Type": "text/csv" }, body: file.text, silence }, (response) => response.json());
  const check = useSend(async () => (setChecked(null), setChecked(await send(true))));
  const store = useSend(async () => (setDone(await send(false)), setChecked(null)));
  const pick = async (e) => {
    const [chosen] = e.currentTarget.files;
    setChecked(null);
    setDone(null);
    choose(chosen ? { name: chosen.name, text: await chosen.text() } : null);
  };
  const problem = check.problem ?? store.problem;
  return html`<section class="panel"><h2>Import sessions</h2>
    <p>From a table (CSV) with one ball to a row. It needs the columns <code>started_at</code>, <code>student</code>, <code>kind</code>, <code>skill</code>, <code>radius_m</code>, <code>seconds</code> and <code>outcome</code>. See <a href="/docs/importSessions">all columns</a>. Lengths are in metres. Importing the same table twice changes nothing.</p>
    <form onSubmit=${check.run}>
      <${Field} class="form" label="File" type="file" accept=".csv,text/csv" onChange=${pick} />
      <${Button} type="submit" busy=${check.busy} disabled=${!file}>Check the table</${Button}>
    </form>
    ${checked && html`<${Notice} title="The table is in order" live><p>${told(checked)}</p>
      ${checked.created + checked.replaced > 0 && html`<${Button} kind="main" busy=${store.busy} onClick=${store.run}>Import them</${Button}>`}</${Notice}>`}
    ${done && html`<${Notice} kind="good" title="The sessions are imported" live><p>${told(done)}</p></${Notice}>`}
    <div role="alert">${problem && (problem.errors?.some((e) => e.line) ? html`<${Lines} problem=${problem} />` : html`<${Wrong} problem=${problem} />`)}</div></section>`;
}

/** told says what a table holds. */
function told({ sessions, created, replaced, unchanged }) {
  const parts = [created && `${created} new`, replaced && `${replaced} replaced`, unchanged && `${unchanged} already here as they are`].filter(Boolean);
  return `${count(sessions, "session")}: ${parts.join(", ")}.`;
}

/** Lines says what is wrong with a table, line by line. */
function Lines({ problem }) {
  return html`<${Notice} kind="bad" title="The table has errors"><p>${problem.detail}</p>
    <ul>${problem.errors.map((e) => html`<li>${e.line ? html`<strong>Line ${e.line}${e.column ? `, ${e.column}` : ""}</strong>: ` : ""}${e.detail}</li>`)}</ul></${Notice}>`;
}
