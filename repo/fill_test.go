package repo

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// filled is a fixture with one of everything in it.
type filled struct {
	*fixture
	pitch, chip domain.ID // skills
	programme   domain.ID
	assignment  domain.ID
	group       domain.ID
	session     domain.ID
	comment     domain.ID
	spare       domain.ID // a student without anything
}

// start is when the session of a filled fixture began.
var start = monday.Add(-time.Hour)

// fill makes one of everything through the domain's own use cases. The session
// attains the first tier of the pitch's ladder with its ninth ball.
func fill(t testing.TB, db *DB) *filled {
	t.Helper()
	f := &filled{fixture: newFixture(t, db)}
	f.spare = f.member(domain.Student)
	f.pitch = f.newSkill("Pitch", curriculum.Pitch, domaintest.PitchLadder())
	f.chip = f.newSkill("Chip and run", curriculum.ChipAndRun, domaintest.ChipLadder())
	f.programme = must[curriculum.Programme](t)(f.curriculum(monday).CreateProgramme(f.ctx, f.asOwner(), domaintest.Programme(f.pitch, f.chip))).ID
	must[curriculum.Version](t)(f.curriculum(monday).Publish(f.ctx, f.asOwner(), f.programme, 0))
	f.group = must[academy.Group](t)(f.people(monday).CreateGroup(f.ctx, f.asOwner(), "Monday", []domain.ID{f.student})).ID
	f.assignment = f.assign(f.student, 1)
	f.session = newID()
	f.put(f.plannedSession(f.session, 1, 9))
	f.comment = must[practice.Comment](t)(f.practice(monday).Comment(f.ctx, f.asOwner(), f.session, "Well struck.")).ID
	f.write(func(a *store) error {
		return a.SaveAcknowledgement(f.ctx, academy.Acknowledgement{
			Student: f.student, Reason: advice.Lapsed, Until: domain.Date{Year: 2026, Month: 6, Day: 1}, Note: "On holiday.", By: f.coach, At: monday,
		})
	})
	return f
}

func (w *fixture) newSkill(name string, kind curriculum.SkillKind, l streak.Ladder) domain.ID {
	w.t.Helper()
	return must[curriculum.Skill](w.t)(w.curriculum(monday).CreateSkill(w.ctx, w.asOwner(), curriculum.Skill{Name: name, Kind: kind, Ladder: l})).ID
}

func (f *filled) assign(student domain.ID, version int) domain.ID {
	f.t.Helper()
	made := must[[]academy.Assignment](f.t)(f.people(monday).Assign(f.ctx, f.asOwner(), academy.AssignRequest{
		Programme: f.programme, Version: version, Students: []domain.ID{student}, Start: domain.Date{Year: 2026, Month: 5, Day: 4},
	}))
	return made[0].ID
}

func (f *filled) put(s practice.Session) practice.PutResult {
	f.t.Helper()
	return must[practice.PutResult](f.t)(f.practice(monday).Put(f.ctx, f.asOwner(), s))
}

// plannedSession is the first hour of the programme with a test of in balls that
// came to rest inside, one more that did not, and a card for the technique.
func (f *filled) plannedSession(id domain.ID, revision, in int) practice.Session {
	test := practice.Block{PlanBlock: 4, Kind: curriculum.Test, Skill: f.pitch, Radius: 5 * domain.Foot, Seconds: 900}
	for i := range in {
		test.Balls = append(test.Balls, practice.Ball{
			Outcome: streak.In, Leave: domain.Length(i) * domain.Metre / 10, Measured: true, Club: "wedge", Lie: "fairway",
			Distance: 20 * domain.Metre, After: 2700*time.Second + time.Duration(i)*30*time.Second,
		})
	}
	test.Balls = append(test.Balls, practice.Ball{Outcome: streak.Out})
	return practice.Session{
		ID: id, Student: f.student, Assignment: f.assignment, Week: 1, Plan: 1, TimeZone: "Europe/Dublin",
		StartedAt: start, EndedAt: start.Add(time.Hour), Note: "Windy.", Revision: revision,
		Blocks: []practice.Block{
			{PlanBlock: 2, Kind: curriculum.Technique, Skill: f.pitch, Radius: 5 * domain.Foot, Seconds: 1200,
				Attested: &progress.Attested{Balls: 40, Inside: 20, Holed: 2, BestRun: 6}},
			{Kind: curriculum.Random, Skill: f.chip, Radius: 3 * domain.Foot, Seconds: 600,
				Balls: []practice.Ball{{Outcome: streak.Holed, Club: "nine"}, {Outcome: streak.In}, {Outcome: streak.Out}}},
			test,
		},
	}
}
