// What is no JSON: files that are sent, and files that come.

import * as api from "./api.js";

/** reached sends a request of its own form, and gives what read makes of the answer. */
export async function reached(path, init, read) {
  const headers = { ...init.headers, ...(await api.bearer()) };
  return api.timed(async (signal) => {
    const response = await fetch(path, { cache: "no-store", credentials: "same-origin", ...init, headers, signal });
    if (response.ok) return read(response);
    throw new api.Problem(response.status, await response.json().catch(() => ({})));
  }, init);
}
