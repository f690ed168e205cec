/** fragment is what follows the # of the address, as it is where it is not well encoded. */
export function fragment() {
  const text = location.hash.slice(1);
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
