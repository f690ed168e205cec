package web

import (
	"bytes"
	"io/fs"
	"path"
	"strings"
	"testing"
)

func TestWithoutComments(t *testing.T) {
	for _, c := range []struct{ name, body, want string }{
		{"base/a.js", "// What it is.\n//\nconst a = \"//\"; // stays\n  /** one\n   * two */\n  f(/[*]/);\n", "const a = \"//\"; // stays\n  f(/[*]/);\n"},
		{"base/a.css", "/* one\n two */\n.a { b: c } /* stays */\n", ".a { b: c } /* stays */\n"},
		{"vendor/a.js", "// A licence.\n", "// A licence.\n"},
		{"icon.svg", "// a\n", "// a\n"},
	} {
		if got := string(withoutComments(c.name, []byte(c.body))); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

// TestCommentsAreNoText: no line that is left out stands within a template: before
// each, backticks come in pairs.
func TestCommentsAreNoText(t *testing.T) {
	err := fs.WalkDir(embedded, "static", func(name string, d fs.DirEntry, err error) error {
		if err != nil || path.Ext(name) != ".js" || strings.Contains(name, "/vendor/") {
			return err
		}
		body, err := fs.ReadFile(embedded, name)
		ticks, from := 0, 0
		for _, at := range comments[".js"].FindAllIndex(body, -1) {
			ticks += bytes.Count(body[from:at[0]], []byte("`"))
			from = at[1]
			if ticks%2 != 0 {
				t.Errorf("%s: %q stands within a template, or after a lone backtick", name, bytes.TrimSpace(body[at[0]:at[1]]))
				break
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
