package progress

import (
	"math"
	"slices"

	"fringework/domain/curriculum"
)

// KindPace is how the balls of a kind of block followed each other in a session:
// Balls after the first one, in so many seconds, breaks left out.
type KindPace struct {
	Kind           string
	Balls, Seconds int
}

// Pace is how many balls a student strikes an hour in a kind of block, or how many
// places they play out.
type Pace struct {
	Kind  curriculum.BlockKind
	AHour float64
	// Sessions is how many of the student's it rests on; with none it is the usual.
	Sessions int
}

const (
	// usualSessions is for how many sessions the usual pace stands, and wholeBalls is
	// how many balls make a session count as a whole one (our choice).
	usualSessions = 2
	wholeBalls    = 10
	// mostOff is how many times as fast or as slow as the middle one of the student's
	// sessions another is taken to be at most: a forgotten phone moves little.
	mostOff = 2
	// notPlayed is from how many times as fast or as slow as usual a session says
	// nothing: nobody plays like that, but a card is typed in like that.
	notPlayed = 4
)

// Pace is the student's pace in a kind of block: the mean of the logarithms over the
// last sessions that tell it, none of them farther than mostOff from the middle one,
// drawn to the usual pace as if that had been seen in usualSessions more.
func (h Habit) Pace(kind curriculum.BlockKind) Pace {
	usual := math.Log(kind.UsualPace().Middle())
	var logs, weights []float64
	for _, s := range h.Recent {
		for _, p := range s.Paces {
			if p.Kind != string(kind) || p.Balls == 0 || p.Seconds == 0 {
				continue
			}
			if x := math.Log(3600 * float64(p.Balls) / float64(p.Seconds)); math.Abs(x-usual) < math.Log(notPlayed) {
				logs = append(logs, x)
				weights = append(weights, min(1, float64(p.Balls)/wholeBalls))
			}
		}
	}
	sum, of := usualSessions*usual, float64(usualSessions)
	if len(logs) > 0 {
		sorted := slices.Sorted(slices.Values(logs))
		middle := (sorted[(len(sorted)-1)/2] + sorted[len(sorted)/2]) / 2
		for i, x := range logs {
			sum += weights[i] * min(middle+math.Log(mostOff), max(middle-math.Log(mostOff), x))
			of += weights[i]
		}
	}
	return Pace{Kind: kind, AHour: math.Exp(sum / of), Sessions: len(logs)}
}

// Paces are those of all kinds, in the usual order of a session.
func (h Habit) Paces() []Pace {
	kinds := curriculum.BlockKinds()
	all := make([]Pace, len(kinds))
	for i, k := range kinds {
		all[i] = h.Pace(k)
	}
	return all
}
