// What a person does about themselves now and then: joining, changing their
// settings, and moving. Leaving is in leave.js.

import * as api from "./api.js";
import { enter, readMe, remember, who } from "./account.js";
import { flush } from "./outbox.js";

/** changeMe changes the member's name, time zone or units. */
export async function changeMe(change) {
  const me = await api.patch("/v1/me", change);
  remember({ ...who.peek(), member: me.member });
}

/** accept signs in by an invitation; form is what /v1/invitations/accept takes. */
export const accept = (form) => enter(() => api.post("/v1/invitations/accept", { ...form, keep: "cookie" }, { open: true }));

/** signUp makes an academy; form is what /v1/academies takes. */
export const signUp = (form) => enter(() => api.post("/v1/academies", { ...form, keep: "cookie" }, { open: true }));

/** moveTo moves to another academy of the account, and sends first what is unsent in this one. */
export async function moveTo(academy) {
  await flush();
  await api.refresh(academy);
  await readMe();
}
