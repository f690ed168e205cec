/** hash32 is the hash FNV-1a of 32 bits of a text, as the service has it. */
export function hash32(text) {
  let x = 0x811c9dc5;
  for (const byte of new TextEncoder().encode(text)) x = Math.imul(x ^ byte, 0x01000193);
  return x >>> 0;
}
