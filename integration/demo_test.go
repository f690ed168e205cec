package integration_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/cmd/fringework/app"
	"fringework/domain/advice"
	"fringework/integration/postgres"
)

// The same seed gives the same dashboard, on either engine, whether the demo
// exits or goes on serving.
func TestDemo(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "demo")
	d := serveDemo(t, "demo", "--dir", dir, "--listen", "127.0.0.1:0")
	once := make(chan string)
	for _, flags := range [][]string{nil, {"--database", postgres.Database(t)}} {
		go func() {
			code, out, errs := run(t, "", append([]string{"demo", "--once"}, flags...)...)
			if code != 0 {
				t.Errorf("demo --once %v ended with %d\n%s", flags, code, errs)
			}
			once <- out
		}()
	}
	first := <-once
	checkDemo(t, first)
	for name, text := range map[string]string{"again": <-once, "served": d.dashboard(t)} {
		if text != first {
			t.Errorf("the dashboard %s is\n%s\nand was\n%s", name, text, first)
		}
	}
	t.Run("what it prints to try works", func(t *testing.T) { d.tryWays(t) })
	t.Run("every reason can be acted on", func(t *testing.T) { d.actOnReasons(t) })
	t.Run("a named directory is never written over", func(t *testing.T) {
		if code := d.stop(); code != 0 {
			t.Errorf("the demo ended with %d; want 0\n%s", code, d.errs.String())
		}
		code, _, refusal := run(t, "", "demo", "--once", "--dir", dir)
		if code != 1 || !strings.Contains(refusal, "name a fresh directory") {
			t.Errorf("a second demo in the same directory: %d %s; want it refused", code, refusal)
		}
	})
}

// served is a demo that goes on serving.
type served struct {
	out, errs logBook
	cancel    context.CancelFunc
	exit      chan int
}

func serveDemo(t *testing.T, args ...string) *served {
	ctx, cancel := context.WithCancel(context.Background())
	d := &served{cancel: cancel, exit: make(chan int, 1)}
	go func() { d.exit <- app.Run(ctx, clocked(args...), app.Streams{Out: &d.out, Err: &d.errs}) }()
	t.Cleanup(func() { d.stop() })
	return d
}

// stop ends it and gives its exit code; it may be called again.
func (d *served) stop() int {
	d.cancel()
	code := <-d.exit
	d.exit <- code
	return code
}

const signInAs = "\nSign in at "

// dashboard waits until the demo serves and gives the dashboard that it printed.
func (d *served) dashboard(t *testing.T) string {
	t.Helper()
	for !strings.Contains(d.out.String(), "until you stop it") {
		select {
		case code := <-d.exit:
			d.exit <- code
			t.Fatalf("the demo ended with %d\n%s", code, d.errs.String())
		case <-time.After(20 * time.Millisecond):
		}
	}
	dashboard, _, ok := strings.Cut(d.out.String(), signInAs)
	if !ok {
		t.Fatalf("the demo does not say how to sign in:\n%s", d.out.String())
	}
	return dashboard
}

// tryWays runs the commands that the demo prints, as they are printed.
func (d *served) tryWays(t *testing.T) {
	_, ways, _ := strings.Cut(d.out.String(), "Or with curl:\n")
	script, commands := "set -euo pipefail\n", 0
	for line := range strings.Lines(ways) {
		command, ok := strings.CutPrefix(line, "  ")
		if !ok {
			continue
		}
		if strings.HasPrefix(command, "curl") {
			commands++
			command = strings.TrimSuffix(command, "\n") + "; echo\n"
		}
		script += command
	}
	if commands < 4 {
		t.Errorf("the demo prints %d commands to try; want the dashboard, a student's progress and what to do now, and a key\n%s", commands, ways)
	}
	for text := range strings.Lines(shell(t, t.TempDir(), script)) {
		var answer map[string]any
		if strings.TrimSpace(text) == "" {
			continue
		}
		if err := json.Unmarshal([]byte(text), &answer); err != nil || answer["code"] != nil || answer["error"] != nil {
			t.Errorf("a command that the demo prints was answered %s", text)
		}
	}
}

// TestDemoSizes: the demo may have more students, who practise for longer; other
// sizes are refused.
func TestDemoSizes(t *testing.T) {
	t.Parallel()
	code, text, errs := run(t, "", "demo", "--once", "--students", "21", "--weeks", "15")
	if code != 0 {
		t.Fatalf("the demo ended with %d\n%s", code, errs)
	}
	lines := readDemo(text)
	if len(lines) != 21 || !strings.Contains(errs, "a programme of 13 weeks") {
		t.Errorf("the table has %d students, want 21 with 13 weeks of a programme\n%s\n%s", len(lines), errs, text)
	}
	wantReasons(t, text)
	for _, args := range [][]string{{"--students", "11"}, {"--students", "201"}, {"--weeks", "7"}, {"--weeks", "105"}} {
		if code, _, errs := run(t, "", append([]string{"demo", "--once"}, args...)...); code != 2 || !strings.Contains(errs, "not "+args[1]) {
			t.Errorf("demo %v: %d %q; want 2 and what there may be", args, code, errs)
		}
	}
}

