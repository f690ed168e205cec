package web

import (
	"strings"
	"testing"
)

func TestWithoutComments(t *testing.T) {
	for was, want := range map[string]string{
		"// why\nconst a = 1; // kept\n":                      "\nconst a = 1; // kept\n",
		"/** One line. */\nf();\n":                            "\nf();\n",
		"  /**\n   * Two.\n   * a*b */\n  f();\n":             "\n\n\n  f();\n",
		"/**\n * Not the end: */ yet.\n\n * still\n */\nf();": "\n\n\n\n\nf();",
		"const at = `\nhttps://x\n/* css */`;\n":              "const at = `\nhttps://x\n/* css */`;\n",
		"":                                                    "",
	} {
		if got := string(withoutComments([]byte(was))); got != want {
			t.Errorf("%q: got %q, want %q", was, got, want)
		}
	}
}

// TestServedModules: our modules are served without their comments, line for line,
// and vendored ones as they are (their sums are held elsewhere).
func TestServedModules(t *testing.T) {
	s, err := load()
	if err != nil {
		t.Fatal(err)
	}
	for name, f := range s.assets {
		if !strings.HasSuffix(name, ".js") || strings.HasPrefix(name, "vendor/") {
			continue
		}
		source, err := embedded.ReadFile("static/" + name)
		if err != nil {
			t.Fatal(err)
		}
		was, is := strings.Split(string(source), "\n"), strings.Split(string(f.body), "\n")
		if len(was) != len(is) || was[0] == "" || is[0] != "" {
			t.Errorf("%s: %d lines, served as %d that begin with %q; want as many, without the first, which says what it is", name, len(was), len(is), is[0])
		}
	}
}
