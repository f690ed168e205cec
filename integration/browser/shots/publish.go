package main

import (
	"fmt"
	"strings"
)

// publishing is what a coach sees before and after publishing: the plans as on a
// phone, what changes for whom, and what a ladder takes.
func (p *photographer) publishing() {
	p.signInDesk(demoCoach, demoPassword)
	p.place("#/skills")
	p.heading("Skills and ladders")
	p.place(p.link("#/skill/01"))
	p.see("within 4 sessions")
	p.shot("desk-ladder", true)
	p.press("Show as table")
	p.shot("desk-ladder-table", true)
	p.place("#/programmes")
	p.heading("Programmes")
	programme := p.link("#/programme/")
	p.place(programme)
	p.see("Ready to publish")
	p.press("Preview")
	p.see("As the student will see it")
	p.shot("desk-preview", false)
	p.fill("Day", "Green closed: chipping mat")
	p.see("listen: ball first")
	p.shot("desk-preview-day", false)
	p.press("Later")
	p.press("Later")
	p.shot("desk-preview-later", false)
	p.press("Close")
	p.fill("Title", fmt.Sprintf("Up, over and down again: %s, %d wide", p.scheme, p.size[0])) // every look publishes
	p.fill("Minutes", "70")
	p.see("Saved.")
	p.press("Publish version")
	p.see("Publish it")
	p.shot("desk-publish", false)
	p.press("Move all")
	p.shot("desk-publish-move", false)
	p.press("Publish it")
	p.see("is published")
	p.shot("desk-published", false)
	p.press("Keep editing")
	p.place("#/versions/" + strings.TrimPrefix(programme, "#/programme/"))
	p.see("Week 1")
	p.shot("desk-versions", true)
}
