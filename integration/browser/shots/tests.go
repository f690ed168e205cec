package main

import (
	"fmt"
	"time"

	"fringework/integration/browser/fixture"
)

// tests are a first test, what it proposes to the student and to the coach, and what
// both see of it afterwards, in an academy of its own.
func (p *photographer) tests() {
	var a *fixture.Academy
	p.do(func() (err error) {
		a, err = p.service.Found(p.ctx, func(a *fixture.Academy) {
			name := fmt.Sprintf("test.%d.%s", p.size[0], p.scheme)
			a.OwnerEmail, a.StudentEmail = "owner."+name+"@example.org", "student."+name+"@example.org"
			a.Start = p.service.Clock.Now().Add(72 * time.Hour)
		})
		return err
	})
	if p.err != nil {
		return
	}
	p.signIn("/green", a.StudentEmail, fixture.Password)
	p.see("First test of 20 balls")
	p.shot("now-tests", true)
	p.press("First test")
	p.see("Twenty balls from one spot")
	p.shot("tests", true)
	p.press("Start: 20 balls")
	p.see("of 20 balls left")
	p.shot("test-start", false)
	for range 4 {
		p.press("In")
	}
	for range 8 {
		p.press("Out")
	}
	p.shot("test-going", false)
	p.press("Stop")
	p.see("8 to go")
	p.shot("tests-stopped", true)
	p.press("Strike the last 8")
	p.see("of 20 balls left")
	for range 8 {
		p.press("Out")
	}
	p.see("That is all")
	p.shot("test-done", false)
	p.press("Done")
	p.see("Where to begin")
	p.shot("tests-start", true)
	p.do(func() error { return p.tab.Open(p.service.URL + "/green#/progress") })
	p.see("First and end tests")
	p.shot("progress-tests", true)
	defer p.another()()
	p.signInDesk(a.OwnerEmail, fixture.Password)
	p.at("tests-student", "#/student/"+a.StudentID, a.StudentName)
	p.at("tests-proposals", "#/proposals", "Next week")
	p.at("tests-assign", "#/assign", "Assign")
}
