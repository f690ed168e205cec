// The service worker and new versions of the pages. A page that has just opened
// takes a newer version at once; one in use offers it, since somebody may be
// typing or counting.

import { signal } from "./ui.js";

/** newer is true when a newer version is ready; useNewer takes it. */
export const newer = signal(false);

let registration = null;
let asked = false;

export async function watch() {
  if (!navigator.serviceWorker) return;
  const opened = Date.now();
  const controlled = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (asked) location.reload();
    else if (controlled) newer.value = true; // another tab took it
  });
  try {
    registration = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
  } catch {
    return; // no network on the very first visit; the next one tries again
  }
  const ready = () => {
    if (!registration.waiting || !navigator.serviceWorker.controller) return;
    if (Date.now() - opened < 2_000) useNewer();
    else newer.value = true;
  };
  ready();
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", ready);
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") registration.update().catch(() => {});
  });
}

/** useNewer loads the newer version; everything is stored already. */
export function useNewer() {
  if (!registration?.waiting) return location.reload();
  asked = true;
  registration.waiting.postMessage("take over");
}
