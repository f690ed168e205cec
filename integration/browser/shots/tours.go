package main

import (
	"context"
	"fmt"
	"strings"

	"fringework/integration/browser/chrome"
	"fringework/integration/browser/fixture"
)

// What the demo's people sign in with.
const (
	demoPassword = "larkmoor-demo"
	demoStudent  = "anouk@larkmoor.example"
	demoCoach    = "ruben@larkmoor.example"
)

// outside are the pages for whoever is not signed in.
func (p *photographer) outside() {
	p.open("/")
	p.see("Sign in")
	p.shot("front", true)
	p.press("Make an academy")
	p.shot("front-academy", true)
	p.open("/join")
	p.see("Code")
	p.shot("join", true)
	p.fill("Code", "NOSUCHCODE")
	p.press("See the invitation")
	p.see("There is no invitation")
	p.shot("join-wrong", true)
	p.open("/privacy")
	p.see("What is kept")
	p.shot("privacy", true)
	p.open("/green")
	p.see("E-mail")
	p.shot("green-sign-in", true)
	p.fill("E-mail", "nobody@example.org")
	p.fill("Password", "not the password")
	p.press("Sign in")
	p.see("password")
	p.shot("green-sign-in-wrong", true)
}

// student is a student's round.
func (p *photographer) student() {
	p.signIn("/green", demoStudent, demoPassword)
	p.see("What makes a good session")
	p.shot("now", true)
	p.press("Start")
	p.see("Before the first ball")
	p.see("Today is different?")
	p.shot("ready", true)
	p.press("Green closed: carpet")
	p.see("Soft practice balls only")
	p.shot("day", true)
	p.press("The plan as it stands")
	p.see("Card on paper")
	p.press("Card on paper")
	p.see("One box a ball")
	p.shot("card", true)
	p.do(func() error { return p.tab.Open(p.service.URL + "/green#/now") })
	p.see("What makes a good session")
	p.press("Start")
	p.press("Type in a card")
	p.see("Store the card")
	p.press("Store the card")
	p.shot("typein", true)
	p.retest()
	p.practise()
	p.place("#/progress")
	p.see("Time against the plan")
	p.do(func() error {
		return p.tab.Wait("the charts", `[...document.querySelectorAll("article.skill:has(.milestones)")].every((a) => a.querySelector(".chart"))`)
	})
	p.shot("progress", true)
	p.place("#/history")
	p.see("Balls in each session")
	p.shot("history", true)
	p.do(func() error {
		_, err := chrome.Eval[bool](p.tab, "document.querySelectorAll('a.session')[4].click() ?? true")
		return err
	})
	p.see("Delete this session")
	p.shot("session", true)
	p.press("Delete this session")
	p.see("Delete it")
	p.shot("session-delete", false)
	p.press("Keep it")
	p.place("#/lessons")
	p.see("Lesson")
	p.shot("lessons", true)
	p.do(func() error {
		_, err := chrome.Eval[bool](p.tab, "[...document.querySelectorAll('a.session')].at(-1).click() ?? true")
		return err
	})
	p.see("Keep in mind")
	p.shot("lesson", true)
	p.place("#/rounds")
	p.see("strokes gained")
	p.shot("rounds", true)
	p.press("Log a round")
	p.see("Where it stopped")
	p.shot("round", true)
	p.place("#/settings")
	p.see("Signals for each ball")
	p.shot("settings", true)
	p.press("Sign out")
	p.see("Stay signed in")
	p.shot("settings-sign-out", false)
	p.press("Stay signed in")
	p.open("/account")
	p.see("You sign in with")
	p.shot("account", true)
	p.fill("Your password", demoPassword)
	p.press("Set up an app")
	p.see("scan this picture")
	p.shot("account-app", true)
	p.open("/green#/settings")
	p.see("Signals for each ball")
	p.press("Your goal, competitions and off-season")
	p.see("What you play for")
	p.shot("season", true)
	p.press("Change your season")
	p.shot("season-change", true)
	p.place("#/settings")
	p.press("Your clubs and their lofts")
	p.see("The plan names your clubs")
	p.shot("clubs", true)
	p.press("your clubs")
	p.shot("clubs-change", true)
	p.place("#/settings")
	p.press("How to log a ball")
	p.see("Tap Out.")
	p.press("Out")
	p.shot("first", false)
	p.press("In")
	p.press("Holed")
	p.press("Out, right")
	p.see("Lay a wedge on the green")
	p.shot("first-circle", false)
}

// retest is the start of a session with a retest.
func (p *photographer) retest() {
	p.place("#/now")
	p.see("What makes a good session")
	p.press("Start")
	p.see("Is it held?")
	p.shot("ready-retest", true)
	p.press("Start with 10 cold balls")
	p.see("Retest: your first 10 balls")
	p.press("In")
	p.press("Out")
	p.shot("practice-retest", false)
	p.press("More")
	p.press("End the session")
	p.press("End it")
	p.see("Session summary")
	p.shot("after-retest", true)
}

