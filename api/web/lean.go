package web

import (
	"bytes"
	"path"
	"regexp"
	"strings"
)

// lean leaves out of our own modules and styles what is for people alone, lines
// of comment, since a phone on the green may have a poor signal. It is no
// minifier: everything else stays as it was written, and so does what is
// vendored. A comment beside code stays, too, which spares this from having to
// know strings from comments.
func lean(name string, body []byte) []byte {
	switch {
	case strings.HasPrefix(name, "vendor/"):
		return body
	case path.Ext(name) == ".js":
		return withoutCommentLines(body)
	case path.Ext(name) == ".css":
		return cssComment.ReplaceAll(body, nil)
	}
	return body
}

// cssComment is a comment in a style, with the empty line after it.
var cssComment = regexp.MustCompile(`(?s)/\*.*?\*/\n?\n?`)

// withoutCommentLines drops the lines of a module that are comment and nothing
// else, and empty ones. A line of a template literal must not begin with // or
// /*; a test holds the modules to that.
func withoutCommentLines(body []byte) []byte {
	var out bytes.Buffer
	inBlock := false
	for line := range bytes.Lines(body) {
		text := bytes.TrimSpace(line)
		switch {
		case inBlock:
			inBlock = !bytes.HasSuffix(text, []byte("*/"))
		case bytes.HasPrefix(text, []byte("/*")):
			inBlock = !bytes.HasSuffix(text, []byte("*/"))
		case len(text) > 0 && !bytes.HasPrefix(text, []byte("//")):
			out.Write(line)
		}
	}
	return out.Bytes()
}
