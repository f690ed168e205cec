package browser

import (
	"fmt"
	"slices"
	"testing"

	"fringework/integration/browser/chrome"
)

// budget is what the first load of the practice page may weigh, compressed, in
// bytes.
const budget = 60_000

// TestFirstLoad weighs everything that the practice page loads on its first
// visit: the page, styles and modules, as they come over the wire. To read the
// figures: go test -v -run 'TestFirstLoad|TestTap' ./integration/browser
func TestFirstLoad(t *testing.T) {
	s := firstVisit(t)
	p := s.phone()
	p.open("/green")
	p.see("E-mail")
	type weight struct {
		Name  string
		Bytes int
	}
	all, err := chrome.Eval[[]weight](p.Tab, `[...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
		.filter((e) => !e.name.includes("/v1/"))
		.map((e) => ({ Name: new URL(e.name).pathname, Bytes: e.encodedBodySize }))`)
	s.must(err)
	total := 0
	for _, w := range all {
		t.Logf("%6d %s", w.Bytes, w.Name)
		total += w.Bytes
		if w.Bytes == 0 {
			t.Errorf("%s weighs nothing", w.Name)
		}
	}
	t.Logf("%6d in all, of %d", total, budget)
	if total > budget {
		t.Errorf("the practice page weighs %d bytes compressed, want at most %d", total, budget)
	}
	// What stands below today's plan is loaded once that is shown; nothing more is to practise.
	p.signIn()
	p.see("What makes a good session")
	loaded := func() []string {
		names, err := chrome.Eval[[]string](p.Tab, `performance.getEntriesByType("resource").map((e) => e.name).filter((n) => n.includes("/assets/") && n.endsWith(".js"))`)
		s.must(err)
		return names
	}
	before := loaded()
	p.start()
	p.tap("In")
	p.see("1 ball: 1 in")
	if after := loaded(); len(after) > len(before) {
		t.Errorf("%d modules are loaded to practise that were not there on Now: %v", len(after)-len(before), after[len(before):])
	}
}

// TestTap measures, with the processor slowed four times, how long after the
// finger is lifted the ball is stored and then counted on the screen. On a machine
// that does other things that says more about those; so it measures, too, what a
// tap costs the main thread in processor time, at full speed. It prints the figures and
// asserts none.
func TestTap(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.start()
	before, err := p.Busy()
	s.must(err)
	_, err = chrome.Eval[bool](p.Tab, `(async () => {
		for (let i = 1; i <= 20; i++) {
			document.querySelectorAll(".target")[i % 2].click();
			while (!document.querySelector(".stands").textContent.includes(i + (i === 1 ? " ball:" : " balls:"))) await new Promise(requestAnimationFrame);
		}
		return true;
	})()`)
	s.must(err)
	p.see("20 balls")
	after, err := p.Busy()
	s.must(err)
	t.Logf("a tap costs the main thread %.1f ms of processor time, all that follows from it included", (after-before)*1000/20)

	s.must(p.SlowCPU(4))
	_, err = chrome.Eval[bool](p.Tab, `(() => {
		window.taps = [];
		const painted = (from, list) => requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => list.push(performance.now() - from); c.port2.postMessage(0); });
		let struck = 0;
		addEventListener("touchend", (e) => e.target.closest(".target") && (struck = e.timeStamp), true);
		// What the time goes to: the ball is in the store, then in the page, then on the screen.
		window.kept = [];
		window.drawn = [];
		const put = IDBObjectStore.prototype.put;
		IDBObjectStore.prototype.put = function (...given) {
			const from = struck;
			if (from) this.transaction.addEventListener("complete", () => kept.push(performance.now() - from), { once: true });
			return put.apply(this, given);
		};
		new MutationObserver(() => {
			if (struck) drawn.push(performance.now() - struck), painted(struck, taps);
			struck = 0;
		}).observe(document.querySelector(".stands"), { subtree: true, childList: true, characterData: true });
		return true;
	})()`)
	s.must(err)
	// Two taps in the time of one frame would be painted as one.
	for n := range 40 {
		p.tap([]string{"In", "Out"}[n%2])
		p.wait("the tap to be painted", fmt.Sprintf("taps.length > %d", n))
	}
	p.see("60 balls")
	for what, list := range map[string]string{"has the ball stored": "kept", "has drawn it": "drawn", "counts the ball on the screen": "taps"} {
		took, err := chrome.Eval[[]float64](p.Tab, list)
		s.must(err)
		n := len(took)
		if n < 30 { // of a tap that comes before the last one is drawn, a part may be missed
			t.Fatalf("until the page %s: %d taps were measured, want at least 30 of 40", what, n)
		}
		slices.Sort(took)
		t.Logf("processor slowed four times, until the page %s: median %.0f ms, nine of ten within %.0f ms, longest %.0f ms", what, took[n/2], took[n*9/10], took[n-1])
	}
}
