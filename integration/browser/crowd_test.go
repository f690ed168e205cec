package browser

import (
	"testing"
	"time"

	"fringework/integration/browser/chrome"
)

// Today and Students must stay of use with sixty students: so high, in CSS pixels
// at 1440×900, and no higher, and each from one request of the API for all students,
// beside those of signing in and of the stream of news. Today has the day's lessons by
// one more.
const (
	crowdSize    = 60
	highestToday = 4000
	highestPlan  = 3000
)

// TestCrowd looks at both pages with sixty students who have practised for a year.
// It prints how long it takes, with the processor slowed four times, until the first
// name is read. To see the figures: go test -v -run TestCrowd ./integration/browser
func TestCrowd(t *testing.T) {
	s := newSetup(t)
	began := time.Now()
	s.must(s.Crowd(t.Context(), s.Academy, crowdSize))
	s.must(s.LearnAll(t.Context()))
	t.Logf("%d students made in %v", crowdSize, time.Since(began).Round(time.Second))
	s.profile.Before(`window.asked = []; const ask = fetch; window.fetch = (...a) => (asked.push(String(a[0].url ?? a[0])), ask(...a));`)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	for _, c := range []struct {
		place, first string
		highest      int
		requests     int
	}{{"today", ".triage a", highestToday, 2}, {"students", ".grid tbody a", highestPlan, 1}} {
		p.open("/desk?" + c.place + "#/" + c.place)
		p.wait("the first name on "+c.place, `document.querySelector("`+c.first+`")?.checkVisibility()`)
		// What is shown first is what was kept; all is asked for once the fresh answer is
		// drawn.
		p.wait("the fresh answer", `performance.getEntriesByType("resource").some((e) => e.name.endsWith("/v1/dashboard") && e.responseEnd > 0)`)
		_, err := chrome.Eval[bool](p.Tab, `new Promise((done) => requestIdleCallback(() => requestAnimationFrame(() => done(true))))`)
		s.must(err)
		high, err := chrome.Eval[int](p.Tab, "document.documentElement.scrollHeight")
		s.must(err)
		asked, err := chrome.Eval[[]string](p.Tab, `asked.filter((path) => path.startsWith("/v1/") && !/^\/v1\/(live|tokens|me)\b/.test(path))`)
		s.must(err)
		t.Logf("%s: %d px high, asks for %v", c.place, high, asked)
		if high > c.highest {
			t.Errorf("%s is %d px high with %d students, want at most %d", c.place, high, crowdSize, c.highest)
		}
		if len(asked) != c.requests {
			t.Errorf("%s asks for %v, want %d requests", c.place, asked, c.requests)
		}
	}
	s.must(p.SlowCPU(4))
	for place, first := range map[string]string{"today": ".triage a", "students": ".grid tbody a"} {
		p.open("/desk?slow-" + place + "#/" + place)
		p.wait("the first name on "+place, `document.querySelector("`+first+`")?.checkVisibility()`)
		ms, err := chrome.Eval[float64](p.Tab, "performance.now()")
		s.must(err)
		t.Logf("%s: the first name within %.0f ms, processor slowed four times", place, ms)
	}
}

// TestActing acts on a reason in one press and takes it back in one, on Today and on
// the student's page; what the student plays by follows.
func TestActing(t *testing.T) {
	s := newSetup(t)
	s.must(s.Crowd(t.Context(), s.Academy, 6)) // the sixth has stopped
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	const act = "Plan 1 session a week for Femi, for 3 weeks"
	p.see(act)
	student := p.value(`[...document.querySelectorAll(".triage-line")].find((e) => e.innerText.includes("Plan 1 session")).querySelector(".triage-name").hash.split("/")[2]`)
	standing := func(want int) {
		t.Helper()
		var list struct {
			Items []struct {
				Kind    string  `json:"kind"`
				EndedAt *string `json:"ended_at"`
			} `json:"items"`
		}
		s.call(s.Owner, "GET", "/v1/students/"+student+"/adjustments", nil, &list)
		n := 0
		for _, a := range list.Items {
			if a.Kind == "sessions" && a.EndedAt == nil {
				n++
			}
		}
		if n != want {
			t.Errorf("%d adjustments stand, want %d: %+v", n, want, list.Items)
		}
	}
	p.press(act)
	p.see("Done.")
	standing(1)
	p.press("Undo")
	p.gone("Done.")
	p.see(act)
	standing(0)

	p.place("#/student/" + student)
	p.press(act)
	p.see("Done.", "Changed for Femi", "1 session a week, from")
	standing(1)
	p.press("Undo: 1 session a week")
	p.see("Nothing: the programme is as published.", "Ended: 2")
	standing(0)

	// What the coach thinks of alone, in the coach's own words.
	p.press("Change something")
	p.see("You can undo it.")
	p.audit("a coach's own change", wcag...)
	p.choose("What", "Fewer sessions a week")
	p.fill("Sessions a week, at most", "1")
	p.fill("What Femi", "Once a week is fine until the exams are over.")
	p.press("Save")
	p.see("1 session a week, from", "Once a week is fine until the exams are over.")
	standing(1)
	p.press("Change something")
	p.fill("In a row", "4")
	p.fill("Circle", "wide")
	p.press("Save")
	p.see("give a radius from")
}
