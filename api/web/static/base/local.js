// A date and a time of day as a person types them.

import { isoDay, time } from "./units.js";
import { zone } from "./settings.js";

/**
 * fromLocal reads a date and a time of day in a time zone as an instant, in
 * milliseconds. A time that the zone skips or has twice gives one of its
 * neighbours.
 */
export function fromLocal(date, timeOfDay, timeZone = zone.value) {
  const wanted = Date.parse(`${date}T${timeOfDay}:00Z`);
  let guess = wanted;
  for (let i = 0; i < 3; i++) guess += wanted - Date.parse(`${isoDay(guess, timeZone)}T${time(guess, timeZone)}:00Z`);
  return guess;
}
