package domain_test

import (
	"encoding/json"
	"os"
	"slices"
	"testing"
	"time"
	_ "time/tzdata" // for machines without a time zone database

	"fringework/domain"

	"pgregory.net/rapid"
)

// calendarCase is a case of testdata/calendar.json, whose head names the
// sources.
type calendarCase struct {
	ID       string
	Kind     string
	Inputs   json.RawMessage
	Expected json.RawMessage
}

func TestCalendarReference(t *testing.T) {
	raw, err := os.ReadFile("testdata/calendar.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Cases []calendarCase }
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	check := map[string]func(*testing.T, calendarCase){
		"iso_week": isoWeek, "years_with_53_weeks": longYears, "local_week": localWeek, "week_bounds": weekBounds,
	}
	if len(file.Cases) != 32 {
		t.Errorf("read %d cases, want 32", len(file.Cases))
	}
	for _, c := range file.Cases {
		t.Run(c.Kind+"/"+c.ID, func(t *testing.T) { check[c.Kind](t, c) })
	}
}

func decode(t *testing.T, raw json.RawMessage, v any) {
	t.Helper()
	if err := json.Unmarshal(raw, v); err != nil {
		t.Fatal(err)
	}
}

func date(t *testing.T, s string) domain.Date {
	t.Helper()
	d, err := domain.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := domain.Zone(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// weekDate is what a case expects of a date.
type weekDate struct {
	Year  int    `json:"iso_year"`
	Week  int    `json:"iso_week"`
	Day   int    `json:"iso_weekday"`
	Local string `json:"local_date"`
	Start string `json:"week_start_date"`
}

func isoWeek(t *testing.T, c calendarCase) {
	var in struct{ Date string }
	var want weekDate
	decode(t, c.Inputs, &in)
	decode(t, c.Expected, &want)
	d := date(t, in.Date)
	year, week := d.ISOWeek()
	if year != want.Year || week != want.Week || d.Weekday() != want.Day {
		t.Errorf("%s: got %d-W%d-%d, want %d-W%d-%d", d, year, week, d.Weekday(), want.Year, want.Week, want.Day)
	}
}

func longYears(t *testing.T, c calendarCase) {
	var in struct {
		From int `json:"from_year"`
		To   int `json:"to_year"`
	}
	var want, got []int
	decode(t, c.Inputs, &in)
	decode(t, c.Expected, &want)
	for y := in.From; y <= in.To; y++ {
		// 28 December is always in the last week.
		if _, week := (domain.Date{Year: y, Month: time.December, Day: 28}).ISOWeek(); week == 53 {
			got = append(got, y)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("years with 53 weeks: got %v, want %v", got, want)
	}
}

func localWeek(t *testing.T, c calendarCase) {
	var in struct {
		At time.Time `json:"instant_utc"`
		TZ string
	}
	var want weekDate
	decode(t, c.Inputs, &in)
	decode(t, c.Expected, &want)
	d := domain.DateOf(in.At, zone(t, in.TZ))
	if d.String() != want.Local {
		t.Errorf("%s in %s is the day %s, want %s", in.At, in.TZ, d, want.Local)
	}
	year, week := d.ISOWeek()
	if d.Monday().String() != want.Start || year != want.Year || week != want.Week || d.Weekday() != want.Day {
		t.Errorf("%s: got the week of %s, %d-W%d-%d, want of %s, %d-W%d-%d",
			d, d.Monday(), year, week, d.Weekday(), want.Start, want.Year, want.Week, want.Day)
	}
}

func weekBounds(t *testing.T, c calendarCase) {
	var in struct {
		Start string `json:"week_start_date"`
		TZ    string
	}
	var want struct {
		Start time.Time `json:"start_utc"`
		End   time.Time `json:"end_utc"`
		Hours float64
	}
	decode(t, c.Inputs, &in)
	decode(t, c.Expected, &want)
	z, monday := zone(t, in.TZ), date(t, in.Start)
	start, end := monday.Start(z), monday.AddDays(7).Start(z)
	if !start.Equal(want.Start) || !end.Equal(want.End) || end.Sub(start).Hours() != want.Hours {
		t.Errorf("week of %s in %s: got %s to %s, want %s to %s (%v h)", monday, in.TZ, start.UTC(), end.UTC(), want.Start, want.End, want.Hours)
	}
}

// TestStartOfDay holds the first instant of days whose midnight the clock skips
// or repeats. Transitions: IANA time zone database 2025b, read with zdump.
func TestStartOfDay(t *testing.T) {
	for _, c := range []struct{ why, zone, day, want string }{
		{"midnight skipped, west", "America/Santiago", "2025-09-07", "2025-09-07T04:00:00Z"},
		{"midnight skipped, east", "Asia/Beirut", "2025-03-30", "2025-03-29T22:00:00Z"},
		{"midnight skipped", "Africa/Cairo", "2025-04-25", "2025-04-24T22:00:00Z"},
		{"midnight skipped", "America/Havana", "2025-03-09", "2025-03-09T05:00:00Z"},
		{"midnight repeated, west", "America/Havana", "2025-11-02", "2025-11-02T04:00:00Z"},
		{"midnight repeated, east", "Asia/Amman", "2014-10-31", "2014-10-30T21:00:00Z"},
		{"midnight repeated at UTC", "Atlantic/Azores", "2025-10-26", "2025-10-26T00:00:00Z"},
		{"midnight repeated by half an hour", "Asia/Colombo", "2006-04-15", "2006-04-14T18:00:00Z"},
		{"midnight repeated by three hours", "Antarctica/Casey", "2010-03-05", "2010-03-04T13:00:00Z"},
		{"back to the day before after a minute", "America/St_Johns", "2010-11-07", "2010-11-07T02:30:00Z"},
		{"the day skipped", "Pacific/Apia", "2011-12-30", "2011-12-30T10:00:00Z"},
		{"the day after the one skipped", "Pacific/Apia", "2011-12-31", "2011-12-30T10:00:00Z"},
		{"the day before the one skipped", "Pacific/Apia", "2011-12-29", "2011-12-29T10:00:00Z"},
		{"no change of the clock", "UTC", "2026-05-04", "2026-05-04T00:00:00Z"},
	} {
		got := date(t, c.day).Start(zone(t, c.zone)).UTC().Format(time.RFC3339)
		if got != c.want {
			t.Errorf("%s: %s in %s starts at %s, want %s", c.why, c.day, c.zone, got, c.want)
		}
	}
}

// TestStartProperty holds what the first instant of a day means, in zones with
// every sort of clock change.
func TestStartProperty(t *testing.T) {
	names := []string{"America/Santiago", "Asia/Beirut", "Africa/Cairo", "America/Havana", "Australia/Lord_Howe",
		"Europe/Lisbon", "Pacific/Kiritimati", "Pacific/Honolulu", "Asia/Kathmandu", "UTC"}
	rapid.Check(t, func(t *rapid.T) {
		z, err := domain.Zone(rapid.SampledFrom(names).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		d := domain.Date{Year: 2000, Month: 1, Day: 1}.AddDays(rapid.IntRange(0, 30*365).Draw(t, "day"))
		start := d.Start(z)
		if got := domain.DateOf(start, z); got != d {
			t.Fatalf("%s starts at %s, which is on %s", d, start, got)
		}
		if before := domain.DateOf(start.Add(-time.Second), z); !before.Before(d) {
			t.Fatalf("%s starts at %s, but a second before is on %s", d, start, before)
		}
	})
}

func TestDateArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := domain.Date{Year: rapid.IntRange(1, 9000).Draw(t, "year"), Month: 1, Day: 1}.AddDays(rapid.IntRange(0, 365).Draw(t, "day"))
		n := rapid.IntRange(-400_000, 400_000).Draw(t, "n")
		e := d.AddDays(n)
		if got := d.DaysUntil(e); got != n {
			t.Fatalf("%v and %d days make %v, which is %d days away", d, n, e, got)
		}
		if d.Before(e) != (n > 0) {
			t.Fatalf("%v before %v: got %v, want %v", d, e, d.Before(e), n > 0)
		}
		if m := d.Monday(); m.Weekday() != 1 || m.DaysUntil(d) != d.Weekday()-1 {
			t.Fatalf("the Monday of %v (weekday %d) is %v (weekday %d)", d, d.Weekday(), m, m.Weekday())
		}
		if back, err := domain.ParseDate(d.String()); err != nil || back != d {
			t.Fatalf("%v is written %s and read as %v, %v", d, d.String(), back, err)
		}
	})
	if got := (domain.Date{}).String(); got != "" {
		t.Errorf("the zero Date is written %q, want nothing", got)
	}
}

func TestParseDateRefuses(t *testing.T) {
	for _, s := range []string{"", "2026-5-4", "2026-02-30", "04.05.2026", "2026-05-04T10:00:00Z", "20260504"} {
		d, err := domain.ParseDate(s)
		want := `"` + s + `" is not a date; write it as YYYY-MM-DD`
		if err == nil || err.Error() != want || d != (domain.Date{}) {
			t.Errorf("ParseDate(%q): got %v, %v, want the error %q", s, d, err, want)
		}
	}
}

func TestZone(t *testing.T) {
	for _, name := range []string{"UTC", "Europe/Lisbon", "America/Argentina/Buenos_Aires", "Etc/GMT+5"} {
		if z, err := domain.Zone(name); err != nil || z.String() != name {
			t.Errorf("Zone(%q) = %v, %v", name, z, err)
		}
	}
	// Names without a meaning, or with one on this machine only.
	for _, name := range []string{"", "Local", "localtime", "posixrules", "Factory", "right/Europe/Lisbon", "posix/UTC",
		"Europe", "Lisbon", "../UTC", "/etc/localtime", "+01:00"} {
		z, err := domain.Zone(name)
		if domain.KindOf(err) != domain.Invalid || z != nil {
			t.Errorf("Zone(%q) = %v, %v, want an Invalid error", name, z, err)
		}
	}
}
