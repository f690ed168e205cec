// Command shots takes pictures of every page at the size of a phone and of a
// laptop, light and dark, for somebody to look at:
//
//	go run ./integration/browser/shots [--only NAME] [--tour NAME] [--width N] [--scheme NAME] DIRECTORY
//
// It fills an academy as the demo does, and another with nothing in it and very
// long names, so that every state of a page is seen.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fringework/cmd/fringework/clock"
	"fringework/cmd/fringework/demo"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

func main() {
	only := flag.String("only", "", "take only pictures whose name contains this")
	tour := flag.String("tour", "", "make only the tour of this name")
	width := flag.Int64("width", 0, "take only those of this width: 390 or 1440")
	scheme := flag.String("scheme", "", "take only those of this scheme: light or dark")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "usage: shots [--only NAME] [--tour NAME] [--width N] [--scheme NAME] DIRECTORY")
		os.Exit(2)
	}
	if err := run(context.Background(), flag.Arg(0), wish{*only, *tour, *scheme, *width}); err != nil {
		fmt.Fprintln(os.Stderr, "shots:", err)
		os.Exit(1)
	}
}

// now is when the pictures are taken, so that they do not change from day to day.
var now = time.Date(2026, 5, 6, 10, 0, 0, 0, time.UTC)

// sizes are those of a phone, of a small one and of a laptop.
var sizes = [][2]int64{{390, 844}, {360, 640}, {1440, 900}}

var schemes = []string{"light", "dark"}

// wish is what was asked for; what is empty asks for all.
type wish struct {
	only, tour, scheme string
	width              int64
}

// looks tells whether pictures of a size and scheme are wanted.
func (w wish) looks(size [2]int64, scheme string) bool {
	return (w.width == 0 || w.width == size[0]) && (w.scheme == "" || w.scheme == scheme)
}

func run(ctx context.Context, dir string, wanted wish) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "fringework-shots-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(scratch) }()
	s, err := fixture.Open(ctx, filepath.Join(scratch, "shots.db"), clock.From(now))
	if err != nil {
		return err
	}
	defer func() { _ = s.Close() }()
	if _, err := demo.Fill(ctx, demo.Config{Base: s.URL, Seed: 7, Students: demo.MinStudents, Weeks: demo.MinWeeks, Today: s.Clock.Now(), Progress: func(string) {}}); err != nil {
		return err
	}
	long, err := longNames(ctx, s)
	if err != nil {
		return err
	}
	if err := s.LearnAll(ctx); err != nil {
		return err
	}
	if err := practising(ctx, s); err != nil {
		return err
	}
	b, err := chrome.Launch(ctx, filepath.Join(scratch, "profile"))
	if err != nil {
		return err
	}
	defer b.Quit()
	for _, size := range sizes {
		for _, scheme := range schemes {
			if !wanted.looks(size, scheme) {
				continue
			}
			p := &photographer{ctx: ctx, dir: dir, only: wanted.only, tour: wanted.tour, browser: b, service: s, long: long, size: size, scheme: scheme}
			if err := p.all(); err != nil {
				return fmt.Errorf("%d×%d %s: %w", size[0], size[1], scheme, err)
			}
		}
	}
	return nil
}

// photographer takes all pictures of one size and scheme.
type photographer struct {
	ctx       context.Context
	dir, only string
	tour      string
	browser   *chrome.Browser
	service   *fixture.Service
	long      *fixture.Academy
	size      [2]int64
	scheme    string
	tab       *chrome.Tab
	err       error
}

// tours are all there is to see, each by a person of their own.
var tours = []struct {
	name string
	make func(*photographer)
}{
	{"outside", (*photographer).outside}, {"student", (*photographer).student}, {"empty", (*photographer).empty},
	{"coach", (*photographer).coach}, {"publish", (*photographer).publishing}, {"owner", (*photographer).owner}, {"bare", (*photographer).bare}, {"first", (*photographer).first}, {"tests", (*photographer).tests}, {"match", (*photographer).match},
}

func (p *photographer) all() error {
	for _, t := range tours {
		if p.tour != "" && p.tour != t.name {
			continue
		}
		profile, err := p.browser.Fresh()
		if err != nil {
			return err
		}
		profile.Before(chrome.ClockOff(p.service.Clock.Off))
		p.tab, p.err = profile.Tab(p.size[0], p.size[1])
		p.do(func() error { return p.tab.Prefer(map[string]string{"prefers-color-scheme": p.scheme}) })
		t.make(p)
		if err := errors.Join(p.err, profile.Close()); err != nil {
			return err
		}
	}
	return nil
}

// another goes on at another person's machine, until done is called.
func (p *photographer) another() (done func()) {
	profile, err := p.browser.Fresh()
	p.do(func() error { return err })
	if p.err != nil {
		return func() {}
	}
	profile.Before(chrome.ClockOff(p.service.Clock.Off))
	p.do(func() (err error) {
		p.tab, err = profile.Tab(p.size[0], p.size[1])
		return err
	})
	p.do(func() error { return p.tab.Prefer(map[string]string{"prefers-color-scheme": p.scheme}) })
	return func() { p.err = errors.Join(p.err, profile.Close()) }
}

// do takes a step, unless one has failed before.
func (p *photographer) do(step func() error) {
	if p.err == nil {
		p.err = step()
	}
}

func (p *photographer) open(path string) {
	p.do(func() error { return p.tab.Open(p.service.URL + path) })
}
func (p *photographer) place(at string)   { p.do(func() error { return p.tab.Go(at) }) }
func (p *photographer) press(what string) { p.do(func() error { return p.tab.Press(what) }) }
func (p *photographer) see(text string)   { p.do(func() error { return p.tab.See(text) }) }
func (p *photographer) fill(what, text string) {
	p.do(func() error { return p.tab.Fill(what, text) })
}

// shot takes a picture: the whole page, or, of what fills the screen, the
// screen.
func (p *photographer) shot(name string, whole bool) {
	if p.only != "" && !strings.Contains(name, p.only) {
		return
	}
	p.do(func() error {
		err := p.tab.Wait("the page to stand still", `document.fonts.status === "loaded" && !document.querySelector(".loading") && document.getAnimations().every((a) => a.playState !== "running")`)
		if err != nil {
			return err
		}
		shot := p.tab.Shot
		if whole {
			shot = func() ([]byte, error) { return p.tab.WholeShot(p.size[0], p.size[1]) }
		}
		png, err := shot()
		if err != nil {
			return err
		}
		file := fmt.Sprintf("%s-%d-%s.png", name, p.size[0], p.scheme)
		return os.WriteFile(filepath.Join(p.dir, file), png, 0o644)
	})
}

func (p *photographer) signIn(path, email, password string) {
	p.open(path)
	p.fill("E-mail", email)
	p.fill("Password", password)
	p.press("Sign in")
}
