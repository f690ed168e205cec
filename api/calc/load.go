package calc

import (
	"fringework/domain"
	"fringework/domain/advice"
)

var load = define[loadIn, LoadOut]("load",
	"Compares the balls and minutes of a week with the mean of the four weeks before, in words, with a caution where they are far above it. The limit of the caution is our own choice: none is published, and ratios of this kind are criticised. The weeks are five, the present one last.",
	`{"weeks":[{"balls":120,"minutes":70},{"balls":90,"minutes":60},{"balls":0,"minutes":0},{"balls":110,"minutes":65},{"balls":260,"minutes":150}],"junior":true}`, answerLoad)

// loadIn is the input of load.
type loadIn struct {
	// Weeks are the weeks from the oldest to the present one.
	Weeks *[]loadWeekIn `json:"weeks" validate:"required"`
	// Junior may be left out.
	Junior bool `json:"junior"`
}

// loadWeekIn is the practice of one week.
type loadWeekIn struct {
	// Balls is how many balls were struck in the week.
	Balls *int `json:"balls" validate:"required"`
	// Minutes is how long was practised in the week.
	Minutes *float64 `json:"minutes" validate:"required"`
}

// LoadOut is the answer of load.
type LoadOut struct {
	// Balls is how the number of balls changed.
	Balls LoadChangeOut `json:"balls"`
	// Minutes is how the time of practice changed.
	Minutes LoadChangeOut `json:"minutes"`
	Text    string        `json:"text"`
	// Caution is null unless the load rose a lot; so is Why, what it rests on.
	Caution *string `json:"caution"`
	Why     *string `json:"why"`
	// Rule always holds; it is null but for juniors and beside a caution.
	Rule *string `json:"rule"`
}

// LoadChangeOut is the present week beside the mean of the four before; Ratio is
// null where that is 0.
type LoadChangeOut struct {
	// Now is the present week's.
	Now float64 `json:"now"`
	// Before is the mean of the weeks before.
	Before float64 `json:"before"`
	// Ratio is the one over the other; null without weeks before.
	Ratio *float64 `json:"ratio"`
}

func answerLoad(in loadIn, p *domain.Problems) (any, error) {
	given := need(p, "/weeks", in.Weeks)
	weeks := make([]advice.LoadWeek, len(given))
	for i, w := range given {
		weeks[i] = advice.LoadWeek{Balls: need(p, at("/weeks", i)+"/balls", w.Balls), Minutes: need(p, at("/weeks", i)+"/minutes", w.Minutes)}
	}
	if advice.CheckLoad(p, "/weeks", weeks); len(p.Fields()) > 0 {
		return nil, nil
	}
	l := advice.LoadOf([advice.LoadWeeks]advice.LoadWeek(weeks), in.Junior)
	return LoadOut{
		Balls: loadChangeOut(l.Balls), Minutes: loadChangeOut(l.Minutes), Text: l.Text,
		Caution: textIf(l.Caution), Why: textIf(l.Why), Rule: textIf(l.Rule),
	}, nil
}

func loadChangeOut(c advice.LoadChange) LoadChangeOut {
	return LoadChangeOut{Now: c.Now, Before: c.Before, Ratio: finite(c.Ratio)}
}

// textIf is nil for no text.
func textIf(text string) *string {
	if text == "" {
		return nil
	}
	return &text
}
