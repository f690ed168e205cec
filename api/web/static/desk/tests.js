// A student's first tests and end tests on the coach's page.

import * as api from "../base/api.js";
import { to } from "../base/router.js";
import { askedText, Measured, useTests } from "../base/tests.js";
import { Button, html, useSend, useState, Wrong } from "../base/ui.js";

/** Tests is what is asked for, what was measured, and the way to what is proposed. */
export function Tests({ studentID }) {
  const tests = useTests(studentID);
  const [off, setOff] = useState([]); // the assignments that were switched off here
  const { due, skills, starts } = tests.body ?? { due: [], skills: [], starts: [] };
  const ask = async (ids, asked) => {
    await Promise.all(ids.map((id) => api.post(`/v1/assignments/${id}/tests`, { asked })));
    setOff(asked ? [] : ids);
    tests.reload();
  };
  const stop = useSend(() => ask([...new Set(due.map((d) => d.assignment_id))], false));
  const again = useSend(() => ask(off, true));
  if (due.length + skills.length + off.length === 0) return null;
  return html`<section><h2>First and end tests</h2>
    ${due.length > 0 && html`<p>Asked for: ${askedText(due)} <${Button} kind="quiet" busy=${stop.busy} onClick=${stop.run}>Do not ask</${Button}></p>`}
    ${off.length > 0 && html`<p role="status">No tests are asked for now. <${Button} busy=${again.busy} onClick=${again.run}>Undo</${Button}></p>`}
    <${Wrong} problem=${stop.problem ?? again.problem} />
    ${starts.length > 0 && html`<p><a href=${to("proposals")}>Where to begin is proposed</a> and waits for your answer; the student may take it meanwhile.</p>`}
    ${skills.map((s) => html`<h3 key=${s.skill_id}>${s.skill_name}</h3><${Measured} skill=${s} />`)}
  </section>`;
}
