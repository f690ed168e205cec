// Command shots takes pictures of every page at the size of a phone and of a
// laptop, light and dark, for somebody to look at:
//
//	go run ./integration/browser/shots [--only NAME] [--tour NAME] DIRECTORY
//
// It fills an academy as the demo does, and another with nothing in it and very
// long names, so that every state of a page is seen.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fringework/cmd/fringework/demo"
	"fringework/integration/browser/chrome"
	"fringework/integration/browser/house"
)

func main() {
	only := flag.String("only", "", "take only pictures whose name contains this")
	tour := flag.String("tour", "", "make only the tour of this name")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "usage: shots [--only NAME] [--tour NAME] DIRECTORY")
		os.Exit(2)
	}
	if err := run(context.Background(), flag.Arg(0), *only, *tour); err != nil {
		fmt.Fprintln(os.Stderr, "shots:", err)
		os.Exit(1)
	}
}

// sizes are those of a phone and of a laptop.
var sizes = [][2]int64{{390, 844}, {1440, 900}}

var schemes = []string{"light", "dark"}

func run(ctx context.Context, dir, only, tour string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "fringework-shots-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(scratch) }()
	h, err := house.Open(ctx, filepath.Join(scratch, "house.db"))
	if err != nil {
		return err
	}
	defer func() { _ = h.Close() }()
	if _, err := demo.Fill(ctx, demo.Config{Base: h.URL, Seed: 7, Today: time.Now().UTC(), Progress: func(string) {}}); err != nil {
		return err
	}
	long, err := longNames(ctx, h)
	if err != nil {
		return err
	}
	if err := practising(ctx, h); err != nil {
		return err
	}
	for _, size := range sizes {
		for _, scheme := range schemes {
			p := &photographer{ctx: ctx, dir: dir, only: only, tour: tour, scratch: scratch, house: h, long: long, size: size, scheme: scheme}
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
	scratch   string
	house     *house.House
	long      *house.World
	size      [2]int64
	scheme    string
	tab       *chrome.Tab
	err       error
}

// tours are all there is to see, each in a browser of its own.
var tours = []struct {
	name string
	make func(*photographer)
}{
	{"outside", (*photographer).outside}, {"student", (*photographer).student}, {"empty", (*photographer).empty},
	{"coach", (*photographer).coach}, {"owner", (*photographer).owner}, {"bare", (*photographer).bare}, {"first", (*photographer).first},
}

func (p *photographer) all() error {
	for _, t := range tours {
		if p.tour != "" && p.tour != t.name {
			continue
		}
		profile, err := os.MkdirTemp(p.scratch, "profile-")
		if err != nil {
			return err
		}
		b, err := chrome.Launch(p.ctx, profile)
		if err != nil {
			return err
		}
		p.tab, p.err = b.Tab(p.size[0], p.size[1])
		p.do(func() error { return p.tab.Prefer(map[string]string{"prefers-color-scheme": p.scheme}) })
		t.make(p)
		b.Quit()
		if p.err != nil {
			return p.err
		}
	}
	return nil
}

// do takes a step, unless one has failed before.
func (p *photographer) do(step func() error) {
	if p.err == nil {
		p.err = step()
	}
}

func (p *photographer) open(path string) {
	p.do(func() error { return p.tab.Open(p.house.URL + path) })
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
		time.Sleep(300 * time.Millisecond) // for late data and fonts
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
