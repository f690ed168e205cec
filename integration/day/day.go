// Package day says which day it is for tests: a fixed one, or the one that
// FRINGEWORK_TEST_TODAY names, never the machine's.
package day

import (
	"fmt"
	"os"
	"time"

	"fringework/cmd/fringework/clock"
)

// Variable names another day, such as 2026-12-31.
const Variable = "FRINGEWORK_TEST_TODAY"

// fixed is a Wednesday without anything special.
const fixed = "2026-05-06"

// Clock shows ten in the morning of the day (UTC) when it is made. No test takes
// so long that a day ends in one of the zones that tests use.
func Clock() (clock.Clock, error) {
	text := fixed
	if wanted := os.Getenv(Variable); wanted != "" {
		text = wanted
	}
	date, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return clock.Clock{}, fmt.Errorf("%s is %q; want a day such as 2026-12-31", Variable, text)
	}
	return clock.From(date.Add(10 * time.Hour)), nil
}
