package domain

import (
	"fmt"
	"strings"
	"sync"
	"time"
)

// Date is a day of the Gregorian calendar, of nobody's time zone in particular.
// The zero Date is no day.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// DateOf gives the day on which an instant falls in a zone.
func DateOf(t time.Time, zone *time.Location) Date {
	y, m, d := t.In(zone).Date()
	return Date{y, m, d}
}

// ParseDate reads an ISO 8601 calendar date, "2026-05-04".
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q is not a date; write it as YYYY-MM-DD", s)
	}
	return DateOf(t, time.UTC), nil
}

// String writes the date as ISO 8601; the zero Date is the empty string.
func (d Date) String() string {
	if d == (Date{}) {
		return ""
	}
	return d.noon().Format(time.DateOnly)
}

// noon is a stand-in instant for arithmetic on days; UTC has no clock changes.
func (d Date) noon() time.Time { return time.Date(d.Year, d.Month, d.Day, 12, 0, 0, 0, time.UTC) }

// AddDays gives the date n days later, or earlier when n is negative.
func (d Date) AddDays(n int) Date { return DateOf(d.noon().AddDate(0, 0, n), time.UTC) }

// DaysUntil counts the days from d to e; negative when e is earlier.
func (d Date) DaysUntil(e Date) int {
	const day = 24 * 60 * 60 // a Duration would not reach beyond 292 years
	return int((e.noon().Unix() - d.noon().Unix()) / day)
}

// Before reports whether d is earlier than e.
func (d Date) Before(e Date) bool { return d.DaysUntil(e) > 0 }

// Weekday gives the ISO 8601 weekday, Monday 1 to Sunday 7.
func (d Date) Weekday() int { return (int(d.noon().Weekday())+6)%7 + 1 }

// Monday gives the first day of the ISO 8601 week that d is in: the practice
// week that its balls and minutes are counted in.
func (d Date) Monday() Date { return d.AddDays(1 - d.Weekday()) }

// ISOWeek gives the ISO 8601 week date's year and week.
func (d Date) ISOWeek() (year, week int) { return d.noon().ISOWeek() }

// Start gives the first instant of the day in a zone. Where the clock skips
// midnight, that is the first instant after the gap; where midnight happens
// twice, the first of the two.
func (d Date) Start(zone *time.Location) time.Time {
	midnight := time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC)
	// No zone is two days away from UTC, so this is before the day everywhere.
	for at := midnight.AddDate(0, 0, -2).In(zone); ; {
		_, offset := at.Zone()
		_, end := at.ZoneBounds()
		start := midnight.Add(-time.Duration(offset) * time.Second)
		if start.Before(at) {
			start = at // the change of the clock skipped midnight
		}
		if end.IsZero() || start.Before(end) {
			return start.In(zone)
		}
		at = end
	}
}

// zones are those that were found, since finding one reads a file; there are some
// hundreds.
var zones sync.Map

// Zone finds a time zone by its IANA name.
func Zone(name string) (*time.Location, error) {
	if known, ok := zones.Load(name); ok {
		return known.(*time.Location), nil
	}
	zone, err := time.LoadLocation(name)
	if name == "" || ofMachine(name) || err != nil {
		return nil, Errorf(Invalid, "time_zone", "%q is not a time zone; use an IANA name such as Europe/Lisbon", name)
	}
	zones.Store(name, zone)
	return zone, nil
}

// ofMachine reports whether a name that a machine may know is not the IANA's:
// another machine would read it differently, or not at all.
func ofMachine(name string) bool {
	switch name {
	case "Local", "localtime", "posixrules", "Factory":
		return true
	}
	return strings.HasPrefix(name, "right/") || strings.HasPrefix(name, "posix/")
}
