// What a person is told at a sign-in: who made a link to set their password.

import { dayTime } from "./units.js";
import { Button, html, Notice, useState } from "./ui.js";

/** Told shows it until it is marked as read. */
export function Told() {
  const [told, set] = useState(JSON.parse(localStorage.getItem("told") ?? "[]"));
  const read = () => {
    localStorage.removeItem("told");
    set([]);
  };
  return told.length > 0 && html`<${Notice} kind="warn" title="A link to set your password was made">
    ${told.map((n) => html`<p>${n.by} made it on ${dayTime(n.at)}.</p>`)}
    <p>If you did not ask for it, change your password and talk to them. <${Button} onClick=${read}>I have read this</${Button}></p></${Notice}>`;
}
