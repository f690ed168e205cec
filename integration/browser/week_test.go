package browser

import (
	"testing"

	"fringework/integration/browser/chrome"
)

// weeks asks the page which week a phone shows on some days, from an answer that
// was fetched in week 2.
const weeks = `(async () => {
	const base = document.querySelector('script[type="module"][src]').src.replace(/\/green\/.*$/, "/green/");
	const { turned } = await import(base + "plan.js");
	const work = (phase) => ({ position: { phase, week: 2, day: 6 }, week: { number: 2 }, next_week: { number: 3, starts_on: "2026-05-18" } });
	const shown = (phase, today) => {
		const w = turned({ work: [work(phase)] }, today).work[0];
		return [phase, today, w.week.number, w.position.week, w.position.day].join(" ");
	};
	return [shown("running", "2026-05-17"), shown("running", "2026-05-18"), shown("running", "2026-05-20"), shown("paused", "2026-05-20")];
})()`

// TestWeekTurnsOver: a phone without a network goes on to the next week's plans
// on the day it begins, unless the programme was paused.
func TestWeekTurnsOver(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	got, err := chrome.Eval[[]string](p.Tab, weeks)
	s.must(err)
	judgesAlike(p)
	drawsAlike(p)
	dealsAlike(p)
	want := []string{"running 2026-05-17 2 2 6", "running 2026-05-18 3 3 1", "running 2026-05-20 3 3 3", "paused 2026-05-20 2 2 6"}
	for i := range want {
		if i >= len(got) || got[i] != want[i] {
			t.Fatalf("phase, today, week shown, its number, day: got %q, want %q", got, want)
		}
	}
}
