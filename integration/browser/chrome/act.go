package chrome

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// hand.js is what a hand needs to know of the page.
//
//go:embed hand.js
var hand string

const (
	pressable = `button, a[href], summary, input[type=radio], input[type=checkbox]`
	fillable  = `input, textarea, select`
)

// settle is how long a touch may be on its way to the page before it is taken
// for lost.
const settle = 3 * time.Second

// byHand calls a function of hand.js with what is given it as JSON.
func byHand[T any](ctx context.Context, name string, given any, unless string) (v T, err error) {
	text, err := json.Marshal(given)
	if err != nil {
		return v, err
	}
	if unless == "" {
		unless = "false"
	}
	script := fmt.Sprintf("%s.%s({ ...%s, unless: () => %s })", hand, name, text, unless)
	return chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
}

// aimed is where something is, or why not.
type aimed struct {
	X, Y float64
	Done bool
	Why  string
}

// touch finds what is called name and touches its middle, as one step. It is
// done, too, once unless holds, a condition in JavaScript; empty never does.
func (t *Tab) touch(name, kinds, unless string, at func(x, y float64) chromedp.Action[chromedp.Void]) error {
	return t.again(fmt.Sprintf("something to press or fill in called %q", name), func(ctx context.Context) (bool, string, error) {
		done, why, err := t.touchOnce(ctx, name, kinds, unless, at)
		return done, why, err
	})
}

func (t *Tab) touchOnce(ctx context.Context, name, kinds, unless string, at func(x, y float64) chromedp.Action[chromedp.Void]) (bool, string, error) {
	t.steps++
	step := t.steps
	to, err := byHand[aimed](ctx, "aim", map[string]any{"step": step, "name": name, "kinds": kinds, "ms": look.Milliseconds()}, unless)
	if err != nil || to.Done || to.Why != "" {
		return to.Done, to.Why, err
	}
	// The page may be left by the touch, with its answer; so whether it was touched
	// is asked for as long as it takes, and not tried again before that is known.
	failed := chromedp.Do(ctx, at(to.X, to.Y))
	ctx, cancel := context.WithTimeout(t.ctx, Patience)
	defer cancel()
	for {
		touched, err := byHand[bool](ctx, "touched", map[string]any{"step": step, "ms": settle.Milliseconds()}, "")
		switch {
		case err == nil && touched:
			return true, "", nil
		case err == nil:
			return false, "the touch did not reach it", failed
		case ctx.Err() != nil:
			return false, "", err
		}
		time.Sleep(20 * time.Millisecond) // a page on its way to the next
	}
}

// Press clicks what is called name.
func (t *Tab) Press(name string) error { return t.touch(name, pressable, "", click) }

// Tap touches what is called name with a finger.
func (t *Tab) Tap(name string) error { return t.touch(name, pressable, "", chromedp.TapXY) }

// TapUnless touches what is called name with a finger, unless a text can be read
// on the page before that: what the page may also do by itself.
func (t *Tab) TapUnless(text, name string) error {
	return t.touch(name, pressable, reads(text), chromedp.TapXY)
}

func click(x, y float64) chromedp.Action[chromedp.Void] { return chromedp.MouseClickXY(x, y) }

// Fill replaces what stands in the field called name.
func (t *Tab) Fill(name, text string) error {
	field := map[string]any{"name": name, "kinds": fillable, "text": text}
	return t.again(fmt.Sprintf("%q to be filled in", name), func(ctx context.Context) (bool, string, error) {
		const gone = "there is no such field"
		how, err := byHand[string](ctx, "put", field, "")
		if err != nil || how != "type" {
			return how == "typed", gone, err
		}
		if there, why, err := t.touchOnce(ctx, name, fillable, "", click); err != nil || !there {
			return false, why, err
		}
		how, err = byHand[string](ctx, "take", field, "")
		if err != nil || how != "ready" {
			return how == "typed", gone, err
		}
		if text == "" {
			err = chromedp.Do(ctx, chromedp.KeyEvent(kb.Backspace))
		} else {
			_, err = chromedp.Call(ctx, input.InsertText, input.InsertTextParams{Text: text})
		}
		if err != nil {
			return false, "", err
		}
		took, err := chromedp.Run(ctx, chromedp.Evaluate[bool](fmt.Sprintf("globalThis.typed === %q", text)))
		return err == nil && took, "the field did not take it", err
	})
}

// Type clicks the field called name and presses the keys of a text in it, one by
// one, as a person does. What stands in the field stays.
func (t *Tab) Type(name, text string) error {
	if err := t.touch(name, fillable, "", click); err != nil {
		return err
	}
	return t.Keys(text)
}

