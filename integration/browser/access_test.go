package browser

import (
	_ "embed"
	"encoding/json"
	"slices"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

//go:embed testdata/axe/axe.min.js
var axe string

// The rules of axe-core: those of WCAG 2.2 AA, and of them the ones that see colours.
var (
	wcag    = []string{"wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"}
	colours = []string{"color-contrast", "link-in-text-block"}
)

// audit runs axe-core on the page as it stands, by the rules of these names or tags.
func (p *page) audit(where string, rules ...string) {
	p.s.t.Helper()
	if there, err := chrome.Eval[bool](p.Tab, "typeof axe === 'object'"); err == nil && !there {
		_, err := chrome.Eval[bool](p.Tab, axe+"\n;true")
		p.s.must(err)
	}
	names, err := json.Marshal(rules)
	p.s.must(err)
	// What is played or styled is here already.
	found, err := chrome.Eval[[]string](p.Tab, `((names) => {
		const known = new Set(axe.getRules().map((r) => r.ruleId));
		const values = [...new Set(names.flatMap((name) => (known.has(name) ? name : axe.getRules([name]).filter((r) => !r.tags.includes("experimental") && !r.tags.includes("deprecated")).map((r) => r.ruleId))))];
		return axe.run(document, { resultTypes: ["violations"], preload: false, runOnly: { type: "rule", values } });
	})(`+string(names)+`).then((r) => r.violations.flatMap((v) => v.nodes.map((n) => v.id + " at " + n.target.join(" ") + ": " + n.failureSummary)))`)
	p.s.must(err)
	for _, f := range found {
		p.s.t.Errorf("%s: %s", where, f)
	}
}

// accessible holds what is on the page to WCAG 2.2 AA by axe-core, and to further
// rules, in light and dark: in the dark only by the rules that see colours. Nothing
// may need scrolling sideways at 320 CSS pixels, which is 200 % of 640.
func (p *page) accessible(where string, rules ...string) {
	p.s.t.Helper()
	for scheme, by := range map[string][]string{"light": wcag, "dark": colours} {
		p.s.must(p.Prefer(map[string]string{"prefers-color-scheme": scheme, "prefers-reduced-motion": "reduce"}))
		p.audit(where+", "+scheme, slices.Concat(by, rules)...)
	}
	p.s.must(p.Prefer(nil))
	p.s.must(p.Size(320, 640))
	wide, err := chrome.Eval[string](p.Tab, `(() => {
		const over = document.documentElement.scrollWidth - innerWidth;
		if (over <= 0) return "";
		const worst = [...document.querySelectorAll("body *")].find((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroll"));
		return over + " px too wide, first at " + (worst?.outerHTML ?? "").slice(0, 200);
	})()`)
	p.s.must(err)
	if wide != "" {
		p.s.t.Errorf("%s at 320 px: %s", where, wide)
	}
	p.s.must(p.Size(390, 844))
}

// TestAccessible walks through every page of the front and of the green.
func TestAccessible(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.open("/")
	p.see("Make an academy")
	p.press("Make an academy")
	p.accessible("front")
	code, err := s.Invite(t.Context(), "student", "Piet Amsel")
	s.must(err)
	p.open("/join#" + code)
	p.see("invites you to join")
	p.accessible("join")
	p.open("/green")
	p.see("E-mail")
	p.accessible("sign-in")
	p.fill("E-mail", "nobody@example.org")
	p.fill("Password", "not the password")
	p.tap("Sign in")
	p.wait("the refusal", `document.querySelector("[role=alert]").innerText !== ""`)
	p.accessible("sign-in refused")
	p.signIn()
	p.see("First time here?")
	p.accessible("now")
	p.tap("Show me", "Out", "Holed")
	p.see("Not that one.")
	p.accessible("first")
	p.tap("In", "Holed", "Out, right")
	p.see("Lay a wedge on the green")
	p.mainSeen("circle")
	p.accessible("circle")
	p.tap("To today's plan")
	p.see("What makes a good session")
	p.gone("First time here?")
	p.tap("Long session")
	p.see("Before the first ball")
	p.accessible("ready")
	p.tap("Rain")
	p.see("Take care", "wait 30 minutes")
	p.mainSeen("day")
	p.accessible("day")
	p.tap("The plan as it stands")
	p.see("Card on paper")
	p.tap("Card on paper")
	p.see("One box a ball")
	p.accessible("card")
	p.tap("Type it in afterwards")
	p.see("Store the card")
	p.mainSeen("typein")
	p.tap("Store the card")
	p.accessible("typein")
	p.start()
	practice := []string{"color-contrast-enhanced", "target-size"}
	p.accessible("practice at the start", practice...)
	p.tap("In", "Holed", "In")
	p.accessible("practice, a step passed", practice...)
	p.tap("Next")
	p.see("Block 2 of 5")
	p.tap("Out")
	p.accessible("practice, technique", practice...)
	p.tap("Next")
	p.see("Block 3 of 5")
	p.tap("In")
	p.accessible("practice, stations", practice...)
	p.tap("Set up")
	p.see("The green today")
	p.mainSeen("the green today")
	p.accessible("practice, the green today", practice...)
	p.tap("Use this green")
	p.see("Set up the stations")
	p.accessible("practice, setting up stations", practice...)
	p.tap("Go on practising")
	p.tap("Next")
	p.see("Block 4 of 5")
	p.accessible("practice, random", practice...)
	p.tap("More")
	p.see("For yourself and your coach.")
	p.accessible("practice, more", practice...)
	p.tap("Back to practice", "Pause")
	p.see("Paused")
	p.accessible("practice, paused", practice...)
	p.tap("Go on", "Next", "End")
	p.see("End the session?")
	p.accessible("practice, ending", practice...)
	p.tap("End it")
	p.see("All sent")
	p.accessible("after")
	p.tap("Ball by ball, and corrections")
	p.see("Add a ball")
	p.accessible("session")
	p.tap("Ball 1 In")
	p.see("Change it")
	p.accessible("session, a ball")
	p.tap("Cancel")
	p.place("#/now")
	p.tap("On the course: log a round")
	p.see("Where it stopped")
	p.mainSeen("round")
	p.place("#/clubs")
	p.tap("Set your clubs")
	p.mainSeen("clubs")
	p.accessible("clubs, changing them")
	p.place("#/season")
	p.tap("Change your season")
	p.mainSeen("season")
	p.tap("Add a competition")
	p.accessible("season, changing it")
	for _, place := range []string{"progress", "history", "lessons", "match", "match/B000-001R", "rounds", "round/01a211ef-1832-783f-b732-da2d950732d5/new", "settings", "season", "clubs", "nowhere"} {
		p.place("#/" + place)
		p.wait("the page "+place, `document.querySelector("h1") && !document.querySelector(".loading")`)
		p.accessible(place)
	}
	p.account()
	p.open("/green")
	s.Wire.Cut()
	p.place("#/session/01a211ef-1832-783f-b732-da2d950732d5")
	p.see("could not be loaded")
	p.accessible("session that cannot be loaded")
	s.Wire.Mend()
}

// account walks through the pages about how somebody signs in.
func (p *page) account() {
	p.s.t.Helper()
	p.open("/account")
	p.see("You sign in with", "App for codes")
	p.accessible("account")
	p.fill("Your password", fixture.Password)
	p.tap("Set up an app")
	p.see("scan this picture")
	p.accessible("account, setting up an app")
	p.fill("The six digits", "000000")
	p.tap("Turn it on")
	p.see("is wrong, or was used already")
	p.open("/forgotten")
	p.see("sends no mail")
	p.accessible("forgotten")
	p.open("/reset#nothing")
	p.fill("New password", "three blue oysters")
	p.tap("Set it")
	p.see("Ask for a new one")
	p.accessible("reset refused")
	p.open("/confirm#nothing")
	p.tap("Confirm it")
	p.see("Ask for a new one")
	p.accessible("confirm refused")
}

// mainSeen holds a form to show its main button on a small phone, wherever it is
// scrolled to.
func (p *page) mainSeen(where string) {
	p.s.t.Helper()
	p.s.must(p.Size(360, 640))
	p.wait("the main button of "+where+" to be seen", `(() => {
		const r = [...(document.querySelector("dialog[open]") ?? document).querySelectorAll(".savebar .main, .start .main")].at(-1).getBoundingClientRect();
		const top = document.elementFromPoint(r.left + r.width / 2, r.bottom - 4);
		return r.top >= 0 && r.bottom <= innerHeight && Boolean(top?.closest(".main"));
	})()`)
	p.s.must(p.Size(390, 844))
}

// TestKeyboard does the main job on the green with the keyboard alone.
func TestKeyboard(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.open("/")
	p.see("E-mail")
	p.tabTo("E-mail*")
	s.must(p.Keys(s.StudentEmail))
	p.tabTo("Password*")
	s.must(p.Keys(fixture.Password + kb.Enter))
	p.see("Long session")
	p.tabTo("Start Long session*")
	s.must(p.Keys(kb.Enter))
	p.see("Before the first ball")
	p.tabTo("Start practice*")
	s.must(p.Keys(kb.Enter))
	p.see("Block 1 of 5")
	p.tabTo("In inside 5 ft*")
	s.must(p.Keys(" "))
	p.see("1 ball: 1 in")
	s.must(p.Keys("2")) // wherever the focus is
	p.see("Step passed: 2 in a row inside 5 ft")
	s.must(p.Keys(kb.ArrowUp))
	p.see("3 balls: 2 in")
	p.tabTo("Undo ball 3, out*")
	s.must(p.Keys(kb.Backspace))
	p.tabTo("Undo ball 2, in*")
	s.must(p.Keys(kb.Enter))
	p.see("1 ball: 1 in")
	p.tabTo("More*")
	s.must(p.Keys(kb.Enter))
	p.see("For yourself and your coach.")
	p.tabTo("Note*")
	s.must(p.Keys("By keys alone."))
	s.must(p.Keys(kb.Escape))
	p.gone("For yourself and your coach.")
	p.tabTo("More*")
	s.must(p.Keys(kb.Enter))
	p.see("For yourself and your coach.")
	p.tabTo("End the session*")
	s.must(p.Keys(kb.Enter))
	p.see("End the session?")
	p.tabTo("End it*")
	s.must(p.Keys(kb.Enter))
	p.see("Session summary", "By keys alone.", "All sent")
	if got := s.only(); got.outcomes(0) != "i" || got.Note != "By keys alone." {
		t.Errorf("the coach finds %q with the note %q", got.outcomes(0), got.Note)
	}
}
