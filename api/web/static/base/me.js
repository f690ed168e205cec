// What a person does about themselves now and then: joining, changing their
// settings, moving and leaving.

import * as api from "./api.js";
import * as db from "./db.js";
import { readMe, remember, who } from "./account.js";
import { tell } from "./bus.js";

/** changeMe changes the member's name, time zone or units. */
export async function changeMe(change) {
  const me = await api.patch("/v1/me", change);
  remember({ ...who.peek(), member: me.member });
}

/** accept signs in by an invitation; form is what /v1/invitations/accept takes. */
export async function accept(form) {
  api.accept(await api.post("/v1/invitations/accept", { ...form, keep: "cookie" }, { open: true }));
  await readMe();
}

/** signUp makes an academy; form is what /v1/academies takes. */
export async function signUp(form) {
  api.accept(await api.post("/v1/academies", { ...form, keep: "cookie" }, { open: true }));
  await readMe();
}

/** moveTo moves to another academy of the account. */
export async function moveTo(academy) {
  await api.refresh(academy);
  await readMe();
}

/**
 * signOut ends the sign-in and wipes what the device kept of this member. Ask
 * first whether anything is unsent (outbox.js).
 */
export async function signOut() {
  try {
    await api.post("/v1/sign-out", {}, { open: true });
  } catch (e) {
    // Without a network the cookie stays until it expires, but nothing is left
    // on the device that would use it.
    if (e.status !== 0) console.error(e);
  }
  await db.wipe();
  api.forget();
  await remember(null); // the page that comes next asks who is here
  tell("signed-out");
}
