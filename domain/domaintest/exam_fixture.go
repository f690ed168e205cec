package domaintest

import (
	"context"
	"errors"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
	"fringework/domain/webhook"
)

// Fixture is an academy with one of everything in it.
type Fixture struct {
	Academy  domain.ID
	Owner    domain.ID
	Coach    domain.ID
	Guardian domain.ID // of Student
	Student  domain.ID // of Coach
	Spare    domain.ID // a student without anything

	// Pitch and Chip are skills, trained by version 1 of Programme.
	Pitch      domain.ID
	Chip       domain.ID
	Programme  domain.ID
	Assignment domain.ID // of version 1 to Student
	Adjustment domain.ID // of Assignment
	Group      domain.ID // of Student
	// Session is one of the plan that ended; Growing goes on, and no event tells
	// of what it grew by.
	Session domain.ID
	Growing domain.ID
	Comment domain.ID // under Session, by Owner
	Message domain.ID // by Student, who has read it
	Round   domain.ID // of Student
	Lesson  domain.ID // of Student, by Coach, with Media
	Media   domain.ID
	// Webhook is an endpoint, and Delivery is on its way there.
	Webhook, Delivery domain.ID
	// Link shows the report of Student.
	Link academy.ReportLink

	s Stores
}

// examRadius is what the fixture's pitches are judged at.
const examRadius = 2 * domain.Metre

// pitchTiers are four in a row inside two metres, then seven with one holed.
var pitchTiers = streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: examRadius}, {Run: 7, Radius: examRadius, Holed: 1}}}

// chipTiers are five in a row inside a metre.
var chipTiers = streak.Ladder{Tiers: []streak.Tier{{Run: 5, Radius: domain.Metre}}}

// examDay is when the fixture's assignment starts.
var examDay = domain.Date{Year: 2026, Month: time.April, Day: 13}

// NewFixture fills an academy of its own.
func NewFixture(t testing.TB, s Stores) *Fixture {
	t.Helper()
	f := &Fixture{Pitch: examID(), Chip: examID(), Programme: examID(), Group: examID(), Session: examID(), Growing: examID(), s: s}
	f.Academy = f.NewAcademy(t)
	f.Owner, f.Coach, f.Guardian = f.Join(t, domain.Owner), f.Join(t, domain.Coach), f.Join(t, domain.Guardian)
	f.Student, f.Spare = f.Join(t, domain.Student), f.Join(t, domain.Student)
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	check(s.AddLink(f.Academy, f.Coach, f.Student))
	check(s.AddLink(f.Academy, f.Guardian, f.Student))
	ctx := t.Context()
	check(s.Curriculum.Write(ctx, f.Academy, func(tx curriculum.Store) error { return f.teach(ctx, tx) }))
	check(s.Groups.Write(ctx, f.Academy, func(tx academy.GroupStore) error {
		return tx.SaveGroup(ctx, academy.Group{ID: f.Group, Name: "Early birds", Students: []domain.ID{f.Student}, Revision: 1, CreatedAt: examNow})
	}))
	f.Assignment = f.Assign(t, f.Student)
	f.Put(t, f.Planned(f.Session, 1, 4))
	f.Put(t, f.GoingOn(1))
	f.Put(t, f.GoingOn(2))
	comment, err := f.practice().Comment(ctx, f.Actor(), f.Session, "Well struck ⛳")
	check(err)
	f.Comment = comment.ID
	message := f.message(f.Student, "Windy today.", 0)
	f.Message, f.Link = message.ID, f.link(1)
	check(s.Messages.Write(ctx, f.Academy, func(tx academy.MessageStore) error {
		return errors.Join(tx.AddMessage(ctx, message), tx.SaveReadTo(ctx, f.Student, f.Student, message.ID))
	}))
	check(s.Bags.Write(ctx, f.Academy, func(tx academy.BagStore) error { return tx.SaveBag(ctx, f.Student, f.bag()) }))
	check(s.Quiet.Write(ctx, f.Academy, func(tx academy.QuietStore) error {
		return tx.SaveQuietWord(ctx, f.word(f.Student, academy.QuietCoach, true, 0))
	}))
	check(s.Seasons.Write(ctx, f.Academy, func(tx academy.SeasonStore) error { return tx.SaveSeason(ctx, f.Student, f.season()) }))
	check(s.Reports.Write(ctx, f.Academy, func(tx academy.ReportStore) error { return tx.AddReportLink(ctx, f.Link) }))
	f.Webhook, f.Delivery = examID(), examID()
	check(s.Webhooks.Write(ctx, f.Academy, func(tx webhook.Store) error {
		return errors.Join(tx.SaveEndpoint(ctx, f.endpoint(1)), tx.SaveDelivery(ctx, f.delivery()))
	}))
	check(s.Watching.Write(ctx, f.Academy, func(tx academy.WatchStore) error {
		return tx.SaveToldReasons(ctx, []academy.ToldReason{{Student: f.Student, Skill: f.Pitch, Reason: advice.Flat}})
	}))
	check(s.Calendars.Write(ctx, f.Academy, func(tx academy.CalendarStore) error { return tx.SaveCalendar(ctx, f.calendar()) }))
	check(s.Digests.Write(ctx, f.Academy, func(tx academy.DigestStore) error {
		_, err := tx.ClaimDigests(ctx, examDay, []academy.DigestClaim{{Member: f.Student, Told: true, Token: f.digestToken()}})
		return errors.Join(err, tx.QueueDigests(ctx, []academy.DigestLetter{f.digest(f.Student)}))
	}))
	f.Round = examID()
	check(s.Rounds.Write(ctx, f.Academy, func(tx academy.RoundStore) error { return tx.SaveRound(ctx, f.round(f.Round, 1)) }))
	f.Lesson, f.Media = examID(), examID()
	check(s.Lessons.Write(ctx, f.Academy, func(tx academy.LessonStore) error { return tx.SaveLesson(ctx, f.lesson(f.Lesson, 1)) }))
	check(s.Media.Write(ctx, f.Academy, func(tx academy.MediaStore) error {
		return tx.AddMedia(ctx, f.media(f.Media), clip(f.media(f.Media).Size))
	}))
	f.Adjustment = examID()
	check(s.Adjustments.Write(ctx, f.Academy, func(tx academy.AdjustmentStore) error { return tx.SaveAdjustment(ctx, f.adjustment(f.Adjustment)) }))
	check(s.Acknowledgements.Write(ctx, f.Academy, func(tx academy.AcknowledgementStore) error {
		return tx.SaveAcknowledgement(ctx, f.silence(f.Student, f.Pitch, advice.Flat))
	}))
	check(s.Proposals.Write(ctx, f.Academy, func(tx academy.ProposalStore) error {
		return tx.SaveRefusal(ctx, f.refusal(f.Student, curriculum.ExtraStep))
	}))
	check(s.Learning.Write(ctx, f.Academy, func(tx academy.LearnStore) error {
		return tx.SavePriors(ctx, priorsOf(f.Pitch, 1, 3, 0.1))
	}))
	check(s.Insights.Write(ctx, f.Academy, func(tx academy.InsightStore) error {
		return tx.SaveInsights(ctx, 1, examNow, []progress.Insight{f.insight(f.Pitch)})
	}))
	return f
}