// Paste clicks the field called name and pastes a text that was copied elsewhere,
// by the keys for it. The browser of a test has no clipboard of its own, so the
// text is inserted as pasting does.
func (t *Tab) Paste(name, text string) error {
	if err := t.touch(name, fillable, "", click); err != nil {
		return err
	}
	return t.within(func(ctx context.Context) error {
		if err := chromedp.Do(ctx, chromedp.KeyEvent("v", chromedp.KeyModifiers(chromedp.ModifierCtrl))); err != nil {
			return err
		}
		_, err := chromedp.Call(ctx, input.InsertText, input.InsertTextParams{Text: text})
		return err
	})
}

// Keys presses keys, as chromedp/kb names them, where the focus is.
func (t *Tab) Keys(keys string) error {
	return t.within(func(ctx context.Context) error { return chromedp.Do(ctx, chromedp.KeyEvent(keys)) })
}

// Size makes the page so large, with a finger as on a phone when it is narrow.
func (t *Tab) Size(width, height int64) error {
	return t.within(func(ctx context.Context) error {
		var opts []chromedp.EmulateViewportOption
		if width < 600 {
			opts = append(opts, chromedp.EmulateMobile, chromedp.EmulateTouch)
		}
		return chromedp.Do(ctx, chromedp.EmulateViewport(width, height, opts...))
	})
}

// Prefer sets what the person's system says: "prefers-color-scheme" to "dark",
// "prefers-reduced-motion" to "reduce".
func (t *Tab) Prefer(features map[string]string) error {
	p := emulation.SetEmulatedMediaParams{}
	for name, value := range features {
		p.Features = append(p.Features, &emulation.MediaFeature{Name: name, Value: value})
	}
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, p)
		return err
	})
}

// SlowCPU makes the page's processor so many times slower.
func (t *Tab) SlowCPU(times float64) error {
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: times})
		return err
	})
}

// Busy gives the processor time, in seconds, that the page's main thread has
// used so far, whatever else the machine does meanwhile.
func (t *Tab) Busy() (seconds float64, err error) {
	err = t.within(func(ctx context.Context) error {
		if _, err := chromedp.Call(ctx, performance.Enable, performance.EnableParams{}); err != nil {
			return err
		}
		all, err := chromedp.Call(ctx, performance.GetMetrics, cdp.Empty{})
		if err != nil {
			return err
		}
		for _, m := range all.Metrics {
			if m.Name == "ThreadTime" {
				seconds = m.Value
			}
		}
		return nil
	})
	return seconds, err
}

// Offline takes the page's network away, or gives it back; the page is told. A
// service worker has a network of its own: to cut that, too, cut the wire
// (package fixture).
func (t *Tab) Offline(offline bool) error {
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: offline, DownloadThroughput: -1, UploadThroughput: -1})
		return err
	})
}

// Kinds of what the pages of an origin have stored.
const (
	Everything = "all"
	// Personal is all but the service worker and what it keeps.
	Personal = "cookies,indexeddb,local_storage"
)

// Forget takes what the pages of an origin have stored, of these kinds.
func (t *Tab) Forget(origin, kinds string) error {
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, storage.ClearDataForOrigin, storage.ClearDataForOriginParams{Origin: origin, StorageTypes: kinds})
		return err
	})
}

// Shot takes a picture (PNG) of what is seen of the page.
func (t *Tab) Shot() (png []byte, err error) {
	err = t.within(func(ctx context.Context) error {
		png, err = chromedp.Run(ctx, chromedp.CaptureScreenshot())
		return err
	})
	return png, err
}

// WholeShot takes a picture of the whole page, on a screen of the given width
// that is high enough for it, so that what is fixed to an edge stays there. It
// takes another if the page has grown meanwhile.
func (t *Tab) WholeShot(width, height int64) (png []byte, err error) {
	const needed = "document.documentElement.scrollHeight"
	for high := int64(0); ; {
		whole, err := Eval[int64](t, needed)
		if err != nil {
			return nil, err
		}
		if png != nil && whole <= high {
			return png, t.Size(width, height)
		}
		high = max(height, whole)
		if err := t.Size(width, high); err != nil {
			return nil, err
		}
		if png, err = t.Shot(); err != nil {
			return nil, err
		}
	}
}

// PDF prints the page, on paper of so many inches.
func (t *Tab) PDF(width, height float64) (pdf []byte, err error) {
	err = t.within(func(ctx context.Context) error {
		pdf, err = chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperSize{Width: width, Height: height})))
		return err
	})
	return pdf, err
}
