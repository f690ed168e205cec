// Passkeys, where the browser and the service have them.

import { enter } from "./account.js";
import * as api from "./api.js";

/** able says whether this browser can do what the service asks of it. */
export const able = () => Boolean(window.PublicKeyCredential?.parseRequestOptionsFromJSON);

/** Refused by the person or by the device, in words. */
function said(e) {
  if (e.known) return e;
  const cancelled = ["NotAllowedError", "AbortError"].includes(e.name);
  if (!cancelled && e.name !== "InvalidStateError") console.error(e);
  const detail = cancelled ? "No passkey was used. Try again, or choose another way." : "This device has a passkey for this account already.";
  return Object.assign(new Error(detail), { known: true, status: 0, code: "passkey", detail, errors: [] });
}

/** signInByPasskey signs in with any passkey that the device has. */
export async function signInByPasskey() {
  const { ticket, options } = await api.post("/v1/sign-in/passkey/begin", undefined, { open: true });
  let credential;
  try {
    credential = await navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(options.publicKey) });
  } catch (e) {
    throw said(e);
  }
  return enter(() => api.post("/v1/sign-in/passkey", { ticket, credential: credential.toJSON(), keep: "cookie" }, { open: true }));
}

/** addPasskey makes a passkey, and gives the service's answer. */
export async function addPasskey(name, password) {
  const { ticket, options } = await api.post("/v1/me/passkeys/begin", { password });
  let credential;
  try {
    credential = await navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(options.publicKey) });
  } catch (e) {
    throw said(e);
  }
  return api.post("/v1/me/passkeys", { ticket, name, credential: credential.toJSON() });
}
