package web

import (
	"path"
	"regexp"
	"strings"
)

// comments are whole lines of comment, in modules and in styles.
var comments = map[string]*regexp.Regexp{
	".js":  regexp.MustCompile(`(?m)^[ \t]*//.*\n|^[ \t]*/\*(?s:.*?)\*/[ \t]*\n`),
	".css": regexp.MustCompile(`(?m)^[ \t]*/\*(?s:.*?)\*/[ \t]*\n`),
}

// withoutComments leaves out the lines of comment in a module or a style of ours,
// a fifth of what a phone would load. A line of a template that begins like a
// comment would be left out, too; a test finds it.
func withoutComments(name string, body []byte) []byte {
	if c := comments[path.Ext(name)]; c != nil && !strings.HasPrefix(name, "vendor/") {
		return c.ReplaceAll(body, nil)
	}
	return body
}
