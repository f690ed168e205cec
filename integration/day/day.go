// Package day says which day it is for tests, and in which time zone people are:
// fixed ones, or those that FRINGEWORK_TEST_TODAY and FRINGEWORK_TEST_ZONE name,
// never the machine's.
package day

import (
	"fmt"
	"os"
	"testing"
	"time"

	"fringework/cmd/fringework/clock"
)

const (
	dayVariable  = "FRINGEWORK_TEST_TODAY"
	zoneVariable = "FRINGEWORK_TEST_ZONE"
	// usual is a Wednesday without anything special.
	usual = "2026-05-06"
)

// Zone is the time zone of academies and students that a test says nothing of.
func Zone() string {
	if wanted := os.Getenv(zoneVariable); wanted != "" {
		return wanted
	}
	return "Europe/Lisbon"
}

// Clock shows ten in the morning of the day (UTC) when it is made. No test takes
// so long that a day ends in one of the zones that tests use.
func Clock() (clock.Clock, error) {
	text := usual
	if wanted := os.Getenv(dayVariable); wanted != "" {
		text = wanted
	}
	date, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return clock.Clock{}, fmt.Errorf("%s is %q; want a day such as 2026-12-31", dayVariable, text)
	}
	return clock.From(date.Add(10 * time.Hour)), nil
}

// Test checks that now, by the clock that the tests share, is on the day asked
// for. A package whose TestMain makes the clock calls it from a test, since Go's
// cache of results knows only what the tests themselves look up.
func Test(t testing.TB, now time.Time) {
	t.Helper()
	asked, err := Clock()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := now.UTC().Format(time.DateOnly), asked.Now().UTC().Format(time.DateOnly); got != want {
		t.Errorf("the tests are on %s; want %s", got, want)
	}
}
