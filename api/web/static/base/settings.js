// What this device is set to. Units are the member's own and come from the
// service (account.js); the rest belongs to the device and stays on it.

import { who } from "./account.js";
import { computed, signal } from "./ui.js";

const KEY = "fringework.settings";

const defaults = { sounds: true, haptics: true, dates: "words" };

/**
 * settings is { sounds, haptics, dates, cautioned, shown }; dates are in "words" or
 * "numbers", cautioned and shown are true once the cautions and the first steps were.
 */
export const settings = signal({ ...defaults, ...stored() });

function stored() {
  try {
    return JSON.parse(localStorage.getItem(KEY)) ?? {};
  } catch {
    return {};
  }
}

/** set changes some settings. */
export function set(change) {
  settings.value = { ...settings.value, ...change };
  localStorage.setItem(KEY, JSON.stringify(settings.value));
}

addEventListener("storage", (e) => e.key === KEY && (settings.value = { ...defaults, ...stored() }));

/** units is "feet" (and yards) or "metres". */
export const units = computed(() => who.value?.member?.units ?? "feet");

/** phoneZone is the time zone of the device. */
export const phoneZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/** zone is the member's time zone, or the device's until that is known. */
export const zone = computed(() => who.value?.member?.time_zone ?? phoneZone());