// insight is something learned about a skill, with a number in every field.
func (f *Fixture) insight(skill domain.ID) progress.Insight {
	between := func(lo, hi float64) estimate.Interval { return estimate.Interval{Lo: lo, Hi: hi} }
	after := func(days float64) estimate.FadeAfter {
		return estimate.FadeAfter{Days: days, Logits: days / 70, LogitsInterval80: between(-0.1, days/35), Share: days / 300, ShareInterval80: between(-0.02, days/150)}
	}
	return progress.Insight{
		Skill: skill,
		Circles: []progress.CircleInsight{
			{Radius: 3 * domain.Foot, DrillDifficulty: estimate.DrillDifficulty{
				Students: 5, Balls: 310, Difficulty: 0.4, DifficultyInterval80: between(0.1, 0.7), Middling: 0.46, MiddlingInterval80: between(0.4, 0.52),
			}},
			{Radius: 6 * domain.Foot, DrillDifficulty: estimate.DrillDifficulty{Students: 2, Balls: 40, CannotTell: estimate.FewStudents}},
		},
		Levels: []estimate.StudentLevel{{Student: string(f.Student), Balls: 90, Level: -0.3, LevelInterval80: between(-0.7, 0.1)}},
		Fade:   estimate.Fade{Breaks: 9, Students: 6, UsualGap: 3, Middling: 0.5, TwoWeeks: after(14), FourWeeks: after(28)},
	}
}

// Over is the same academy in other stores, which have it already.
func (f *Fixture) Over(s Stores) *Fixture {
	g := *f
	g.s = s
	return &g
}

// Now is when everything in the fixture is stored.
func (*Fixture) Now() time.Time { return examNow }

// NewAcademy makes another academy, empty.
func (f *Fixture) NewAcademy(t testing.TB) domain.ID {
	t.Helper()
	id := examID()
	if err := f.s.AddAcademy(academy.Academy{ID: id, Name: "Fairlight", TimeZone: "Europe/Oslo", CreatedAt: examNow}); err != nil {
		t.Fatal(err)
	}
	return id
}

