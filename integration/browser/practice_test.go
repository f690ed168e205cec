package browser

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"fringework/integration/browser/chrome"
)

// stored is a session as the service has it.
type stored struct {
	ID        string  `json:"id"`
	Revision  int     `json:"revision"`
	StartedAt string  `json:"started_at"`
	EndedAt   *string `json:"ended_at"`
	Note      string  `json:"note"`
	Blocks    []struct {
		PlanBlock int    `json:"plan_block"`
		Kind      string `json:"kind"`
		Seconds   int    `json:"seconds"`
		Balls     []struct {
			Outcome string   `json:"outcome"`
			LeaveM  *float64 `json:"leave_m"`
			Club    string   `json:"club"`
			Lie     string   `json:"lie"`
			Miss    string   `json:"miss"`
			Contact string   `json:"contact"`
		} `json:"balls"`
		Attested *struct {
			Balls   int `json:"balls"`
			Inside  int `json:"inside"`
			Holed   int `json:"holed"`
			BestRun int `json:"best_run"`
		} `json:"attested"`
	} `json:"blocks"`
	Landings []any `json:"landings"`
	Green    struct {
		StimpFt  float64 `json:"stimp_ft"`
		SlopeDeg float64 `json:"slope_deg"`
	} `json:"green"`
	Milestones []struct {
		SkillID string `json:"skill_id"`
		Block   int    `json:"block"`
		Ball    int    `json:"ball"`
	} `json:"milestones"`
}

// sessions are the student's as the coach finds them, each with its balls.
func (s *setup) sessions() []stored {
	s.t.Helper()
	var page struct {
		Items []stored `json:"items"`
	}
	ctx := context.Background()
	s.must(s.Owner.Call(ctx, "GET", "/v1/sessions?student_id="+s.StudentID, nil, &page))
	for i, item := range page.Items {
		s.must(s.Owner.Call(ctx, "GET", "/v1/sessions/"+item.ID, nil, &page.Items[i]))
	}
	return page.Items
}

// only is the one session that there must be.
func (s *setup) only() stored {
	s.t.Helper()
	all := s.sessions()
	if len(all) != 1 {
		s.t.Fatalf("the coach finds %d sessions, want 1: %+v", len(all), all)
	}
	return all[0]
}

// ended is the one session that there must be, once the service knows its end: a
// phone may have sent the session as it went on before.
func (s *setup) ended() stored {
	s.t.Helper()
	for deadline := time.Now().Add(chrome.Patience); ; time.Sleep(50 * time.Millisecond) {
		if all := s.sessions(); len(all) == 1 && all[0].EndedAt != nil {
			return all[0]
		} else if time.Now().After(deadline) {
			s.t.Fatalf("the coach finds %+v, want one session that has ended", all)
		}
	}
}

// outcomes are the balls of a block in one text, a letter each.
func (b *stored) outcomes(block int) string {
	text := ""
	for _, ball := range b.Blocks[block].Balls {
		text += ball.Outcome[:1]
	}
	return text
}

