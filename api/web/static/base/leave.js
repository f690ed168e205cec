// Signing out. On this device it is done at once, with or without a network; the
// service is told as soon as it can be, and until then nobody is signed in here by
// the cookie that is left.

import * as api from "./api.js";
import * as db from "./db.js";
import { remember } from "./account.js";
import { tell } from "./bus.js";
import { wipe } from "./kept.js";
import { signal } from "./ui.js";

/** leaving is true while the service does not know of a sign-out. */
export const leaving = signal(false);

/**
 * signOut wipes what the device keeps, of everybody. Ask first whether anything is
 * unsent (signout.js). The page that comes next tells the service (leave).
 */
export async function signOut() {
  await db.remember({ leaving: true, who: null }); // from here on it holds, whatever happens
  await erase();
}

async function erase() {
  api.forget();
  await remember(null);
  tell("signed-out");
  await wipe();
}

/** leave ends what signOut began: it tells the service, as often as it takes. */
export async function leave() {
  leaving.value = true;
  await erase();
  for (let ms = 2_000; !(await tellOnce()); ms = Math.min(2 * ms, 16_000)) await pause(ms);
}

/** pause waits so long, or until there is a network again. */
function pause(ms) {
  return new Promise((done) => {
    setTimeout(done, ms);
    addEventListener("online", done, { once: true });
  });
}

/** tellOnce tells the service of the sign-out, and gives whether that is done. */
export function tellOnce() {
  return api.inTurn(api.TURN, async () => {
    if (await db.recall("leaving")) {
      try {
        await api.post("/v1/sign-out", {}, { open: true });
      } catch (e) {
        if (!e.known) throw e;
        if (e.status === 0 || e.status === 429 || e.status >= 500) return false;
        // There is nothing to end any more.
      }
      await db.remember({ leaving: null });
    }
    leaving.value = false;
    return true;
  });
}