// checkDemo wants the dozen, among them those who climb and one for every reason
// to look at a student.
func checkDemo(t *testing.T, text string) {
	t.Helper()
	lines := readDemo(text)
	if len(lines) != 12 || !strings.Contains(text, "3 of 3") {
		t.Errorf("the table has %d students; want a dozen, and some who passed all steps of a skill\n%s", len(lines), text)
	}
	wantReasons(t, text)
}

// readDemo gives the lines of the demo's table by student.
func readDemo(text string) map[string]string {
	lines := map[string]string{}
	name := ""
	for line := range strings.Lines(text) {
		if fields := strings.Split(line, "  "); len(fields) > 5 && fields[0] != "" && fields[0] != "STUDENT" {
			name = fields[0]
		}
		if name != "" && strings.Contains(line, " of ") && strings.Contains(line, "%") {
			lines[name] += line
		}
	}
	return lines
}

// wantReasons wants for every reason the student whom the demo has for it. Who has
// not started joined a week ago at least, but in a demo all join on the day; who
// has no coach is told to the owner alone.
func wantReasons(t *testing.T, text string) {
	t.Helper()
	students := map[advice.Reason]string{advice.Lapsed: "Femi Castellan", advice.Slipping: "Cosima Hale", advice.Flat: "Edda Marchetti",
		advice.Overreached: "Kaisa Drummond", advice.Lopsided: "Gwen Aldous", advice.Outgrown: "Ilse Thornton",
		advice.Ending: "Dario Lindqvist", advice.Unplanned: "Nell Abernathy"}
	for _, reason := range advice.Reasons() {
		name, label := students[reason], reason.Label()
		if reason == advice.Unstarted || reason == advice.Uncoached {
			continue
		}
		told := regexp.MustCompile("(?m)^  " + name + ": (?:[A-Z].*, )?" + strings.ToLower(label[:1]) + label[1:] + `\.$`)
		if name == "" || !told.MatchString(text) {
			t.Errorf("%s is for %q and is not told of so in\n%s", name, label, text)
		}
	}
}

// actOnReasons does of every reason on the demo's dashboard what it offers first, as
// one press does: the student's phone shows the change, and undone it is gone. The
// published version stays byte for byte the same.
func (d *served) actOnReasons(t *testing.T) {
	url := regexp.MustCompile(`http://[0-9.:]+`).FindString(d.out.String())
	coach := (&service{url: url, transport: &http.Transport{}}).caller(t)
	var signed api.SignedIn
	coach.post("/v1/sign-in", object{"email": "ruben@larkmoor.example", "password": "larkmoor-demo"}).want(200).into(&signed)
	coach = coach.as(signed.AccessToken)
	acted := map[string]int{}
	for _, row := range read[api.Dashboard](coach, "/v1/dashboard").Items {
		for _, reason := range row.Attention {
			if len(reason.Actions) == 0 {
				continue
			}
			acted[reason.Reason]++
			version := fmt.Sprintf("/v1/programmes/%s/versions/%d", row.Assignments[0].ProgrammeID, row.Assignments[0].Version)
			plays := func() (string, string) {
				now := read[api.Now](coach, "/v1/students/"+string(row.Student.ID)+"/now")
				text, err := json.Marshal([]any{now.Work, now.Skills})
				if err != nil {
					t.Fatal(err)
				}
				return string(text), string(coach.get(version).want(200).body)
			}
			before, published := plays()
			var results api.AdjustmentResults
			coach.post("/v1/adjustments", object{"items": []any{reason.Actions[0].Adjustment}}).want(200).into(&results)
			if results.Results[0].Problem != nil {
				t.Errorf("%s, %s: %q is refused: %+v", row.Student.Name, reason.Reason, reason.Actions[0].Label, results.Results[0].Problem)
				continue
			}
			given := results.Results[0].Adjustment
			if after, same := plays(); after == before || same != published || !strings.Contains(after, given.Text) {
				t.Errorf("%s, %s: after %q the phone has\n%s\nand had\n%s", row.Student.Name, reason.Reason, reason.Actions[0].Label, after, before)
			}
			coach.post("/v1/adjustments/"+string(given.ID)+"/end", nil).want(200)
			if after, same := plays(); after != before || same != published {
				t.Errorf("%s, %s: undone the phone has\n%s\nand had\n%s", row.Student.Name, reason.Reason, after, before)
			}
		}
	}
	for _, reason := range []advice.Reason{advice.Lapsed, advice.Slipping, advice.Flat, advice.Overreached, advice.Lopsided, advice.Outgrown} {
		if acted[string(reason)] == 0 {
			t.Errorf("nobody in the demo has %s with something to do about it", reason)
		}
	}
}