// TestPractice is the main job on the green: a plan block by block with its
// leaves, clubs and tasks, a step undone, a tier made, a note, and what the coach
// finds of it.
func TestPractice(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.start()
	p.tap("Out", "In", "Holed")
	p.see("Step passed: 2 in a row inside 5 ft", "2\nof 4 in a row")
	p.tap("In")
	p.see("1 step passed today")
	p.tap("2 ft to the hole")
	p.tap("Next")
	p.see("Block 2 of 5", "Pitch to a landing spot")
	p.tap("Out, long", "Out, short", "Out, left", "Undo")
	swipe(p, 60, 5)
	p.see("3 balls: 0 in")
	p.tap("Pause")
	p.see("Paused")
	p.tap("Go on", "Next")
	p.see("Block 3 of 5", "52°")
	setUpStations(t, p)
	p.see("24\nof 24 in") // landed on the spot
	p.tap("In", "thin", "fat", "thin", "Undo")
	p.see("56°")
	p.gone("To hole")
	p.tap("60°")
	p.see("60°")
	p.tap("Out")
	p.see("52°") // in turn after the 60
	p.tap("Next")
	p.see("Block 4 of 5", "Ball 1")
	first, err := chrome.Eval[string](p.Tab, `document.querySelector(".task-now").innerText`)
	s.must(err)
	p.tap("In")
	p.see("Ball 2")
	second, err := chrome.Eval[string](p.Tab, `document.querySelector(".task-now").innerText`)
	s.must(err)
	if first == second {
		t.Errorf("the random block deals %q twice in a row", first)
	}
	p.tap("More")
	p.fill("Note", "Windy, and a wet green.")
	p.tap("Skip Random") // it has a ball, so it counts all the same
	p.see("Block 5 of 5", "0\nof 3 in a row inside 5 ft")
	p.tap("In", "In", "In")
	p.see("Step passed: 3 in a row inside 5 ft")
	p.tap("In", "Holed")
	p.see("Step passed: 5 in a row inside 5 ft, 1 of them holed")
	p.tap("Out")
	p.see("Passed · best 5, now\n0\nin a row inside 5 ft") // the last step, kept in sight
	p.tap("End", "End it")
	p.see("Session summary", "Steps passed", "with ball 3 of Test", "Windy, and a wet green.", "All sent")
	p.tap("Details")
	p.see("Most in a row inside 5 ft")

	got := s.ended()
	if got.Note != "Windy, and a wet green." {
		t.Errorf("got note %q", got.Note)
	}
	if len(got.Blocks) != 5 {
		t.Fatalf("%d blocks, want 5: %+v", len(got.Blocks), got.Blocks)
	}
	for i, want := range []string{"oihi", "ooo", strings.Repeat("i", 25) + "o", "i", "iiiiho"} {
		if text := got.outcomes(i); text != want {
			t.Errorf("block %d has the balls %q, want %q", i+1, text, want)
		}
	}
	if a, b := got.Blocks[1].Balls[1].Miss, got.Blocks[1].Balls[2].Miss; a != "short" || b != "right" {
		t.Errorf("the last balls of technique missed %q and %q, want short and right", a, b)
	}
	if leave := got.Blocks[0].Balls[3].LeaveM; leave == nil || *leave != 0.6096 { // 2 ft
		t.Errorf("the fourth ball was left %v m, want 0.6096", leave)
	}
	if a, b := got.Blocks[2].Balls[24].Club, got.Blocks[2].Balls[25].Club; a != "52" || b != "60" {
		t.Errorf("the stations were played with %s and %s, want 52 and 60", a, b)
	}
	if a, b := got.Blocks[2].Balls[24].Contact, got.Blocks[2].Balls[25].Contact; a != "fat" || b != "" {
		t.Errorf("the stations were struck %q and %q, want fat and nothing", a, b)
	}
	if len(got.Milestones) != 3 || got.Milestones[0].SkillID != s.ChipID || got.Milestones[1].SkillID != s.PitchID || got.Milestones[2].SkillID != s.PitchID {
		t.Errorf("milestones %+v, want one of chipping and two of pitching", got.Milestones)
	}

	if len(got.Landings) != 24 || got.Green.StimpFt != 9 || got.Green.SlopeDeg != -1 {
		t.Errorf("%d balls landed on a green of %+v, want 24 on 9 ft, a little down", len(got.Landings), got.Green)
	}

	// What was saved stands at once, and is what is changed next.
	p.place("#/clubs")
	p.tap("Set your clubs", "Left-handed", "Save the clubs")
	p.see("Left-handed.")
	p.tap("Change your clubs")
	p.wait("the hand that was saved", `document.querySelector("input:checked").parentElement.innerText === "Left-handed"`)

	p.place("#/progress")
	p.tap("Why? Pitch")
	p.see("Steps passed", "3 in a row inside 5 ft", "3 misses with a direction. Too few to say which way they lean.")
}

// swipe moves a finger over the target for out, by so many pixels to the right and down.
func swipe(p *page, right, down int) {
	p.s.t.Helper()
	_, err := chrome.Eval[bool](p.Tab, fmt.Sprintf(`(() => {
		const out = document.querySelector(".target.out"), at = (x, y) => ({ bubbles: true, cancelable: true, clientX: x, clientY: y });
		out.dispatchEvent(new PointerEvent("pointerdown", { ...at(80, 700), isPrimary: true, pointerType: "touch" }));
		const touch = new Touch({ identifier: 1, target: out, ...at(80 + %d, 700 + %d) });
		return !out.dispatchEvent(new TouchEvent("touchend", { ...at(), changedTouches: [touch] }));
	})()`, right, down))
	p.s.must(err)
}

