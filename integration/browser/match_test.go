package browser

import (
	"fmt"
	"testing"

	"github.com/google/uuid"

	"fringework/cmd/fringework/client"
	"fringework/integration/browser/fixture"
)

// TestMatch has two phones without a network play a match on the same cards, one
// started and one joined by its code; both agree once they have sent. Then a coach has
// two play on one phone.
func TestMatch(t *testing.T) {
	s := newSetup(t)
	code, err := s.Invite(t.Context(), "student", "Pia Lindqvist")
	s.must(err)
	email := uuid.NewString() + "@example.org"
	var in client.SignedIn
	s.call(s.Anybody(), "POST", "/v1/invitations/accept", object{
		"code": code, "name": "Pia Lindqvist", "email": email, "password": fixture.Password, "time_zone": "UTC",
	}, &in)
	s.givePlaces(in.Membership.MemberID)

	p := s.phone()
	p.signIn()
	p.stocked()
	p.kept("/matches", "circles")
	s.Wire.Cut()
	s.must(p.Offline(true))
	p.tap("Match with a partner")
	p.see("Join a match", "Start a match")
	p.tap("6", "One for all", "Make the match")
	p.see("Type this code", "all to 6.6 ft")
	typed := p.value(`document.querySelector(".match-code").innerText`)
	p.tap("Deal the cards")
	cards := p.playMatch("In", "In", "Out", "In", "Holed", "Out")
	p.see("All 6 cards are played.")
	p.reload()
	p.see("All 6 cards are played.")
	p.tap("End", "End it")
	p.see("You: 4 of 6 balls in.", "Not sent yet.")

	s.elsewhere()
	s.Wire.Mend()
	q := s.phone()
	q.signInAs(email)
	q.stocked()
	q.kept("/matches", "circles")
	s.Wire.Cut()
	s.must(q.Offline(true))
	q.tap("Match with a partner")
	q.fill("The other phone's code", typed[:4]+typed[5:8])
	q.tap("Join")
	q.see("A code has 8 characters; this has 7.")
	q.fill("The other phone's code", " "+typed)
	q.tap("Join", "Deal the cards")
	for i, card := range q.playMatch("In", "Out", "Out", "In", "Out", "In") {
		if card != cards[i] {
			t.Errorf("card %d is %q on one phone and %q on the other", i+1, cards[i], card)
		}
	}
	q.tap("End", "End it")
	q.see("You: 3 of 6 balls in.", "Not sent yet.")
	s.Wire.Mend()
	s.must(p.Offline(false))
	p.tapUnless("Nobody else's balls have arrived yet.", "Send now")
	p.see("Nobody else's balls have arrived yet.")
	s.must(q.Offline(false))
	q.tapUnless("won, 4 to 3.", "Send now")
	q.see("Tomas Brandt won, 4 to 3.")
	p.tapUnless("You won, 4 to 3.", "Look again") // or by itself, back online
	p.see("You won, 4 to 3.")

	s.elsewhere()
	desk := s.laptop()
	desk.signInDesk(s.OwnerEmail)
	desk.place("#/student/" + s.StudentID)
	desk.see("Matches", typed, "won, 4 to 3.")
	desk.place("#/match")
	desk.press("Pia Lindqvist")
	desk.fill("A guest's name", "Otto")
	desk.press("Add the guest", "One for all", "Deal the cards")
	turn := func(name string) {
		desk.wait("the turn of "+name, fmt.Sprintf(`document.querySelector(".match-turn")?.innerText === %q`, name))
	}
	for range 6 {
		turn("Pia Lindqvist")
		desk.press("In")
		turn("Otto")
		desk.press("Out")
	}
	desk.see("Pia Lindqvist won, with 6 of 6 in")
	desk.press("Save to 1 student's log")
	desk.see("Saved: Pia Lindqvist")
	if n := s.matchesOf(in.Membership.MemberID); n != 2 {
		t.Errorf("%d matches are stored, want 2", n)
	}
}

// playMatch logs what came of each card, and says what the cards were.
func (p *page) playMatch(outcomes ...string) (cards []string) {
	p.s.t.Helper()
	for i, outcome := range outcomes {
		p.see(fmt.Sprintf("Card %d", i+1))
		cards = append(cards, p.value(`document.querySelector(".task-now").innerText`))
		p.tap(outcome)
	}
	return cards
}

// matchesOf counts a student's matches at the service.
func (s *setup) matchesOf(student string) int {
	s.t.Helper()
	var list struct {
		Items array `json:"items"`
	}
	s.call(s.Owner, "GET", "/v1/students/"+student+"/matches", nil, &list)
	return len(list.Items)
}
