package api

import "fringework/domain/academy"

// PracticeLoad is how much a student practises, at all skills and cards included,
// compared with lately.
type PracticeLoad struct {
	// Weeks are the present practice week, last, and the four before it.
	Weeks []LoadWeek `json:"weeks" binding:"required"`
	// Text says it in a sentence.
	Text string `json:"text" binding:"required" example:"120 balls in 45 minutes this week so far: about the usual 100 balls in 60 minutes."`
	// Caution is there when the load rose a lot, and Why says what it rests on: the
	// limit is our own choice.
	Caution string `json:"caution,omitempty"`
	Why     string `json:"why,omitempty"`
	// Rule always holds; it is there for juniors, and with a caution.
	Rule string `json:"rule,omitempty"`
} // @name PracticeLoad

// LoadWeek is what was practised in one week.
type LoadWeek struct {
	// Week is its Monday.
	Week string `json:"week" binding:"required" format:"date"`
	// Balls is how many balls were struck in the week.
	Balls int `json:"balls" binding:"required" example:"120"`
	// Minutes is how long was practised in the week.
	Minutes float64 `json:"minutes" binding:"required" example:"45"`
} // @name LoadWeek

func encodeLoad(l *academy.StudentLoad) PracticeLoad {
	if l == nil {
		return PracticeLoad{Weeks: []LoadWeek{}}
	}
	out := PracticeLoad{Text: l.Text, Caution: l.Caution, Why: l.Why, Rule: l.Rule}
	for i, w := range l.Weeks {
		out.Weeks = append(out.Weeks, LoadWeek{Week: l.First.AddDays(7 * i).String(), Balls: w.Balls, Minutes: w.Minutes})
	}
	return out
}
