//go:build unix

package guide_test

import (
	"maps"
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
	missing := maps.Clone(values)
	for line := range strings.Lines(block) {
		m := assignment.FindStringSubmatch(strings.TrimSpace(line))
		value, ok := "", false
		if m != nil {
			value, ok = values[m[1]]
		}
		if !ok {
			t.Fatalf("the guide sets %q among the variables; the tests know %v", line, values)
		}
		delete(missing, m[1])
		out.WriteString("export " + m[1] + "='" + value + "'\n")
	}
	if len(missing) != 0 {
		t.Fatalf("the guide does not set %v:\n%s", missing, block)
	}
	return out.String()
}

// installed does the block of the guide that makes the secrets of the containers, in a
// folder. What needs Docker or another user is left out, but for running the program.
func (m machine) installed(t *testing.T, folder string) {
	t.Helper()
	blocks := section(t, "### In containers")
	const printed = "cd cmd/fringework/deploy\n"
	if !strings.HasPrefix(blocks[0], printed) {
		t.Fatalf("the containers are set up by\n%s\nwant it to begin with %s", blocks[0], printed)
	}
	m.must(t, nil, "bash", "-c", `set -euo pipefail
sudo() { :; }
docker() {
	[ "$1" = run ] || return 0
	while [ "$1" != fringework ]; do shift; done
	"$@"
}
cd "`+folder+`"
`+strings.TrimPrefix(blocks[0], printed))
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

// Links inside the guide lead to its sections.
func TestGuideLinksLead(t *testing.T) {
	text := outsideBlocks(read(t, deploy+"OPERATING.md"))
	sections := map[string]bool{}
	for _, title := range regexp.MustCompile(`(?m)^#+ (.*)$`).FindAllStringSubmatch(text, -1) {
		sections[strings.ReplaceAll(regexp.MustCompile(`[^a-z0-9 -]`).ReplaceAllString(strings.ToLower(title[1]), ""), " ", "-")] = true
	}
	links := regexp.MustCompile(`\]\(#([^)]*)\)`).FindAllStringSubmatch(text, -1)
	if len(links) < 10 {
		t.Errorf("the guide has %d links to its own sections", len(links))
	}
	for _, link := range links {
		if !sections[link[1]] {
			t.Errorf("no section is called #%s", link[1])
		}
	}
}
