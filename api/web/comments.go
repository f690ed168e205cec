package web

import "bytes"

// withoutComments blanks the lines of a module of ours that are comments alone,
// "//" to the end or "/**" to "*/": a quarter of what it weighs compressed. Lines keep
// their numbers, for the sake of whoever reads an error.
func withoutComments(module []byte) []byte {
	lines := bytes.Split(module, []byte("\n"))
	inside := false
	for i, line := range lines {
		text := bytes.TrimSpace(line)
		begins := bytes.HasPrefix(text, []byte("/**"))
		if inside || begins || bytes.HasPrefix(text, []byte("//")) {
			lines[i] = nil
		}
		inside = (inside || begins) && !bytes.HasSuffix(text, []byte("*/"))
	}
	return bytes.Join(lines, []byte("\n"))
}
