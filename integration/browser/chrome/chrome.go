// Package chrome drives a real Chromium through the pages: it finds things by
// what a person reads on them, presses and types as a person does, and waits for
// what should appear. Everything gives errors, so that tests and commands can
// use it alike.
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
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
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
		chromedp.ExecPath(path), chromedp.UserDataDir(dir), chromedp.WSURLReadTimeout(60*time.Second),
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-color-profile", "srgb"),
		chromedp.Flag("disable-background-timer-throttling", true), chromedp.Flag("disable-renderer-backgrounding", true),
		chromedp.Flag("disable-backgrounding-occluded-windows", true), chromedp.Flag("password-store", "basic"),
		chromedp.Flag("lang", "en-GB"),
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
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errors.New("the browser tests need Chromium and found none; install it, on Debian by: apt-get update && apt-get install -y --no-install-recommends chromium")
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

// Tab is one page.
type Tab struct {
	ctx    context.Context
	cancel func()

	mu     sync.Mutex
	errors []string
}

// patience is how long something may take to appear.
const patience = 20 * time.Second

// Tab opens an empty tab of the given size. Errors of its pages are noted.
func (b *Browser) Tab(width, height int64) (*Tab, error) {
	ctx, cancel := chromedp.NewContext(b.ctx)
	t := &Tab{ctx: ctx, cancel: cancel}
	err := chromedp.Do(ctx)
	if err == nil {
		err = t.watch()
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

// Close closes the tab.
func (t *Tab) Close() { t.cancel() }

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

// within runs fn under the patience for one step.
func (t *Tab) within(fn func(ctx context.Context) error) error {
	ctx, cancel := context.WithTimeout(t.ctx, patience)
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

// Wait waits until a JavaScript expression holds. On failure the error tells
// what could be read instead.
func (t *Tab) Wait(what, condition string) error {
	deadline := time.Now().Add(patience)
	for {
		ok, err := Eval[bool](t, "Boolean("+condition+")")
		if err == nil && ok {
			return nil
		}
		if time.Now().After(deadline) {
			text, _ := t.Text()
			if err == nil {
				err = errors.New("it did not come")
			}
			return fmt.Errorf("waited %v for %s: %w; the page reads:\n%s", patience, what, err, text)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// See waits until a text can be read on the page.
func (t *Tab) See(text string) error {
	return t.Wait(fmt.Sprintf("the text %q", text), fmt.Sprintf("document.body?.innerText.includes(%q)", text))
}

// Gone waits until a text cannot be read any more.
func (t *Tab) Gone(text string) error {
	return t.Wait(fmt.Sprintf("the text %q to go", text), fmt.Sprintf("!document.body?.innerText.includes(%q)", text))
}
