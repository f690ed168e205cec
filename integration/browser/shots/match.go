package main

// match is a match as a student plays it, and a clinic's on one phone.
func (p *photographer) match() {
	p.signIn("/green", demoStudent, demoPassword)
	p.see("Match with a partner")
	p.place("#/match")
	p.see("Join a match")
	p.shot("match", true)
	p.press("Make the match")
	p.see("Your circle")
	p.shot("match-made", true)
	p.press("Deal the cards")
	p.see("Card 1")
	p.press("In")
	p.press("Out")
	p.shot("match-card", false)
	for range 7 {
		p.press("In")
	}
	p.see("All 9 cards are played.")
	p.shot("match-over", false)
	p.press("End")
	p.press("End it")
	p.see("Nobody else's balls")
	p.shot("match-after", true)
	defer p.another()()
	p.signInDesk(demoCoach, demoPassword)
	p.place("#/live")
	p.press("Match on this phone")
	p.see("Who plays")
	p.press("Anouk")
	p.fill("A guest's name", "Otto")
	p.press("Add the guest")
	p.shot("clinic-match", true)
	p.press("Deal the cards")
	p.see("card 1 of 6")
	p.press("In")
	p.shot("clinic-turn", true)
	for range 5 {
		p.press("Out")
		p.press("In")
	}
	p.press("Out")
	p.see("won")
	p.shot("clinic-over", true)
}
