// Names as a coach pastes them, one person on a line.

/**
 * readNames reads people from lines: a name, and an e-mail after a comma, a
 * semicolon or a tab, or in <>. Several people on one line are parted by semicolons,
 * by tabs or, if each has a first and a last name, by commas. Numbers and dashes
 * before a name, empty lines and people who were there before are left out. Gives
 * [{ name, email }].
 */
export function readNames(text) {
  const people = [];
  for (const line of text.split(/\r?\n/)) {
    for (const person of readLine(line.replace(/^\s*(\d+[.)]|[-*•])\s+/, ""))) {
      const known = people.some((p) => p.name === person.name && p.email === person.email);
      if ((person.name || person.email) && !known) people.push(person);
    }
  }
  return people;
}

function readLine(line) {
  const parts = line.split(/[,;\t]/).map(clean).filter(Boolean);
  const mails = parts.filter((p) => p.includes("@")).length;
  if (mails > 1) return pairs(parts);
  if (mails === 1) return [one(line)];
  if (line.includes(";")) return line.split(";").flatMap(readLine);
  // Two cells of one word each are the first and the last name of one person.
  if (parts.length === 2 && /\t/.test(line.trim()) && parts.every(single)) return [{ name: parts.join(" "), email: "" }];
  if (line.trim().includes("\t") || (parts.length > 1 && !parts.some(single))) return parts.map((name) => ({ name, email: "" }));
  return [{ name: clean(line), email: "" }];
}

/** pairs reads people of whom several have an e-mail, which follows the name. */
function pairs(parts) {
  const people = [];
  let names = [];
  for (const part of parts) {
    if (part.includes("@")) {
      people.push(one([...names, part].join(", ")));
      names = [];
    } else names.push(part);
  }
  return [...people, ...names.map((name) => ({ name, email: "" }))];
}

/** one reads a person with an e-mail. */
function one(line) {
  const bracket = /^(.*?)[\s,;]*<\s*([^<>]+?)\s*>$/.exec(line.trim());
  if (bracket) return { name: clean(bracket[1]), email: bracket[2] };
  const parts = line.split(/[,;\t]/).map(clean).filter(Boolean);
  const at = parts.findIndex((p) => p.includes("@"));
  return { name: parts.filter((_, i) => i !== at).join(line.includes("\t") ? " " : ", "), email: parts[at] };
}

const single = (name) => !name.includes(" ");

const clean = (text) => text.trim().replace(/^"(.*)"$/, "$1").replace(/\s+/g, " ");

/** writeName writes a person as readNames reads one. */
export const writeName = ({ name = "", email = "" }) => [name, email].filter(Boolean).join(", ");
