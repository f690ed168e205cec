package practice

import (
	"time"

	"fringework/domain/progress"
)

// A gap between two balls counts as at most longestGap, so that a break is none of the
// pace; and it takes leastGaps to tell one (our choice).
const (
	longestGap = 5 * time.Minute
	leastGaps  = 3
)

// paces says how the balls of each kind of block followed each other; nothing where
// the phone did not say when they were struck, or off the green.
func (s Session) paces() []progress.KindPace {
	if s.Surface.Off() {
		return nil
	}
	var all []progress.KindPace
	for _, b := range s.Blocks {
		balls, span := b.spread()
		if balls < leastGaps {
			continue
		}
		p := progress.KindPace{Kind: string(b.Kind), Balls: balls, Seconds: int(span.Seconds())}
		if i := len(all) - 1; i >= 0 && all[i].Kind == p.Kind {
			all[i].Balls, all[i].Seconds = all[i].Balls+p.Balls, all[i].Seconds+p.Seconds
			continue
		}
		all = append(all, p)
	}
	return all
}

// spread counts the balls struck after the block's first, and how long they took.
// Balls that were logged all at once follow the ones before them.
func (b Block) spread() (balls int, span time.Duration) {
	var last time.Duration
	for _, x := range b.Balls {
		switch {
		case x.After == 0:
		case last == 0:
			last = x.After
		case x.After > last:
			span += min(longestGap, x.After-last)
			last = x.After
			balls++
		case balls > 0:
			balls++
		}
	}
	return balls, span
}
