// Names as a coach pastes them, one person on a line.

/**
 * readNames reads a person from each line: a name, and an e-mail after a comma,
 * a semicolon or a tab, or in <>. Numbers and dashes before a name, empty lines
 * and lines that were there before are left out. Gives [{ name, email }].
 */
export function readNames(text) {
  const people = [];
  for (const line of text.split(/\r?\n/)) {
    const person = readLine(line.replace(/^\s*(\d+[.)]|[-*•])\s+/, "").trim());
    const known = people.some((p) => p.name === person.name && p.email === person.email);
    if ((person.name || person.email) && !known) people.push(person);
  }
  return people;
}

function readLine(line) {
  const bracket = /^(.*?)[\s,;]*<\s*([^<>]+?)\s*>$/.exec(line);
  if (bracket) return { name: clean(bracket[1]), email: bracket[2] };
  const parts = line.split(/[,;\t]/).map(clean);
  const at = parts.findIndex((p) => p.includes("@"));
  if (at < 0) return { name: clean(line), email: "" };
  return { name: parts.filter((p, i) => p && i !== at).join(", "), email: parts[at] };
}

const clean = (text) => text.trim().replace(/^"(.*)"$/, "$1").replace(/\s+/g, " ");

/** writeName writes a person as readNames reads one. */
export const writeName = ({ name = "", email = "" }) => [name, email].filter(Boolean).join(", ");
