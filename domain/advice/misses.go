package advice

import (
	"fmt"
	"strings"

	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// fewMisses is how many misses are too few to speak of a lean at all (common
// practice, no source).
const fewMisses = 8

// Leaning is what Lean says where the misses lean one way; empty where they do not, or
// are too few.
func Leaning(m progress.Misses) string {
	if text := Lean(m); strings.HasPrefix(text, "Mostly") {
		return text
	}
	return ""
}

// Lean says which way misses lean, where that is clear: "Mostly short: 14 of the
// 17 that were short or long; the true share is probably 60 to 95 %."
func Lean(m progress.Misses) string {
	var parts []string
	for _, axis := range [...]struct {
		one, other    string
		first, second int
	}{{"short", "long", m.Short, m.Long}, {"left", "right", m.Left, m.Right}} {
		_, within, sure := estimate.Lean(axis.first, axis.second)
		if !sure || m.Told() < fewMisses {
			continue
		}
		most, many, both := axis.one, axis.first, axis.one+" or "+axis.other
		if axis.second > axis.first {
			most, many = axis.other, axis.second
			within = estimate.Interval{Lo: 1 - within.Hi, Hi: 1 - within.Lo}
		}
		parts = append(parts, fmt.Sprintf("Mostly %s: %d of the %d that were %s; the true share is probably %.0f to %.0f %%.", most, many, axis.first+axis.second, both, 100*within.Lo, 100*within.Hi))
	}
	switch {
	case len(parts) > 0:
		return strings.Join(parts, " ")
	case m.Told() < fewMisses:
		return "Too few to say which way they lean."
	}
	return "They lean no clear way."
}
