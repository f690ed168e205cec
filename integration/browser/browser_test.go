// Package browser runs the main job in a real Chromium, by taps and clicks.
package browser

import (
	"path/filepath"
	"testing"

	"fringework/integration/browser/chrome"
	"fringework/integration/browser/house"
)

// stage is a house with its world and a browser before it.
type stage struct {
	t *testing.T
	*house.House
	*house.World
	browser *chrome.Browser
	profile string
	last    string // session that practised made last
}

// newStage opens a house of its own for a test.
func newStage(t *testing.T) *stage {
	t.Helper()
	t.Parallel()
	s := &stage{t: t, profile: t.TempDir()}
	var err error
	s.House, err = house.Open(t.Context(), filepath.Join(t.TempDir(), "house.db"))
	s.must(err)
	t.Cleanup(func() {
		if err := s.House.Close(); err != nil {
			t.Error(err)
		}
	})
	s.World, err = s.House.Furnish(t.Context())
	s.must(err)
	s.launch()
	t.Cleanup(func() { s.browser.Quit() })
	return s
}

// launch starts the browser, anew with the same profile after a Kill.
func (s *stage) launch() {
	s.t.Helper()
	var err error
	s.browser, err = chrome.Launch(s.t.Context(), s.profile)
	s.must(err)
}

func (s *stage) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

// page is a tab whose steps end the test when they fail.
type page struct {
	*chrome.Tab
	s *stage
}

// phone opens a tab of a phone's size; the test fails when its pages have
// errors.
func (s *stage) phone() *page { return s.tab(390, 844) }

// laptop opens a tab of a laptop's size.
func (s *stage) laptop() *page { return s.tab(1440, 900) }

func (s *stage) tab(width, height int64) *page {
	s.t.Helper()
	tab, err := s.browser.Tab(width, height)
	s.must(err)
	p := &page{Tab: tab, s: s}
	s.t.Cleanup(func() {
		for _, text := range tab.Errors() {
			s.t.Errorf("the page had an error: %s", text)
		}
	})
	return p
}

func (p *page) open(path string) { p.s.t.Helper(); p.s.must(p.Open(p.s.URL + path)) }
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
	p.open("/green")
	p.fill("E-mail", p.s.StudentEmail)
	p.fill("Password", house.Password)
	p.tap("Sign in")
	p.see("Long session")
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
