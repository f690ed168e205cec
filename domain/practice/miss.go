package practice

import (
	"slices"

	"fringework/domain"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Miss is which way a ball that is out missed, seen from where it was played.
type Miss string

// The ways. A ball that went no one of them above all is left without.
const (
	MissShort Miss = "short"
	MissLong  Miss = "long"
	MissLeft  Miss = "left"
	MissRight Miss = "right"
)

// Misses lists them.
func Misses() []Miss { return []Miss{MissShort, MissLong, MissLeft, MissRight} }

// Contact is how a ball was struck that was not struck cleanly.
type Contact string

// The contacts: too high on the ball, and the ground first.
const (
	ContactThin Contact = "thin"
	ContactFat  Contact = "fat"
)

// Contacts lists them.
func Contacts() []Contact { return []Contact{ContactThin, ContactFat} }

// checkMiss notes what is wrong with how a ball missed, and how it was struck.
func (b Ball) checkMiss(p *domain.Problems, at string) {
	switch {
	case b.Miss == "":
	case !slices.Contains(Misses(), b.Miss):
		p.Add(at+"/miss", "%q is no way to miss; use short, long, left or right, or leave it out", b.Miss)
	case b.Outcome != streak.Out:
		p.Add(at+"/miss", "only a ball that is out missed; leave it out or make the ball \"out\"")
	}
	if b.Contact != "" && !slices.Contains(Contacts(), b.Contact) {
		p.Add(at+"/contact", "%q is no contact; use thin or fat, or leave it out", b.Contact)
	}
}

// misses counts how the block's balls missed.
func (b Block) misses() (m progress.Misses) {
	for _, x := range b.Balls {
		switch x.Miss {
		case MissShort:
			m.Short++
		case MissLong:
			m.Long++
		case MissLeft:
			m.Left++
		case MissRight:
			m.Right++
		}
		switch x.Contact {
		case ContactThin:
			m.Thin++
		case ContactFat:
			m.Fat++
		}
	}
	return m
}
