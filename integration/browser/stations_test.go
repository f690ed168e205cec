package browser

import (
	"testing"

	"fringework/integration/browser/chrome"
)

// setUpStations sets three stations up on a green of speed 9 that falls a little,
// logs 24 balls that run two paces farther than a plain shot, and looks where to land
// the next.
func setUpStations(t *testing.T, p *page) {
	t.Helper()
	p.tap("Set up")
	p.see("The green today")
	p.fill("or the greenkeeper's figure (ft)", "9")
	p.tap("A little down", "Use this green")
	p.see("Set up the stations", "Green: 9 ft, a little down", "stops at")
	shots := `document.querySelectorAll(".side .side-flight").length`
	if n, err := chrome.Eval[int](p.Tab, shots); err != nil || n != 3 {
		t.Errorf("%d shots are drawn, error %v; want 3", n, err)
	}
	stops := func() string {
		return p.value(`[...document.querySelectorAll(".stations strong")].map((e) => e.innerText).join(", ")`)
	}
	before := stops()
	p.tap("Land it at: a pace more", "Land it at: a pace more")
	const spot = `document.querySelector(".stepper output").innerText`
	p.wait("the spot to move", spot+` === "10"`)
	far := stops()
	if far == before {
		t.Errorf("wherever the balls land, they stop at %s", far)
	}
	for _, club := range []string{"A 52°", "B 56°", "C 60°"} {
		p.tap(club, "Stopped at: a pace more", "Stopped at: a pace more")
		for range 8 {
			p.tap("Log this ball")
		}
	}
	p.see("24 balls logged", "% carry")
	p.wait("the spot to be learned", `document.querySelectorAll(".stations p").length >= 3 && [...document.querySelectorAll(".stations li")].every((e) => e.innerText.includes("from 8 balls of yours"))`)
	if learned := stops(); learned == far {
		t.Errorf("after balls that run two paces farther, they still stop at %s", learned)
	}
	if still := p.value(spot); still != "10" {
		t.Errorf("the spot moved from 10 to %s", still)
	}
	p.tap("Half carry, half roll")
	p.wait("the spot of half carry and half roll", spot+` !== "10"`)
	p.tap("Undo")
	p.see("23 balls logged")
	p.tap("Log this ball", "Go on practising")
	p.see("Land at")
}