// member is one as they join.
func member(role domain.Role) academy.Member {
	id := examID()
	return academy.Member{
		ID: id, Account: examID(), Role: role, Name: "Kit " + string(role), Email: string(id) + "@fairlight.example",
		TimeZone: "Europe/Oslo", Units: academy.FeetAndYards, Revision: 1, JoinedAt: examNow,
	}
}

// Join lets a new member join.
func (f *Fixture) Join(t testing.TB, role domain.Role) domain.ID {
	t.Helper()
	m := member(role)
	if err := f.s.AddMember(f.Academy, m); err != nil {
		t.Fatal(err)
	}
	return m.ID
}

// Actor is the owner.
func (f *Fixture) Actor() domain.Actor {
	return domain.Actor{Academy: f.Academy, Member: f.Owner, Role: domain.Owner}
}

func (f *Fixture) teach(ctx context.Context, tx curriculum.Store) error {
	skills := []curriculum.Skill{
		{ID: f.Pitch, Name: "Pitch", Kind: curriculum.Pitch, Ladder: pitchTiers, Revision: 1, CreatedAt: examNow, UpdatedAt: examNow},
		{ID: f.Chip, Name: "Chip", Kind: curriculum.ChipAndRun, Ladder: chipTiers, Revision: 1, CreatedAt: examNow, UpdatedAt: examNow},
	}
	for _, s := range skills {
		if err := tx.SaveSkill(ctx, s); err != nil {
			return err
		}
	}
	p := curriculum.Programme{ID: f.Programme, Draft: f.content(), Published: 1, Revision: 1, CreatedBy: f.Coach, CreatedAt: examNow, UpdatedAt: examNow}
	if err := tx.SaveProgramme(ctx, p); err != nil {
		return err
	}
	return tx.AddVersion(ctx, f.version(f.Programme, 1, skills))
}

func (f *Fixture) version(programme domain.ID, number int, skills []curriculum.Skill) curriculum.Version {
	return curriculum.Version{Programme: programme, Number: number, Content: f.content(), Skills: skills, PublishedAt: examNow, PublishedBy: f.Coach}
}

// content is a week of one plan.
func (f *Fixture) content() curriculum.Content {
	block := func(kind curriculum.BlockKind, share int) curriculum.Block {
		return curriculum.Block{Kind: kind, Share: share, Drill: curriculum.Drill{Text: "Pick a spot.", Clubs: []string{"wedge"}, Radius: examRadius}}
	}
	return curriculum.Content{Name: "A week of pitches", Weeks: []curriculum.Week{{Title: "Soft landings", Skill: f.Pitch, Plans: []curriculum.Plan{{
		Name: "Fifty minutes", Minutes: 50, Times: 2,
		Blocks: []curriculum.Block{block(curriculum.Warmup, 20), block(curriculum.Technique, 20), block(curriculum.Random, 20), block(curriculum.Test, 40)},
	}}}}}
}

// Assign gives a student version 1 of the programme.
func (f *Fixture) Assign(t testing.TB, student domain.ID) domain.ID {
	t.Helper()
	service := academy.Service{Store: f.s.People, GroupStore: f.s.Groups, AssignmentStore: f.s.Assignments, Env: examEnv}
	made, err := service.Assign(t.Context(), f.Actor(), academy.AssignRequest{Programme: f.Programme, Version: 1, Students: []domain.ID{student}, Start: examDay})
	if err != nil {
		t.Fatal(err)
	}
	return made[0].ID
}

func (f *Fixture) practice() practice.Service {
	return practice.Service{Store: f.s.Practice, Reading: f.s.Sessions, Talking: f.s.Comments, Env: examEnv}
}

