package integration_test

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

var shellBlock = regexp.MustCompile("(?s)```sh\n(.*?)```")

// walk gives the shell blocks of the README's walk and its text.
func walk(t *testing.T) (blocks []string, text string) {
	t.Helper()
	const title = "## A first week, with curl\n"
	_, rest, ok := strings.Cut(readFile(t, "../README.md"), title)
	if !ok {
		t.Fatalf("README.md has no section %q", title)
	}
	text, _, _ = strings.Cut(rest, "\n## ")
	for _, m := range shellBlock.FindAllStringSubmatch(text, -1) {
		blocks = append(blocks, m[1])
	}
	return blocks, text
}

// steps are the walk's numbered steps; the blocks after them are more to try.
const steps = 7

// The walk is executed as it is printed, but for the server's address and for
// the program being built already: a stranger who follows it gets what it says.
func testWalk(t *testing.T, p program, e engine) {
	blocks, text := walk(t)
	if len(blocks) < 2+steps || !strings.Contains(text, fmt.Sprintf("\n**%d. ", steps)) {
		t.Fatalf("the walk has %d shell blocks; want starting, setting up and %d steps", len(blocks), steps)
	}
	if got := strings.TrimSpace(blocks[0]); got != "go run ./cmd/fringework serve" {
		t.Fatalf("the walk starts the service by %q", got)
	}
	dir := t.TempDir()
	var flags []string
	database := "sqlite:fringework.db" // the default
	if e.name != "SQLite" {
		database, flags = e.fresh(t), []string{"--signing-keys-file", newKeys(t)}
	}
	server := p.serve(t, dir, database, flags...)
	const printed = "API=http://127.0.0.1:8080\n"
	if !strings.HasPrefix(blocks[1], printed) {
		t.Fatalf("the walk sets up\n%s\nwant it to begin with %s", blocks[1], printed)
	}
	script := onTheDay(t, dir) + "set -euo pipefail\nAPI=" + server.url + "\n" + strings.TrimPrefix(blocks[1], printed)
	for _, block := range append(blocks[2:2+steps:2+steps], signInLine(t, text), unbalanced) {
		script += "echo '=== '\n" + block + "\n"
	}
	for _, block := range blocks[2+steps:] {
		script += "echo '=== '\n" + strings.ReplaceAll(block, "go run ./cmd/fringework", string(p)) + "\n"
	}
	said := strings.Split(shell(t, dir, script), "=== ")
	if !strings.Contains(server.log.String(), server.url+"/v1/academies") {
		t.Errorf("the first start does not say what to do next:\n%s", server.log)
	}
	checkWalk(t, said)
	for _, more := range said[3+steps:] {
		var answer map[string]any
		if values(t, more, &answer); len(answer) == 0 || answer["code"] != nil {
			t.Errorf("a further command of the walk is answered %s", more)
		}
	}
}

// onTheDay makes the two programs that the walk asks for the time go by the clock
// of the tests: date for the day, and jq, whose file at home is read before what
// it is told, for the instant.
func onTheDay(t *testing.T, home string) string {
	t.Helper()
	now := clock.Now()
	if err := os.WriteFile(filepath.Join(home, ".jq"), fmt.Appendf(nil, "def now: %d;", now.Unix()), 0o600); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("export HOME=%s\ndate() { [ \"$*\" = +%%F ] && echo %s; }\n", home, now.Format(time.DateOnly))
}

// checkWalk looks at what each step wrote, and at what the two commands did that
// the walk has in its text.
func checkWalk(t *testing.T, said []string) {
	t.Helper()
	var version struct{ Number int }
	values(t, said[3], &version)
	if version.Number != 1 {
		t.Errorf("step 3 published %s; want version 1", said[3])
	}
	var now struct {
		Work []struct{ Position struct{ Phase string } }
	}
	values(t, said[5], &now)
	if len(now.Work) != 1 {
		t.Errorf("step 5 shows %s; want the programme", said[5])
	}
	checkWalkSession(t, said[6])
	checkWalkReading(t, said[7])
	var again struct {
		AccessToken string `json:"access_token"`
	}
	if values(t, said[8], &again); again.AccessToken == "" {
		t.Errorf("signing in again as printed gave %s", said[8])
	}
	var refused struct{ Errors []struct{ Detail string } }
	values(t, said[9], &refused)
	if len(refused.Errors) != 1 || refused.Errors[0].Detail != "week 1, plan 1 (After work): shares sum to 95; add 5" {
		t.Errorf("a share of 20 is answered %s; want the week, the plan, and to add 5", said[9])
	}
}

// unbalanced does what the walk says of changing a share and publishing again.
const unbalanced = `
curl -sS "$API/v1/programmes/$PROGRAMME" -H "Authorization: Bearer $OWNER" | jq '.draft | .weeks[0].plans[0].blocks[0].share = 20' |
  curl -sS -X PUT "$API/v1/programmes/$PROGRAMME" -H "Authorization: Bearer $OWNER" -H 'Content-Type: application/json' -d @- >/dev/null
post /v1/programmes/$PROGRAMME/versions "$OWNER" ''
`

// signInLine is the command that the walk gives in its text for signing in.
func signInLine(t *testing.T, text string) string {
	t.Helper()
	m := regexp.MustCompile("`(curl [^`]*/v1/sign-in [^`]*)`").FindStringSubmatch(text)
	if m == nil {
		t.Fatal("the walk has no command for signing in")
	}
	return m[1]
}

// values reads JSON values from what a step wrote after its number.
func values(t *testing.T, step string, into ...any) {
	t.Helper()
	_, text, _ := strings.Cut(step, "\n")
	dec := json.NewDecoder(strings.NewReader(text))
	for _, v := range into {
		if err := dec.Decode(v); err != nil {
			t.Fatalf("%v in %s", err, step)
		}
	}
	if dec.More() {
		rest, _ := io.ReadAll(dec.Buffered())
		t.Errorf("more than expected: %s", rest)
	}
}

// checkWalkSession wants the five in a row passed at ball 10.
func checkWalkSession(t *testing.T, step string) {
	t.Helper()
	var session struct {
		Revision   int
		Milestones []struct {
			Block, Ball int
			Tier        struct{ Run int }
		}
		Notices []any
	}
	values(t, step, &session)
	if m := session.Milestones; session.Revision != 1 || len(session.Notices) != 0 || len(m) != 1 || m[0].Ball != 10 || m[0].Block != 1 || m[0].Tier.Run != 5 {
		t.Errorf("step 6 made %s; want five in a row at ball 10 of block 1, and no notices", step)
	}
}

// checkWalkReading wants the tier on the dashboard, and with the key.
func checkWalkReading(t *testing.T, step string) {
	t.Helper()
	var row struct {
		Student   string
		Attention []struct{ Reason string }
		Skills    []struct {
			Name        string
			Held, Tiers int
			BestRun     struct{ Length int } `json:"best_run"`
		}
	}
	var key struct {
		Name       string
		Milestones []struct{ Ball int }
	}
	values(t, step, &row, &key)
	if row.Student != "Milo Ferrant" || len(row.Skills) != 1 || row.Skills[0].Held != 1 || row.Skills[0].Tiers != 2 || len(row.Attention) != 1 || row.Attention[0].Reason != "ending" {
		t.Errorf("the dashboard shows %+v; want Milo Ferrant with one of two tiers, whose one week ends", row)
	}
	if key.Name != "Pitch" || len(key.Milestones) != 1 || key.Milestones[0].Ball != 10 {
		t.Errorf("the key reads %+v; want the milestone at ball 10", key)
	}
}