// practise is the practice screen in its states.
func (p *photographer) practise() {
	p.place("#/now")
	p.see("What makes a good session")
	p.press("Start")
	p.press("Start practice")
	p.see("Block 1 of ")
	p.shot("practice-start", false)
	p.press("In")
	p.press("Holed")
	p.press("Out")
	p.press("In")
	p.press("to the hole")
	p.shot("practice-block-1", false)
	for at := 2; at <= p.blocks(); at++ {
		p.press("Next")
		p.see(fmt.Sprintf("Block %d of ", at))
		p.press("Out")
		for range 6 {
			p.press("In")
		}
		p.shot(fmt.Sprintf("practice-block-%d", at), false)
	}
	p.press("More")
	p.see("End the session")
	p.shot("practice-more", false)
	p.press("Back to practice")
	p.press("Pause")
	p.see("Paused")
	p.shot("practice-paused", false)
	p.press("Go on")
	p.press("End")
	p.see("End the session?")
	p.shot("practice-end", false)
	p.press("End it")
	p.see("Session summary")
	p.see(" %)")
	p.shot("after", true)
	p.do(func() error { p.service.Wire.Cut(); return nil })
	p.press("Ball by ball")
	p.see("Add a ball")
	p.press("Ball 1 In")
	p.see("Change it")
	p.shot("session-ball", false)
	p.press("Remove this ball")
	p.see("Not saved yet")
	p.press("Save")
	p.see("No changes")
	p.place("#/history")
	p.see("not sent")
	p.shot("history-unsent", true)
	p.do(func() error { p.service.Wire.Mend(); return nil })
	p.press("Send now")
	p.see("All sent")
}

// blocks is how many blocks the session on the practice screen has.
func (p *photographer) blocks() (n int) {
	p.do(func() (err error) {
		n, err = chrome.Eval[int](p.tab, `Number(document.body.innerText.match(/Block \d+ of (\d+)/)[1])`)
		return err
	})
	return n
}

// empty are the states of a student who has nothing yet, and of very long names.
func (p *photographer) empty() {
	p.signIn("/green", p.long.StudentEmail, fixture.Password)
	p.see("What makes a good session")
	p.shot("now-long", true)
	p.press("Start")
	p.see("Before the first ball")
	p.shot("ready-long", true)
	p.press("Start practice")
	p.see("Block 1 of ")
	p.shot("practice-long", false)
	p.press("Next")
	p.see("Block 2 of ")
	p.press("Next")
	p.see("Block 3 of ")
	p.press("Set up")
	p.see("The green today")
	p.shot("green-today", false)
	p.press("Use this green")
	p.see("Set up the stations")
	p.shot("stations", false)
	p.do(func() error {
		_, err := chrome.Eval[bool](p.tab, `(document.querySelector("dialog[open]").scrollTo(0, 1e6), true)`)
		return err
	})
	p.shot("stations-end", false)
	p.press("Go on practising")
	p.place("#/now")
	p.see("What makes a good session")
	p.shot("now-going", true)
	p.press("Start")
	p.press("Start practice")
	p.see("You are still in a session")
	p.shot("ready-going", false)
	p.place("#/progress")
	p.see("due by now") // the one that has begun, from the second round on
	p.shot("progress-empty", true)
	p.press("History")
	p.shot("history-empty", true)
	p.do(func() error { p.service.Wire.Cut(); return nil })
	p.do(func() error { return p.tab.Go("#/session/01a211ef-1832-783f-b732-da2d950732d5") })
	p.see("could not be loaded")
	p.shot("session-failed", true)
	p.do(func() error { p.service.Wire.Mend(); return nil })
}

// longNames makes an academy whose every name is as long as it may be, or
// nearly so.
func longNames(ctx context.Context, s *fixture.Service) (*fixture.Academy, error) {
	return s.Found(ctx, func(a *fixture.Academy) {
		a.OwnerEmail, a.StudentEmail = "owner.long@example.org", "student.long@example.org"
		a.StudentName = "Wilhelmina-Charlotte Featherstonehaugh-Rottenberger van der Oudekerk"
		a.PlanName = strings.TrimSpace(strings.Repeat("A long session with a very long name ", 3))
		a.ProgrammeName = "Donaudampfschifffahrtsgesellschaftsprogramm for the short game around every kind of green"
		a.SkillPrefix = "Extraordinarily low "
		a.Text = strings.Repeat("Look at the landing spot, then at the ball; swing without hurry. ", 6)
		a.Start = s.Clock.Now()
	})
}
