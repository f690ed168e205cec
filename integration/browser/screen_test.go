package browser

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"fringework/integration/browser/chrome"
)

// screens are what practice must fit: a phone upright, with the bars of its
// browser, on its side, and with larger text.
var screens = []struct {
	width, height int64
	text          int // per cent
}{{360, 640, 100}, {390, 664, 100}, {844, 390, 100}, {390, 844, 150}, {390, 844, 200}}

// hidden tells what of the practice screen is not seen without scrolling: cut by
// the window, by a box around it or by its own, covered, or under the targets.
const hidden = `(() => {
	const seen = (e) => {
		const r = e.getBoundingClientRect();
		if (r.width === 0 || r.height === 0) return "has no size";
		if (r.left < -0.5 || r.top < -0.5 || r.right > innerWidth + 0.5 || r.bottom > innerHeight + 0.5) return "is outside the window: " + [r.left, r.top, r.right, r.bottom].map(Math.round);
		if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline") return "is cut: " + e.scrollWidth + " of " + e.clientWidth;
		for (const x of [0.1, 0.5, 0.9]) for (const y of [0.2, 0.5, 0.8]) {
			const top = document.elementFromPoint(r.left + x * r.width, r.top + y * r.height);
			if (!top || !(e.contains(top) || top.contains(e))) return "is covered by " + top?.outerHTML.slice(0, 100);
		}
		return "";
	};
	const wrong = [];
	const targets = document.querySelector(".targets").getBoundingClientRect();
	for (const what of WANTED) {
		const all = [...document.querySelectorAll(what)];
		if (!all.length) wrong.push(what + " is not there");
		for (const e of all) {
			const why = seen(e);
			if (why) wrong.push(what + " " + why);
			const r = e.getBoundingClientRect();
			const beside = innerWidth > innerHeight;
			if (!e.closest(".hand") && (beside ? r.right > targets.left && r.bottom > targets.top : r.bottom > targets.top)) wrong.push(what + " is not above the targets");
		}
	}
	if (document.documentElement.scrollHeight > innerHeight) wrong.push("the page is " + document.documentElement.scrollHeight + " px high");
	return wrong;
})()`

// fits holds the practice screen to every size: what is always seen, and what is
// named beside it, must be.
func (p *page) fits(where string, more ...string) {
	p.s.t.Helper()
	p.shows(where, append([]string{".outs", ".edge", ".target.in", ".target.holed"}, more...)...)
}

// shows holds the practice screen to every size, with whatever targets it has.
func (p *page) shows(where string, more ...string) {
	p.s.t.Helper()
	wanted := append([]string{
		".head-kind", ".head-place", ".head-time", ".head-of", ".hour-time", ".split", ".onward", ".task-skill", ".task-now",
		".counted", ".target-word", ".controls .button",
	}, more...)
	script := strings.Replace(hidden, "WANTED", quoted(wanted), 1)
	for _, size := range screens {
		p.s.must(p.Size(size.width, size.height))
		_, err := chrome.Eval[string](p.Tab, fmt.Sprintf(`(scrollTo(0, 0), document.documentElement.style.fontSize = "%d%%")`, size.text))
		p.s.must(err)
		found, err := chrome.Eval[[]string](p.Tab, script)
		p.s.must(err)
		for _, f := range found {
			p.s.t.Errorf("%s, %d×%d with text at %d %%: %s", where, size.width, size.height, size.text, f)
		}
		if dir := os.Getenv("SHOTS"); dir != "" {
			png, _ := p.Shot()
			_ = os.WriteFile(fmt.Sprintf("%s/%s-%d-%d-%d.png", dir, where, size.width, size.height, size.text), png, 0o644)
		}
	}
	_, err := chrome.Eval[string](p.Tab, `(document.documentElement.style.fontSize = "")`)
	p.s.must(err)
	p.s.must(p.Size(390, 844))
}

// dialogs holds the dialog that is open to every size: a script tells what is wrong.
func (p *page) dialogs(where, script string) {
	p.s.t.Helper()
	for _, size := range screens {
		p.s.must(p.Size(size.width, size.height))
		wrong, err := chrome.Eval[string](p.Tab, fmt.Sprintf(`(document.documentElement.style.fontSize = "%d%%", document.querySelector("dialog").scrollTo(0, 0), %s)`, size.text, script))
		p.s.must(err)
		if wrong != "" {
			p.s.t.Errorf("%s, %d×%d with text at %d %%: %s", where, size.width, size.height, size.text, wrong)
		}
		if dir := os.Getenv("SHOTS"); dir != "" {
			png, _ := p.Shot()
			_ = os.WriteFile(fmt.Sprintf("%s/%s-%d-%d-%d.png", dir, where, size.width, size.height, size.text), png, 0o644)
		}
	}
	_, err := chrome.Eval[string](p.Tab, `(document.documentElement.style.fontSize = "")`)
	p.s.must(err)
	p.s.must(p.Size(390, 844))
}

