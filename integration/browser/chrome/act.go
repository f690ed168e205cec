package chrome

import (
	"context"
	"fmt"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// finder finds what can be pressed or filled in by what a person is told about
// it: its label, or the text on it. A whole match goes before a part of it, and
// what is in an open dialog before what is behind.
const finder = `
(function find(name, kinds) {
  const scope = document.querySelector("dialog[open]") ?? document;
  const nameOf = (e) => {
    const label = e.getAttribute("aria-label");
    if (label) return label;
    if (e.labels?.length) return e.labels[0].innerText;
    return e.innerText ?? "";
  };
  const clean = (s) => s.replace(/\s+/g, " ").trim();
  const all = [...scope.querySelectorAll(kinds)].filter((e) => e.checkVisibility() && !e.disabled);
  return all.find((e) => clean(nameOf(e)) === name) ?? all.find((e) => clean(e.innerText ?? "") === name) ?? all.find((e) => clean(nameOf(e)).includes(name));
})`

const (
	pressable = `button, a[href], summary, input[type=radio], input[type=checkbox]`
	fillable  = `input, textarea, select`
)

type point struct{ X, Y float64 }

// place waits until something can be found and is not covered, brings it into
// view, and gives its middle.
func (t *Tab) place(name, kinds string) (at point, err error) {
	found := fmt.Sprintf(`%s(%q, %q)`, finder, name, kinds)
	if err := t.Wait(fmt.Sprintf("something to press or fill in called %q", name), found); err != nil {
		return at, err
	}
	// As a person does, wait until it has stood still for a moment.
	return Eval[point](t, fmt.Sprintf(`(async () => {
		const middle = () => {
			const e = %s;
			e.scrollIntoView({ block: "center", inline: "center", behavior: "instant" });
			const r = (e.type === "radio" || e.type === "checkbox" ? e.closest("label") ?? e : e).getBoundingClientRect();
			return { X: r.x + r.width / 2, Y: r.y + r.height / 2 };
		};
		let at = middle();
		for (let still = 0; still < 4; ) {
			await new Promise((done) => setTimeout(done, 25));
			const now = middle();
			still = now.X === at.X && now.Y === at.Y ? still + 1 : 0;
			at = now;
		}
		return at;
	})()`, found))
}

// Press clicks what is called name.
func (t *Tab) Press(name string) error {
	at, err := t.place(name, pressable)
	if err != nil {
		return err
	}
	return t.within(func(ctx context.Context) error { return chromedp.Do(ctx, chromedp.MouseClickXY(at.X, at.Y)) })
}

// Tap touches what is called name with a finger.
func (t *Tab) Tap(name string) error {
	at, err := t.place(name, pressable)
	if err != nil {
		return err
	}
	return t.within(func(ctx context.Context) error { return chromedp.Do(ctx, chromedp.TapXY(at.X, at.Y)) })
}

// Fill replaces what stands in the field called name.
func (t *Tab) Fill(name, text string) error {
	at, err := t.place(name, fillable)
	if err != nil {
		return err
	}
	return t.within(func(ctx context.Context) error {
		// Dates and times are typed in parts that differ by locale, so they are
		// set; everything else is typed.
		set := fmt.Sprintf(`(() => {
			const e = %s(%q, %q);
			if (!["date", "time", "select-one"].includes(e.type)) { e.focus(); e.select?.(); return false; }
			Object.getOwnPropertyDescriptor(Object.getPrototypeOf(e), "value").set.call(e, %q);
			e.dispatchEvent(new Event("input", { bubbles: true }));
			e.dispatchEvent(new Event("change", { bubbles: true }));
			return true;
		})()`, finder, name, fillable, text)
		if err := chromedp.Do(ctx, chromedp.MouseClickXY(at.X, at.Y)); err != nil {
			return err
		}
		done, err := chromedp.Run(ctx, chromedp.Evaluate[bool](set))
		if err != nil || done {
			return err
		}
		if text == "" {
			return chromedp.Do(ctx, chromedp.KeyEvent(kb.Backspace))
		}
		_, err = chromedp.Call(ctx, input.InsertText, input.InsertTextParams{Text: text})
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
// (package house).
func (t *Tab) Offline(offline bool) error {
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: offline, DownloadThroughput: -1, UploadThroughput: -1})
		return err
	})
}

// Before runs a script in every page of the tab before the page's own.
func (t *Tab) Before(script string) error {
	return t.within(func(ctx context.Context) error {
		_, err := chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
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
// that is high enough for it, so that what is fixed to an edge stays there.
func (t *Tab) WholeShot(width, height int64) ([]byte, error) {
	whole, err := Eval[int64](t, "document.documentElement.scrollHeight")
	if err != nil {
		return nil, err
	}
	if err := t.Size(width, max(height, whole)); err != nil {
		return nil, err
	}
	png, err := t.Shot()
	if err != nil {
		return nil, err
	}
	return png, t.Size(width, height)
}

// PDF prints the page, on paper of so many inches.
func (t *Tab) PDF(width, height float64) (pdf []byte, err error) {
	err = t.within(func(ctx context.Context) error {
		pdf, err = chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperSize{Width: width, Height: height})))
		return err
	})
	return pdf, err
}
