package academy

import (
	"cmp"
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/estimate"
)

// Season is what a student's year is about.
type Season struct {
	// Goal is in the student's own words; empty while there is none.
	Goal string
	// Competitions are in order of their dates.
	Competitions []Competition
	// Off is when the student does not practise; zero without such a time.
	Off OffSeason
	// Changed is when it was set last; zero while it never was.
	Changed time.Time
}

// Competition is a date that a student prepares for.
type Competition struct {
	// ID stays when the name or the date changes.
	ID   domain.ID
	Name string
	// Date is its first day, of Days days.
	Date domain.Date
	Days int
}

// last is the competition's last day.
func (c Competition) last() domain.Date { return c.Date.AddDays(c.Days - 1) }

// OffSeason is a time without practice, both days included.
type OffSeason struct{ From, Until domain.Date }

// Has says whether a day is of the off-season.
func (o OffSeason) Has(day domain.Date) bool {
	return o != OffSeason{} && !day.Before(o.From) && !o.Until.Before(day)
}

// Later gives in how many days from a day something comes about that would come about
// in so many days of practice: the days of the off-season are added where it comes
// first.
func (o OffSeason) Later(from domain.Date, days float64) float64 {
	first := from.AddDays(1)
	if o == (OffSeason{}) || o.Until.Before(first) {
		return days
	}
	if first.Before(o.From) {
		first = o.From
	}
	if days < float64(from.DaysUntil(first)) {
		return days
	}
	return days + float64(first.DaysUntil(o.Until)+1)
}

// forecast gives a forecast of some day with its days counted past the off-season.
func (o OffSeason) forecast(f *estimate.Forecast, on domain.Date) *estimate.Forecast {
	if f == nil || o == (OffSeason{}) {
		return f
	}
	later := *f
	for _, days := range []*float64{&later.Range80Days.Lo, &later.Range80Days.Hi} {
		if *days > 0 { // 0 is not known
			*days = o.Later(on, *days)
		}
	}
	return &later
}

// Bounds of a season, our choice.
const (
	MaxGoal            = 300 // characters
	MaxCompetitions    = 30
	MaxCompetitionName = 80 // characters
	MaxCompetitionDays = 14
	MaxOffSeason       = 300 // days
)

// SeasonStore keeps seasons, one for each student.
type SeasonStore interface {
	domain.EventLog
	Viewing

	// Season gives a student's, which is zero where none was set.
	Season(ctx context.Context, student domain.ID) (Season, error)
	SaveSeason(ctx context.Context, student domain.ID, s Season) error
}

// SeasonService is what can be done with a student's season.
type SeasonService struct {
	Store domain.Transactor[SeasonStore]
	Env   domain.Env
}

// Of reads the season of a student whom the actor may see.
func (s SeasonService) Of(ctx context.Context, a domain.Actor, student domain.ID) (season Season, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx SeasonStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		season, err = tx.Season(ctx, student)
		return err
	})
	return season, err
}

// Put sets a student's season, whole. Competitions come in any order; one without an
// ID is new. Setting what stands already changes nothing. A junior's needs a guardian's
// consent.
func (s SeasonService) Put(ctx context.Context, a domain.Actor, student domain.ID, wanted Season) (season Season, err error) {
	var p domain.Problems
	wanted.Check(&p)
	if err := p.Err("season_invalid", "The season was not saved."); err != nil {
		return Season{}, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx SeasonStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		if !m.MayPractise() {
			return ErrConsent(ctx, tx, m, "the season was not saved", "Ask the guardian first.")
		}
		before, err := tx.Season(ctx, student)
		if err != nil {
			return err
		}
		season = wanted
		if season.Competitions, err = s.named(wanted.Competitions, before.Competitions); err != nil {
			return err
		}
		if season.Changed = before.Changed; reflect.DeepEqual(season, before) {
			return nil
		}
		season.Changed = s.Env.Now().Truncate(time.Millisecond).UTC()
		if err := tx.SaveSeason(ctx, student, season); err != nil {
			return err
		}
		// The log outlives what it tells of, so the student's words are not in it.
		return tx.Record(ctx, a.Event(s.Env.Now(), "season.changed", student, student, map[string]any{
			"competitions": len(season.Competitions), "off_from": season.Off.From.String(), "off_until": season.Off.Until.String(),
		}))
	})
	return season, err
}

// named gives competitions in order of date, the new ones with IDs.
func (s SeasonService) named(wanted, before []Competition) (all []Competition, err error) {
	all = slices.Clone(wanted)
	for i, c := range all {
		known := func(x Competition) bool { return x.ID == c.ID }
		switch {
		case c.ID == "":
			all[i].ID = s.Env.NewID()
		case !slices.ContainsFunc(before, known):
			var p domain.Problems
			p.Add(fmt.Sprintf("/competitions/%d/id", i), "is of no competition of this student; leave it out for a new one")
			return nil, p.Err("season_invalid", "The season was not saved.")
		}
	}
	slices.SortStableFunc(all, func(a, b Competition) int {
		return cmp.Or(b.Date.DaysUntil(a.Date), strings.Compare(a.Name, b.Name))
	})
	return all, nil
}

// Check notes what is wrong with a season.
func (s Season) Check(p *domain.Problems) {
	checkText(p, "/goal", s.Goal, MaxGoal)
	if len(s.Competitions) > MaxCompetitions {
		p.Add("/competitions", "are %d; give at most %d", len(s.Competitions), MaxCompetitions)
		return
	}
	for i, c := range s.Competitions {
		at := fmt.Sprintf("/competitions/%d", i)
		if strings.TrimSpace(c.Name) == "" {
			p.Add(at+"/name", "is empty; say what the competition is called")
		}
		checkText(p, at+"/name", c.Name, MaxCompetitionName)
		checkDate(p, at+"/date", c.Date)
		if c.Days < 1 || c.Days > MaxCompetitionDays {
			p.Add(at+"/days", "is %d; give 1 to %d days", c.Days, MaxCompetitionDays)
		}
		if c.ID != "" && slices.ContainsFunc(s.Competitions[:i], func(x Competition) bool { return x.ID == c.ID }) {
			p.Add(at+"/id", "is there twice; keep one of them")
		}
	}
	s.Off.check(p)
}

func (o OffSeason) check(p *domain.Problems) {
	if o == (OffSeason{}) {
		return
	}
	var days domain.Problems
	checkDate(&days, "/off_season/from", o.From)
	checkDate(&days, "/off_season/until", o.Until)
	if len(days.Fields()) > 0 {
		p.Beside(days.Fields())
		return
	}
	switch n := o.From.DaysUntil(o.Until) + 1; {
	case n < 1:
		p.Add("/off_season/until", "is before the first day, %s; give that day or a later one", o.From)
	case n > MaxOffSeason:
		p.Add("/off_season/until", "makes it %d days long; give at most %d", n, MaxOffSeason)
	}
}

// ahead gives the competitions that are not over on a day.
func (s Season) ahead(on domain.Date) (all []Competition) {
	for _, c := range s.Competitions {
		if !c.last().Before(on) {
			all = append(all, c)
		}
	}
	return all
}

// toPrepare gives the competitions as proposals for next week read them.
func (s Season) toPrepare() (all []advice.Competition) {
	for _, c := range s.Competitions {
		all = append(all, advice.Competition{Name: c.Name, Date: c.Date})
	}
	return all
}
