// What tabs of the same browser tell each other.

const channel = new BroadcastChannel("fringework");
const listeners = new Map();

channel.addEventListener("message", ({ data }) => hear(data.topic, data.detail));

function hear(topic, detail) {
  for (const fn of listeners.get(topic) ?? []) fn(detail);
}

/** tell tells the other tabs; detail must be plain data. */
export function tell(topic, detail) {
  channel.postMessage({ topic, detail });
}

/** tellAll tells the other tabs and this one. */
export function tellAll(topic, detail) {
  tell(topic, detail);
  hear(topic, detail);
}

/** onTold calls fn with the detail of each; it gives a function that stops it. */
export function onTold(topic, fn) {
  const fns = listeners.get(topic) ?? new Set();
  listeners.set(topic, fns.add(fn));
  return () => fns.delete(fn);
}
