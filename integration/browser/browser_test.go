// Package browser runs the main job in a real Chromium, by taps and clicks.
//
// Nothing in it depends on the day it is run on: the service and the pages go by
// a clock that shows ten in the morning of a fixed day when the tests begin. To
// run them as if on another:
//
//	FRINGEWORK_TEST_TODAY=2026-12-31 go test ./integration/browser
//
// One Chromium serves all tests, each with a machine of its own, which has a
// profile and goes from test to test; a test that ends its browser has one to itself. Every wait is long, and a test goes on as soon as
// it can, so a busy machine makes the tests slow but not wrong.
package browser

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	clocks "fringework/cmd/fringework/clock"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
	"fringework/integration/day"
)

// What all tests share, made once.
var (
	clock    clocks.Clock
	template *fixture.Template
	chromium *chrome.Browser
)

func TestMain(m *testing.M) { os.Exit(run(m)) }

func run(m *testing.M) int {
	flag.Parse()
	atOnce()
	dir, err := os.MkdirTemp("", "fringework-browser-")
	if err == nil {
		defer func() { _ = os.RemoveAll(dir) }()
		err = share(dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer chromium.Quit()
	code := m.Run()
	if err := scrapMachines(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return code
}

// atOnce lets more tests run at once than there are processors, unless it was
// said how many, since they mostly wait.
func atOnce() {
	said := false
	flag.Visit(func(f *flag.Flag) { said = said || f.Name == "test.parallel" })
	if !said {
		_ = flag.Set("test.parallel", "6") // it is a flag of testing
	}
}

func share(dir string) (err error) {
	if clock, err = day.Clock(); err != nil {
		return err
	}
	if template, err = fixture.NewTemplate(context.Background(), filepath.Join(dir, "template.db"), clock); err != nil {
		return err
	}
	chromium, err = chrome.Launch(context.Background(), filepath.Join(dir, "profile"))
	return err
}

func TestDay(t *testing.T) { day.Test(t, clock.Now()) }

// setup is what a test has: a service with an academy, and a browser before it.
type setup struct {
	t *testing.T
	*fixture.Service
	*fixture.Academy
	machine *machine // that the next tabs are opened at
	profile *chrome.Profile
	spoiled bool   // no other test may have its machines
	last    string // session that practised made last
}

// newSetup makes a test its own, and lets it run beside others.
func newSetup(t *testing.T) *setup {
	t.Helper()
	t.Parallel()
	s := serviceOf(t, template)
	s.elsewhere()
	return s
}

// serviceOf starts a service on a copy of a template, for a test.
func serviceOf(t *testing.T, template *fixture.Template) *setup {
	t.Helper()
	s := &setup{t: t}
	var err error
	s.Service, s.Academy, err = template.Copy(t.Context(), filepath.Join(t.TempDir(), "academy.db"))
	s.must(err)
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		if t.Failed() {
			t.Logf("the service has logged:\n%s", s.Log())
		}
	})
	return s
}

func (s *setup) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// page is a tab whose steps end the test when they fail.
type page struct {
	*chrome.Tab
	s   *setup
	url string // of the service, at the tab's machine
}

// phone opens a tab of a phone's size; the test fails when its pages have
// errors.
func (s *setup) phone() *page { return s.tab(390, 844) }

// laptop opens a tab of a laptop's size.
func (s *setup) laptop() *page { return s.tab(1440, 900) }

func (s *setup) tab(width, height int64) *page {
	s.t.Helper()
	tab, err := s.profile.Tab(width, height)
	s.must(err)
	p := &page{Tab: tab, s: s, url: s.URL}
	if m := s.machine; m != nil && m.used {
		s.must(tab.Forget(m.front.URL, chrome.Personal))
		m.used = false
	}
	s.t.Cleanup(func() {
		tab.Close()
		for _, text := range tab.Errors() {
			s.t.Errorf("the page had an error: %s", text)
		}
	})
	return p
}

func (p *page) open(path string) { p.s.t.Helper(); p.s.must(p.Open(p.url + path)) }
func (p *page) place(at string)  { p.s.t.Helper(); p.s.must(p.Go(at)) }
func (p *page) reload()          { p.s.t.Helper(); p.s.must(p.Reload()) }
func (p *page) tap(names ...string) {
	p.s.t.Helper()
	for _, name := range names {
		p.s.must(p.Tap(name))
	}
}
func (p *page) press(names ...string) {
	p.s.t.Helper()
	for _, name := range names {
		p.s.must(p.Press(name))
	}
}

// tapUnless taps unless a text can be read before that: what the page may also do
// by itself.
func (p *page) tapUnless(text, name string) { p.s.t.Helper(); p.s.must(p.TapUnless(text, name)) }
func (p *page) fill(name, text string)      { p.s.t.Helper(); p.s.must(p.Fill(name, text)) }
func (p *page) see(texts ...string)         { p.s.t.Helper(); p.all(p.See, texts) }
func (p *page) gone(texts ...string)        { p.s.t.Helper(); p.all(p.Gone, texts) }
func (p *page) wait(what, condition string) { p.s.t.Helper(); p.s.must(p.Wait(what, condition)) }
func (p *page) all(fn func(string) error, texts []string) {
	p.s.t.Helper()
	for _, text := range texts {
		p.s.must(fn(text))
	}
}

// signIn signs the student in on the green.
func (p *page) signIn() {
	p.s.t.Helper()
	p.signInAs(p.s.StudentEmail)
	p.see("Long session")
}

// signInAs signs another student in.
func (p *page) signInAs(email string) {
	p.s.t.Helper()
	p.open("/green")
	p.fill("E-mail", email)
	p.fill("Password", fixture.Password)
	p.tap("Sign in")
	p.see("Match with a partner")
}

// start starts this week's plan.
func (p *page) start() {
	p.s.t.Helper()
	p.place("#/now")
	p.tap("Long session")
	p.see("Before the first ball")
	p.tap("Start practice")
	p.see("Block 1 of 5")
}
