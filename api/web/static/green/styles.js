// The styles of what is not loaded at first.

import { Unreachable } from "../base/api.js";
import { useEffect, useState } from "../base/ui.js";

let styled = null; // promise of them

/** styles loads them once. */
export function styles() {
  styled ??= Promise.all(["./rest.css", "../base/later.css"].map(style)).catch((e) => {
    styled = null;
    throw e;
  });
  return styled;
}

function style(name) {
  return new Promise((onload, fail) => {
    const onerror = () => fail(new Unreachable());
    document.head.append(Object.assign(document.createElement("link"), { rel: "stylesheet", href: new URL(name, import.meta.url), onload, onerror }));
  });
}

/** useStyles reports whether they are there. */
export function useStyles() {
  const [there, set] = useState(false);
  useEffect(() => void styles().then(() => set(true), () => {}), []);
  return there;
}