// TestUnmeasured judges at another radius than the ladder's: the ball does not
// count until its leave is told, and the student reads why.
func TestUnmeasured(t *testing.T) {
	s := newSetup(t)
	s.must(s.Owner.Call(t.Context(), "PUT", "/v1/skills/"+s.PitchID, map[string]any{
		"name": "Pitch to a landing spot", "kind": "pitch",
		"ladder": map[string]any{"tiers": []any{map[string]any{"run": 1, "radius_m": 1.524}, map[string]any{"run": 3, "radius_m": 0.9144}}, "technique_counts": true}, // 5 and 3 ft
	}, nil))
	s.must(s.Republish(t.Context()))
	s.newSession(s.Student, s.PitchID).strike("in") // which passes the first
	p := s.phone()
	p.signIn()
	p.start()
	p.tap("Next")
	p.see("Block 2 of 5")
	p.tap("In")
	p.see("In at 5 ft may be outside 3: tap its distance", "0\nof 3 in a row")
	p.tap("2 ft to the hole")
	p.gone("In at 5 ft may be outside 3: tap its distance")
	p.see("1\nof 3 in a row")
	p.tap("Undo")
	p.see("In at 5 ft may be outside 3: tap its distance", "0\nof 3 in a row")
}

// TestEditing corrects a ball, deletes a session, and finds both on the coach's
// side.
func TestEditing(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.start()
	p.tap("In", "In", "Out, long", "More", "End the session", "End it")
	p.see("All sent", "A step passed", "What did not count", "3 of about", "it does not count as one of the week's sessions")
	p.place("#/history")
	p.press("3 balls, 2 in")
	p.see("Add a ball")
	p.tap("Ball 2 In", "Out", "Change it", "Ball 3 Out", "In", "Change it", "Save") // which missed nothing, then
	p.see("No changes")
	p.wait("the correction to be sent", `document.querySelector(".sending").innerText === "All sent"`)
	got := s.only()
	if text := got.outcomes(0); text != "ioi" || len(got.Milestones) != 0 {
		t.Errorf("after the correction the balls are %q with milestones %+v, want ioi and none", text, got.Milestones)
	}
	p.tap("Delete this session", "Delete it")
	p.see("No sessions yet")
	if left := s.sessions(); len(left) != 0 {
		t.Errorf("after the deletion the coach finds %+v", left)
	}
}

// TestCard types in what a paper card says; the service keeps it apart.
func TestCard(t *testing.T) {
	s := newSetup(t)
	p := s.phone()
	p.signIn()
	p.tap("Long session", "Card on paper")
	p.see("One box a ball")
	p.wait("the tasks of the random block", `document.querySelectorAll(".card-deck li").length >= 10`)
	for _, paper := range [][2]float64{{8.27, 11.69}, {8.5, 11}} { // A4 and Letter
		if pdf, err := p.PDF(paper[0], paper[1]); err != nil || len(pdf) < 5000 {
			t.Errorf("the card printed on %v inches gives %d bytes, error %v", paper, len(pdf), err)
		}
	}
	p.tap("Type it in afterwards")
	p.see("Store the card")
	p.fill("Balls", "40")
	p.fill("In or holed", "55")
	p.tap("Store the card")
	p.see("give at most the 40 balls")
	p.wait("the focus on what is wrong", `document.activeElement.value === "55"`)
	p.fill("In or holed", "22")
	p.fill("Holed", "3")
	p.fill("Most in a row", "6")
	p.tap("Store the card")
	p.see("From a card: 40 balls, 22 inside, 3 holed, most in a row 6.")
	p.wait("the card to be sent", `document.querySelector(".sending").innerText === "All sent"`)
	got := s.only()
	if a := got.Blocks[0].Attested; len(got.Blocks) != 1 || a == nil || a.Balls != 40 || a.Inside != 22 || a.Holed != 3 || a.BestRun != 6 {
		t.Errorf("stored %+v, want one block with counts 40, 22, 3 and 6", got.Blocks)
	}

	// One session at a time: the one that goes on is asked about.
	p.start()
	p.tap("In")
	p.place("#/now")
	p.tap("Long session", "Start practice")
	p.see("You are still in a session", "1 ball")
	p.tap("Go on with it")
	p.see("1 ball: 1 in")
	p.place("#/now")
	p.tap("Long session", "Start practice", "End it and start this one")
	p.see("Block 1 of 5", "Log each ball as it stops.")
}
