// The clubs of a drill, with names to choose from.

import { html, useId } from "../base/ui.js";
import { Parsed } from "./edit.js";
import { parseWords, writeWords } from "./lengths.js";

/** CLUBS are names that every student's own club is found by; the first are fitted to the clubs that each has. */
const CLUBS = [
  "low wedge", "middle wedge", "high wedge", "pitching wedge", "gap wedge", "sand wedge", "lob wedge", "9-iron", "8-iron", "7-iron", "6-iron", "putter",
];

/** clubLists complete a list of clubs, the last of which may be half written, by each club that is not in it. */
export function clubLists(clubs) {
  const whole = clubs.length > 0 && !CLUBS.includes(clubs.at(-1)) && CLUBS.some((c) => c.startsWith(clubs.at(-1).toLowerCase())) ? clubs.slice(0, -1) : clubs;
  return CLUBS.filter((c) => !whole.includes(c)).map((c) => writeWords([...whole, c]));
}

/** Clubs is a field for a list of clubs; it offers the usual names as they are typed. */
export function Clubs({ value, ...rest }) {
  const id = useId();
  return html`<${Parsed} label="Clubs" hint="Separate with commas. Low, middle or high wedge, or a loft such as 54°, becomes each student's own club." list=${id} value=${value} parse=${parseWords} write=${writeWords} ...${rest} />
    <datalist id=${id}>${clubLists(value).map((text) => html`<option value=${text}></option>`)}</datalist>`;
}
