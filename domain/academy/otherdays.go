package academy

import "fringework/domain/curriculum"

// OtherDay is a plan as a student plays it on a day that goes otherwise.
type OtherDay struct {
	curriculum.Day
	Plan curriculum.Plan
	Kit  curriculum.Kit
	// Decks are the tasks of each block, nil where none are dealt.
	Decks [][]curriculum.Stop
}

// Kit is what to bring for a plan of the work; week and plan are 1-based.
func (w Work) Kit(week, plan int) curriculum.Kit {
	of := w.Weeks[week-1]
	return of.Plans[plan-1].Kit(curriculum.Day{}, w.Version.ShotOf(of))
}

// OtherDays gives the versions of a plan of the work for days that go otherwise; week
// and plan are 1-based. Tasks are dealt as those of the plan are, for each version
// apart. There is no walk around a hole where there is no green.
func (n Now) OtherDays(w Work, week, plan int) (all []OtherDay) {
	of := w.Weeks[week-1]
	shot := w.Version.ShotOf(of)
	for _, day := range curriculum.Days() {
		p, ok := of.Plans[plan-1].Variant(day, shot)
		if !ok {
			continue
		}
		other := OtherDay{Day: day, Plan: p, Kit: p.Kit(day, shot), Decks: make([][]curriculum.Stop, len(p.Blocks))}
		for i := range p.Blocks {
			deck := n.deck(w, week, plan, i+1, p, day)
			for j := range deck {
				if day.Surface.Off() {
					deck[j].Hour, deck[j].Walk = 12, 0
				}
			}
			other.Decks[i] = deck
		}
		all = append(all, other)
	}
	return all
}
