// Where in the app we are. It is kept in the fragment of the address, so that
// one page is all the network is needed for, and no identity reaches a log:
// #/history/ID?from=DATE is { name: "history", args: ["ID"], query }.

import { signal } from "./ui.js";

/** route is where we are: name, args (an array of text) and query. */
export const route = signal(read());

addEventListener("hashchange", () => (route.value = read()));

function read() {
  const [path, query = ""] = location.hash.replace(/^#\/?/, "").split("?");
  const [name, ...args] = path.split("/").map(safeDecode);
  return { name, args, query: new URLSearchParams(query) };
}

function safeDecode(text) {
  try {
    return decodeURIComponent(text);
  } catch {
    return "";
  }
}

/** to gives the address of a place: to("history", id) is "#/history/ID". */
export function to(name, ...args) {
  return `#/${[name, ...args].map(encodeURIComponent).join("/")}`;
}

/** go moves to an address made by to; replace leaves no trace to go back to. */
export function go(address, { replace = false } = {}) {
  if (replace) location.replace(address);
  else location.hash = address;
}
