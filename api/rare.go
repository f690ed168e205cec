package api

import (
	"errors"
	"time"

	"fringework/auth"
)

// RareProblems are what a test does not provoke, for the description to show: 429 by
// the limit of a member, 500, and 503 by a calculation.
func RareProblems() []Problem {
	answered := func(err error, instance string) Problem {
		p := ProblemOf(err)
		p.Instance, p.RequestID = instance, "5b0d2c6e-8f7a-4c1d-9e3b-2a6f4d8c1b70"
		return p
	}
	return []Problem{
		answered(tooMany(auth.Standing{Policy: "member", Limit: 600, Wait: 7 * time.Second}), "/v1/dashboard"),
		answered(errors.New("what went wrong is in the service's log alone"), "/v1/programmes"),
		answered(tooMuchToCalculate(), "/v1/calc/time-to-tier"),
	}
}
