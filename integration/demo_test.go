package integration_test

import (
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fringework/cmd/fringework/app"
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

// checkDemo wants the dozen, and among them those who climb, the one who lapsed,
// the one who spends the time elsewhere, the one who gets worse and the one who gets no
// further.
func checkDemo(t *testing.T, text string) {
	t.Helper()
	lines := map[string]string{}
	name, climbed := "", 0
	for line := range strings.Lines(text) {
		if fields := strings.Split(line, "  "); len(fields) > 5 && fields[0] != "" && fields[0] != "STUDENT" {
			name = fields[0]
		}
		if name != "" && strings.Contains(line, " of ") {
			lines[name] += line
		}
		if strings.Contains(line, "3 of 3") {
			climbed++
		}
	}
	if len(lines) != 12 || climbed == 0 {
		t.Errorf("the table has %d students, %d ladders finished; want a dozen, and some\n%s", len(lines), climbed, text)
	}
	for name, reasons := range map[string]string{"Femi Castellan": "not practising", "Gwen Aldous": "time far from the plan", "Cosima Hale": "getting worse",
		"Edda Marchetti": "not improving|next step out of reach"} {
		shown := false
		for reason := range strings.SplitSeq(reasons, "|") {
			shown = shown || strings.Contains(lines[name], reason)
		}
		if !shown {
			t.Errorf("%s is shown as\n%s\nwant %s", name, lines[name], strings.ReplaceAll(reasons, "|", " or "))
		}
	}
}
