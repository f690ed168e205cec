// The time zone that a session is kept in.

import { phoneZone, zone } from "../base/settings.js";
import { Field, html } from "../base/ui.js";

/** The zones one is likely to want stand first: home, where the phone is, and the one that is set. */
function zones(set) {
  const likely = [zone.value, phoneZone(), set].filter(Boolean);
  return [...new Set([...likely, ...(Intl.supportedValuesOf?.("timeZone") ?? [])])];
}

/** ZoneField chooses a time zone by its name. */
export function ZoneField({ label = "Time zone", hint, value, onChange }) {
  return html`<${Field} as="select" label=${label} hint=${hint} value=${value} onChange=${(e) => onChange(e.currentTarget.value)}>
    ${zones(value).map((name) => html`<option value=${name} selected=${name === value}>${name.replaceAll("_", " ")}${name === phoneZone() ? " (this phone)" : ""}</option>`)}
  </${Field}>`;
}