// apart tells of a stepper whose buttons are not side by side, and of a title of more
// than two lines.
const apart = `(() => {
	const top = (e) => Math.round(e.getBoundingClientRect().top);
	const torn = [...document.querySelectorAll(".stepper")].find((e) => new Set([...e.querySelectorAll(".button")].map(top)).size > 1);
	const title = document.querySelector("dialog h2"), lines = title.offsetHeight / parseFloat(getComputedStyle(title).fontSize);
	return torn ? "the buttons of " + torn.innerText + " are not side by side" : lines > 2.9 ? "the title has more than two lines" : "";
})()`

// leaving tells of the last way out of a dialog that is cut off, and of a keyboard that
// comes up unasked.
const leaving = `(() => {
	const at = document.querySelector("dialog .stack").lastElementChild.getBoundingClientRect();
	if (document.activeElement.matches("input, textarea")) return "the cursor is in a field";
	return at.bottom > innerHeight ? "the last action ends at " + Math.round(at.bottom) : "";
})()`

// TestOneScreen: practice fits one screen at any size, with the longest names,
// offline, when three balls in a row pass a step each, and before the last ball
// of a long row.
func TestOneScreen(t *testing.T) {
	s := newSetup(t)
	tier := func(run, holed int) object { return object{"run": run, "radius_m": 1.524, "holed": holed} }
	rename := func(id, name string, tiers ...any) {
		s.must(s.Owner.Call(t.Context(), "PUT", "/v1/skills/"+id, object{"name": name, "kind": "pitch", "ladder": object{"tiers": tiers}}, nil))
	}
	rename(s.ChipID, "Extraordinarily low chip and run, uphill", tier(1, 0), tier(2, 0), tier(3, 0), tier(18, 2))
	rename(s.PitchID, "Donaudampfschifffahrt pitch to a spot, 40", tier(24, 3))
	s.must(s.Republish(t.Context()))
	s.newSession(s.Student, s.PitchID).strike(slices.Repeat([]string{"in", "out", "in", "in", "in", "holed"}, 6)...) // from which there are odds
	const marks = `document.querySelectorAll(".mark").length === 2`
	p := s.phone()
	p.signIn()
	p.stocked()
	s.Wire.Cut()
	s.must(p.Offline(true))
	p.start()
	p.see("not sent")
	p.fits("at ball 0", ".run", ".pips", ".sending")
	p.tap("In", "In", "In")
	p.see("Step passed: 3 in a row inside 5 ft")
	p.fits("three steps passed in a row", ".run", ".pips", ".marks", ".word strong", ".sending", ".ruler button")
	for range 7 {
		p.tap("In", "In")
	}
	p.see("17\nof 18 in a row inside 5 ft, 0 of 2 holed", "Now hole two")
	p.fits("a full row", ".run", ".pips", ".marks", ".word strong", ".word", ".sending", ".ruler button")
	p.tap("More")
	p.see("Leave this page")
	p.dialogs("more", leaving)
	p.tap("Back to practice")
	p.tap("Next")
	p.see("Block 2 of 5")
	p.tap("In", "Out", "Ten balls, 10 in", "Undo the last 10 balls", "Ten balls, 7 in")
	p.see("12 balls: 8 in")
	p.fits("technique", ".marks", ".cue", ".ruler button")
	p.tap("Next")
	p.see("Block 3 of 5")
	p.tap("In", "Out")
	p.wait("two marks", marks)
	p.fits("stations", ".run", ".marks", ".club", ".where", ".ruler button")
	p.tap("Next")
	p.see("Block 4 of 5")
	p.tap("In", "Out")
	p.wait("two marks", marks)
	p.fits("random", ".run", ".marks")
	p.tap("Next")
	p.see("Block 5 of 5")
	p.tap("Out", "In", "Holed", "In")
	_, err := chrome.Eval[bool](p.Tab, `(() => { const now = Date.now; Date.now = () => now() + 16 * 60_000; return document.dispatchEvent(new Event("visibilitychange")); })()`)
	s.must(err)
	p.see("over 15 min")
	p.fits("test, its time over", ".run", ".pips", ".marks", ".odds")
}

// quoted writes texts as a list in JavaScript.
func quoted(texts []string) string {
	list, _ := json.Marshal(texts) // texts can always be written
	return string(list)
}
