// Package chrome drives a real Chromium through the pages: it finds things by
// what a person reads on them, presses and types as a person does, and waits for
// what should appear. Everything gives errors, so that tests and commands can
// use it alike.
//
// A machine may be busy, and a page may redraw at any moment. So whatever finds
// something and then does something with it is one step, which is tried again
// until it has been done or its time is up, and is never done twice.
package chrome

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"strings"
	"sync"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
)

// Browser is a running Chromium.
type Browser struct {
	ctx    context.Context
	cancel func()
}

// Launch starts a headless Chromium whose profile is in dir, which a later
// Launch may take up again.
func Launch(ctx context.Context, dir string) (*Browser, error) {
	path, err := find()
	if err != nil {
		return nil, err
	}
	ctx, freeAllocator := chromedp.NewExecAllocator(ctx,
		chromedp.ExecPath(path), chromedp.UserDataDir(dir), chromedp.WSURLReadTimeout(Patience),
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-color-profile", "srgb"),
		chromedp.Flag("disable-background-timer-throttling", true), chromedp.Flag("disable-renderer-backgrounding", true),
		chromedp.Flag("disable-backgrounding-occluded-windows", true), chromedp.Flag("password-store", "basic"),
		chromedp.Flag("lang", "en-GB"),
		// The same place on every machine.
		chromedp.Env("TZ=Europe/Lisbon", "LANGUAGE=en_GB"),
	)
	ctx, cancel := chromedp.NewContext(ctx)
	b := &Browser{ctx: ctx, cancel: func() { cancel(); freeAllocator() }}
	if err := chromedp.Do(ctx); err != nil {
		b.cancel()
		return nil, fmt.Errorf("start %s: %w", path, err)
	}
	return b, nil
}

func find() (string, error) {
	for _, name := range []string{"chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errors.New("the browser tests need Chromium and found none; install it, on Debian by: apt-get update && apt-get install -y --no-install-recommends chromium-headless-shell")
}

// Quit ends the browser, as closing it does.
func (b *Browser) Quit() {
	_ = chromedp.Cancel(b.ctx) // it may be gone already
	b.cancel()
}

// Kill ends the browser as a dead battery does: without a word to any page.
func (b *Browser) Kill() {
	if c := chromedp.FromContext(b.ctx); c != nil && c.Browser != nil && c.Browser.Process() != nil {
		_ = c.Browser.Process().Kill() // our own child
	}
	b.cancel()
}

// Profile is what the tabs of one person share and nobody else has: cookies,
// stores, caches and service workers.
type Profile struct {
	browser *Browser
	id      cdp.BrowserContextID // empty for the browser's own
	scripts []string
}

// Kept is the profile in the browser's directory.
func (b *Browser) Kept() *Profile { return &Profile{browser: b} }

// Fresh makes an empty profile, which is gone once it is closed.
func (b *Browser) Fresh() (*Profile, error) {
	ctx, cancel := context.WithTimeout(b.ctx, Patience)
	defer cancel()
	made, err := cdp.Call(ctx, chromedp.FromContext(b.ctx).Browser, target.CreateBrowserContext, target.CreateBrowserContextParams{})
	if err != nil {
		return nil, fmt.Errorf("make a profile: %w", err)
	}
	return &Profile{browser: b, id: made.BrowserContextID}, nil
}

// Before runs a script in every page that is opened in the profile from now on,
// before the page's own.
func (p *Profile) Before(script string) { p.scripts = append(p.scripts, script) }

// Again is the same profile for somebody else: without the scripts.
func (p *Profile) Again() *Profile { return &Profile{browser: p.browser, id: p.id} }

// Close closes the tabs of a fresh profile and forgets it.
func (p *Profile) Close() error {
	if p.id == "" {
		return nil
	}
	ctx, cancel := context.WithTimeout(p.browser.ctx, Patience)
	defer cancel()
	_, err := cdp.Call(ctx, chromedp.FromContext(p.browser.ctx).Browser, target.DisposeBrowserContext, target.DisposeBrowserContextParams{BrowserContextID: p.id})
	return err
}

// Tab is one page.
type Tab struct {
	ctx    context.Context
	cancel func()
	steps  int // taken so far; names them for the page

	mu     sync.Mutex
	errors []string
}

// Patience is how long something may take. Waiting costs nothing, and a machine
// may do other things meanwhile.
const Patience = 3 * time.Minute

// Tab opens an empty tab of the given size. Errors of its pages are noted.
func (p *Profile) Tab(width, height int64) (*Tab, error) {
	var opts []chromedp.ContextOption
	if p.id != "" {
		opts = append(opts, chromedp.WithExistingBrowserContext(p.id))
	}
	ctx, cancel := chromedp.NewContext(p.browser.ctx, opts...)
	t := &Tab{ctx: ctx, cancel: cancel}
	err := chromedp.Do(ctx)
	if err == nil {
		err = t.watch()
	}
	if err == nil {
		// Every tab is in front, as on a device of its own.
		_, err = chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	}
	for _, script := range p.scripts {
		if err == nil {
			err = t.Before(script)
		}
	}
	if err == nil {
		err = t.Size(width, height)
	}
	if err != nil {
		cancel()
		return nil, fmt.Errorf("open a tab: %w", err)
	}
	return t, nil
}

// Close closes the tab, and returns once it is closed.
func (t *Tab) Close() { _ = chromedp.Cancel(t.ctx) } // it may be gone already

// watch notes uncaught exceptions, console errors and refusals of the content
// security policy. A network that fails is no error of the page.
func (t *Tab) watch() error {
	if _, err := chromedp.Call(t.ctx, log.Enable, cdp.Empty{}); err != nil {
		return err
	}
	return chromedp.Listen(t.ctx, func(ev any) {
		switch ev := ev.(type) {
		case *runtime.EventExceptionThrown:
			text := ev.ExceptionDetails.Text
			if ev.ExceptionDetails.Exception != nil {
				text += " " + ev.ExceptionDetails.Exception.Description
			}
			t.note(text)
		case *runtime.EventConsoleAPICalled:
			if ev.Type == runtime.ConsoleAPICalledTypeError {
				var words []string
				for _, a := range ev.Args {
					words = append(words, strings.Trim(string(a.Value), `"`)+a.Description)
				}
				t.note("console: " + strings.Join(words, " "))
			}
		case *log.EventEntryAdded:
			if ev.Entry.Level == log.EntryLevelError && ev.Entry.Source != log.EntrySourceNetwork {
				t.note(string(ev.Entry.Source) + ": " + ev.Entry.Text)
			}
		}
	})
}

func (t *Tab) note(text string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.errors = append(t.errors, text)
}

// Errors gives the errors noted so far, and forgets them.
func (t *Tab) Errors() []string {
	t.mu.Lock()
	defer t.mu.Unlock()
	all := t.errors
	t.errors = nil
	return all
}

// within runs fn under the Patience for one step.
func (t *Tab) within(fn func(ctx context.Context) error) error {
	ctx, cancel := context.WithTimeout(t.ctx, Patience)
	defer cancel()
	return fn(ctx)
}

// Open goes to an address.
func (t *Tab) Open(url string) error {
	return t.within(func(ctx context.Context) error { return chromedp.Do(ctx, chromedp.Navigate(url)) })
}

// Reload loads the page anew.
func (t *Tab) Reload() error {
	return t.within(func(ctx context.Context) error { return chromedp.Do(ctx, chromedp.Reload()) })
}

// Go changes the fragment of the address, as a link within the app does.
func (t *Tab) Go(fragment string) error {
	_, err := Eval[bool](t, fmt.Sprintf("(location.hash = %q, true)", fragment))
	return err
}

// Before runs a script in every page of the tab before the page's own.
func (t *Tab) Before(script string) error {
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		return err
	})
}

