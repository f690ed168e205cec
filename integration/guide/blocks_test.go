//go:build unix

package guide_test

import (
	"regexp"
	"strings"
	"testing"
)

var shellBlock = regexp.MustCompile("(?s)```sh\n(.*?)```")

// section gives the commands of a section of the guide, block by block.
func section(t *testing.T, title string) (blocks []string) {
	t.Helper()
	_, rest, ok := strings.Cut(read(t, deploy+"OPERATING.md"), "\n"+title+"\n")
	if !ok {
		t.Fatalf("OPERATING.md has no section %q", title)
	}
	text := rest
	if end := regexp.MustCompile(`(?m)^#`).FindStringIndex(outsideBlocks(rest)); end != nil {
		text = rest[:end[0]]
	}
	for _, m := range shellBlock.FindAllStringSubmatch(text, -1) {
		blocks = append(blocks, m[1])
	}
	return blocks
}

// outsideBlocks blanks what is in blocks, where # begins a comment and no title.
func outsideBlocks(text string) string {
	return shellBlock.ReplaceAllStringFunc(text, func(block string) string { return strings.Repeat(" ", len(block)) })
}

var assignment = regexp.MustCompile(`^([A-Z]+)=\S.*$`)

// with replaces the values of a block of variables, which must be those and no others.
func with(t *testing.T, block string, values map[string]string) string {
	t.Helper()
	var out strings.Builder
	left := len(values)
	for line := range strings.Lines(block) {
		m := assignment.FindStringSubmatch(strings.TrimSpace(line))
		value, ok := "", false
		if m != nil {
			value, ok = values[m[1]]
		}
		if !ok {
			t.Fatalf("the guide sets %q among the variables; the tests know %v", line, values)
		}
		left--
		out.WriteString("export " + m[1] + "='" + value + "'\n")
	}
	if left != 0 {
		t.Fatalf("the guide sets other variables than %v:\n%s", values, block)
	}
	return out.String()
}

// session is somebody at a terminal who follows the guide: what a block sets, the later
// ones have.
type session struct {
	machine
	set string
}

// do runs a block as it is printed. The first command that fails ends it.
func (s *session) do(t *testing.T, block string) string {
	t.Helper()
	code, said := s.run(t, nil, "bash", "-c", "set -euo pipefail\n"+s.set+block)
	if code != 0 {
		t.Fatalf("exit code %d of\n%s\nit says\n%s", code, block, said)
	}
	t.Logf("%s", said)
	return said
}
