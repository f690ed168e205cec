// Whether the window is as narrow as a phone, where what is open on a laptop is
// folded. Styles have the same width.

import { useEffect, useState } from "../base/ui.js";

const narrow = matchMedia("(max-width: 40rem)");

/** useNarrow tells whether the window is narrow, and draws again when that changes. */
export function useNarrow() {
  const [is, set] = useState(narrow.matches);
  useEffect(() => {
    const look = () => set(narrow.matches);
    narrow.addEventListener("change", look);
    return () => narrow.removeEventListener("change", look);
  }, []);
  return is;
}