// ClockOff is a script that sets a page's clock off by so much. Several add up.
func ClockOff(by time.Duration) string {
	return fmt.Sprintf(`{
		const Before = Date;
		const by = %d;
		globalThis.Date = class Date extends Before {
			constructor(...a) { super(...(a.length ? a : [Before.now() + by])); }
			static now() { return Before.now() + by; }
		};
	}`, by.Milliseconds())
}

// Eval evaluates JavaScript in the page, waiting for a promise.
func Eval[T any](t *Tab, script string) (v T, err error) {
	err = t.within(func(ctx context.Context) error {
		v, err = chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
		return err
	})
	return v, err
}

// Text is what can be read on the page.
func (t *Tab) Text() (string, error) { return Eval[string](t, "document.body.innerText") }

// look is how long the page itself looks for something before it is asked anew.
const look = 5 * time.Second

// again tries a step until it says that it is done or the time is up. On failure
// the error tells what could be read instead. The step has a context of its own,
// since an answer of a page that was left meanwhile may never come.
func (t *Tab) again(what string, step func(ctx context.Context) (done bool, why string, err error)) error {
	deadline := time.Now().Add(Patience)
	for {
		ctx, cancel := context.WithTimeout(t.ctx, 6*look)
		done, why, err := step(ctx)
		cancel()
		if done {
			return nil
		}
		if t.ctx.Err() != nil {
			return fmt.Errorf("%s: the tab is closed: %w", what, t.ctx.Err())
		}
		if time.Now().After(deadline) {
			text, _ := t.Text()
			if err == nil {
				err = errors.New(why)
			}
			return fmt.Errorf("waited %v for %s: %w; the page reads:\n%s", Patience, what, err, text)
		}
		if err != nil {
			time.Sleep(20 * time.Millisecond) // a page on its way to the next
		}
	}
}

// Wait waits until a JavaScript expression, or the promise that it gives, holds.
// One that does something may do it more than once.
func (t *Tab) Wait(what, condition string) error {
	script := fmt.Sprintf(`(async () => {
		let why = "it did not come";
		for (const end = performance.now() + %d; performance.now() < end; await new Promise((done) => setTimeout(done, 25))) {
			try {
				if (await (%s)) return "";
			} catch (e) {
				why = String(e);
			}
		}
		return why;
	})()`, look.Milliseconds(), condition)
	return t.again(what, func(ctx context.Context) (bool, string, error) {
		why, err := chromedp.Run(ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
		return err == nil && why == "", why, err
	})
}

// See waits until a text can be read on the page.
func (t *Tab) See(text string) error {
	return t.Wait(fmt.Sprintf("the text %q", text), reads(text))
}

// Gone waits until a text cannot be read any more.
func (t *Tab) Gone(text string) error {
	return t.Wait(fmt.Sprintf("the text %q to go", text), "document.body && !"+reads(text))
}

// reads is a condition that holds when a text can be read on the page, whatever
// kind of space its words are kept together by.
func reads(text string) string {
	return fmt.Sprintf(`document.body?.innerText.replaceAll("\u00a0", " ").includes(%q)`, text)
}