// Put stores a session as the domain does.
func (f *Fixture) Put(t testing.TB, s practice.Session) practice.PutResult {
	t.Helper()
	out, err := f.practice().Put(t.Context(), f.Actor(), s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// examStart is when the fixture's planned session began.
var examStart = examNow.Add(-2 * time.Hour)

// Planned is a session of the plan, with a card for the technique, three chips of
// its own, a test of so many balls inside and one outside, and a place played out.
func (f *Fixture) Planned(id domain.ID, revision, in int) practice.Session {
	test := practice.Block{PlanBlock: 4, Kind: curriculum.Test, Skill: f.Pitch, Radius: examRadius, Seconds: 1100}
	for i := range in {
		test.Balls = append(test.Balls, practice.Ball{
			Outcome: streak.In, Leave: domain.Length(i+1) * domain.Metre / 10, Measured: true, Club: "wedge", Lie: "fairway",
			Distance: 18 * domain.Metre, After: 1900*time.Second + time.Duration(i)*25*time.Second,
		})
	}
	test.Balls = append(test.Balls, practice.Ball{Outcome: streak.Out})
	return said(practice.Session{
		ID: id, Student: f.Student, Assignment: f.Assignment, Week: 1, Plan: 1, Version: 1, TimeZone: "Europe/Oslo",
		StartedAt: examStart, EndedAt: examStart.Add(50 * time.Minute), Note: "Soft greens.", Revision: revision,
		Match: examMatch,
		Blocks: []practice.Block{
			{PlanBlock: 2, Kind: curriculum.Technique, Skill: f.Pitch, Radius: examRadius, Seconds: 600,
				Attested: &progress.Attested{Balls: 30, Inside: 14, Holed: 1, BestRun: 5}},
			{Kind: curriculum.Random, Skill: f.Chip, Radius: domain.Metre, Seconds: 500,
				Balls: []practice.Ball{{Outcome: streak.Holed, Club: "eight"}, {Outcome: streak.In}, {Outcome: streak.Out}}},
			test,
			{Kind: curriculum.Playout, Skill: f.Chip, Radius: domain.Metre, Seconds: 90, Balls: []practice.Ball{{Outcome: streak.In, Strokes: 2, Distance: 9 * domain.Metre}}},
		},
	}, 2)
}

// GoingOn is a session of chips, two days before, that goes on with each
// revision.
func (f *Fixture) GoingOn(revision int) practice.Session {
	b := practice.Block{Kind: curriculum.Test, Skill: f.Chip, Radius: domain.Metre, Seconds: 90 * revision}
	for range revision {
		b.Balls = append(b.Balls, practice.Ball{Outcome: streak.In})
	}
	return practice.Session{
		ID: f.Growing, Student: f.Student, TimeZone: "Europe/Oslo", StartedAt: examStart.AddDate(0, 0, -2), Revision: revision, Blocks: []practice.Block{b},
	}
}

// adjustment is one of Assignment.
func (f *Fixture) adjustment(id domain.ID) academy.Adjustment {
	return academy.Adjustment{
		ID: id, Student: f.Student, Assignment: f.Assignment, Adjustment: curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1},
		From: examDay, Text: "Once a week is enough.", Reason: advice.Lapsed, CreatedBy: f.Coach, CreatedAt: examNow, Revision: 1,
	}
}

// silence is a coach's word that a reason is seen.
func (f *Fixture) silence(student, skill domain.ID, reason advice.Reason) academy.Acknowledgement {
	return academy.Acknowledgement{Student: student, Skill: skill, Reason: reason, Until: examDay.AddDays(9), Note: "Away.", By: f.Coach, At: examNow}
}

// refusal is a coach's word that something is not to be proposed for pitches.
func (f *Fixture) refusal(student domain.ID, kind curriculum.AdjustmentKind) academy.Refusal {
	return academy.Refusal{
		RefusalKey: academy.RefusalKey{Student: student, Skill: f.Pitch, Kind: kind},
		Until:      examDay.AddDays(13), Now: 0.125, Then: 0.1 + 0.2, By: f.Coach, At: examNow,
	}
}

// bare is what keeps a session by itself and nothing that follows from it.
func bare(s practice.Session) practice.Change {
	return practice.Change{Session: s, Fingerprint: s.Fingerprint(), Known: s.Revision > 1, Habit: progress.Habit{Student: s.Student}}
}

// change is a session with something to keep in every place.
func (f *Fixture) change(s practice.Session) practice.Change {
	c := bare(s)
	c.Habit = progress.HabitOf(s.Student, 1, []progress.SessionTime{s.Time()})
	c.Counts = []practice.AssignmentCount{{Assignment: f.Assignment, Sessions: 1}}
	for _, p := range s.Plays() {
		t := progress.Track{Student: s.Student, Skill: p.Skill}
		r := progress.Recompute(t, []progress.SessionSummary{t.Summarise(p)})
		c.Skills = append(c.Skills, practice.SkillChange{State: r.State, Periods: append(r.Periods, progress.Period{Student: s.Student, Skill: p.Skill, Number: 1})})
	}
	return c
}

// openingOf asks for all that the fixture's session depends on.
func (f *Fixture) openingOf() practice.Opening {
	return practice.Opening{
		Session: f.Session, Student: f.Student, Asker: f.Coach, Skills: []domain.ID{f.Pitch, f.Chip}, Assignment: f.Assignment,
		Version: 1, Start: examStart, End: examStart.Add(time.Hour),
	}
}
