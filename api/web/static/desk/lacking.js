// What newcomers to a group lack: the programme that the others follow, offered
// in one press.

import * as api from "../base/api.js";
import { count, day } from "../base/units.js";
import { Button, html, Notice, useSend, useState, Wrong } from "../base/ui.js";
import { nextMonday, positionText } from "./parts.js";

/** Lacking offers what some students of a group lack; group is as the API gives one. */
export function Lacking({ group, students }) {
  return html`${group.programmes.filter((l) => l.lacking_ids.length > 0).map((l) => html`<${Offer} key=${l.programme_id} lack=${l} students=${students} />`)}`;
}

function Offer({ lack, students }) {
  const [done, setDone] = useState("");
  const give = async (start) => {
    await api.post("/v1/assignments", { programme_id: lack.programme_id, version: lack.version, student_ids: lack.lacking_ids, start_date: start });
    setDone(start);
  };
  const step = useSend(() => give(lack.start_date));
  const fresh = useSend(() => give(nextMonday()));
  const names = lack.lacking_ids.map((id) => students.find((s) => s.id === id)?.name ?? "a student");
  const whom = names.length <= 3 ? names.join(", ").replace(/, ([^,]+)$/, " and $1") : count(names.length, "student");
  if (done) return html`<${Notice} kind="good" live title=${`${whom}: ${lack.programme_name} from ${day(done)}`} />`;
  return html`<${Notice} kind="warn" live title=${`The group follows ${lack.programme_name}; ${whom} ${names.length === 1 ? "does" : "do"} not`}>
    <p>The others ${lack.position.phase === "upcoming" ? `start on ${day(lack.start_date)}` : `are in ${positionText(lack)}; they started on ${day(lack.start_date)}`}.</p>
    <div class="row"><${Button} kind="main" busy=${step.busy} onClick=${step.run}>Assign it, in step with the group</${Button}>
      ${lack.position.phase !== "upcoming" && html`<${Button} busy=${fresh.busy} onClick=${fresh.run}>Assign it from week 1 on ${day(nextMonday())}</${Button}>`}</div>
    <${Wrong} problem=${step.problem ?? fresh.problem} /></${Notice}>`;
}
