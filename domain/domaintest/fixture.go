package domaintest

import (
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// The people of the two academies that Populated makes.
const (
	// Hollow is the academy that the tests are about; Other is next door.
	Hollow domain.ID = "a-hollow"
	Other  domain.ID = "a-other"

	OwnerID    domain.ID = "m-owner"
	CoachID    domain.ID = "m-coach"
	Coach2ID   domain.ID = "m-coach-2"
	AdaID      domain.ID = "m-student-ada"   // linked to CoachID; Europe/Lisbon
	BenID      domain.ID = "m-student-ben"   // linked to Coach2ID; America/New_York
	JuneID     domain.ID = "m-student-june"  // a junior without consent, linked to CoachID and the guardian
	GoneID     domain.ID = "m-student-gone"  // left the academy, linked to CoachID
	GuardianID domain.ID = "m-guardian"      // of JuneID
	StrangerID domain.ID = "m-student-other" // of the other academy
)

// The actors who ask.
var (
	AsOwner    = domain.Actor{Academy: Hollow, Member: OwnerID, Role: domain.Owner}
	AsCoach    = domain.Actor{Academy: Hollow, Member: CoachID, Role: domain.Coach}
	AsCoach2   = domain.Actor{Academy: Hollow, Member: Coach2ID, Role: domain.Coach}
	AsAda      = domain.Actor{Academy: Hollow, Member: AdaID, Role: domain.Student}
	AsBen      = domain.Actor{Academy: Hollow, Member: BenID, Role: domain.Student}
	AsJune     = domain.Actor{Academy: Hollow, Member: JuneID, Role: domain.Student}
	AsGuardian = domain.Actor{Academy: Hollow, Member: GuardianID, Role: domain.Guardian}
	AsKey      = domain.Actor{Academy: Hollow, Key: "k-scores"}
	AsNobody   = domain.Actor{Academy: Hollow}
	AsStranger = domain.Actor{Academy: Other, Member: StrangerID, Role: domain.Student}
	AsOther    = domain.Actor{Academy: Other, Member: "m-other-owner", Role: domain.Owner}
)

// Populated makes a store with two academies and their people. Every
// transaction runs its function twice, since a database may ask for that.
func Populated(now time.Time) *Memory {
	mem := New(now)
	mem.Retry(1)
	joined := now.AddDate(0, -1, 0)
	mem.AddAcademy(academy.Academy{ID: Hollow, Name: "Hollow Green", TimeZone: "Europe/Lisbon", CreatedAt: joined})
	mem.AddAcademy(academy.Academy{ID: Other, Name: "Next Door", TimeZone: "UTC", CreatedAt: joined})
	add := func(of, id domain.ID, role domain.Role, name, zone string, change func(*academy.Member)) {
		m := academy.Member{ID: id, Account: "acc-" + id, Role: role, Name: name, Email: name + "@example.org",
			TimeZone: zone, Units: academy.FeetAndYards, Revision: 1, JoinedAt: joined}
		if change != nil {
			change(&m)
		}
		mem.AddMember(of, m)
	}
	add(Hollow, OwnerID, domain.Owner, "Olga", "Europe/Lisbon", nil)
	add(Hollow, CoachID, domain.Coach, "Carl", "Europe/Lisbon", nil)
	add(Hollow, Coach2ID, domain.Coach, "Cleo", "Europe/Lisbon", nil)
	add(Hollow, AdaID, domain.Student, "Ada", "Europe/Lisbon", nil)
	add(Hollow, BenID, domain.Student, "Ben", "America/New_York", nil)
	add(Hollow, JuneID, domain.Student, "June", "Europe/Lisbon", func(m *academy.Member) { m.Junior = true })
	add(Hollow, GoneID, domain.Student, "Gil", "Europe/Lisbon", func(m *academy.Member) { m.RemovedAt = now.AddDate(0, 0, -1) })
	add(Hollow, GuardianID, domain.Guardian, "Gwen", "Europe/Lisbon", nil)
	add(Other, "m-other-owner", domain.Owner, "Ola", "UTC", nil)
	add(Other, StrangerID, domain.Student, "Stan", "UTC", nil)
	for _, l := range []link{{CoachID, AdaID}, {CoachID, JuneID}, {CoachID, GoneID}, {Coach2ID, BenID}, {GuardianID, JuneID}} {
		mem.AddLink(Hollow, l.member, l.student)
	}
	return mem
}

// PitchLadder is nine in a row inside five feet, then eighteen with one holed:
// common practice, no source.
func PitchLadder() streak.Ladder {
	return streak.Ladder{Tiers: []streak.Tier{{Run: 9, Radius: 5 * domain.Foot}, {Run: 18, Radius: 5 * domain.Foot, Holed: 1}}}
}

// ChipLadder is nine in a row inside three feet: common practice, no source.
func ChipLadder() streak.Ladder {
	return streak.Ladder{Tiers: []streak.Tier{{Run: 9, Radius: 3 * domain.Foot}}}
}

// Programme gives a programme that can be published: two weeks, the first for
// one skill, the second for another with a warm-up of the first, each with an
// hour of four equal quarters, planned twice a week. The second is tested inside
// three feet, as ChipLadder asks.
func Programme(first, second domain.ID) curriculum.Content {
	plan := func(warmup domain.ID, tested domain.Length) curriculum.Plan {
		drill := func(text string, clubs ...string) curriculum.Drill {
			return curriculum.Drill{Text: text, Clubs: clubs, Radius: 5 * domain.Foot}
		}
		test := drill("Nine in a row.")
		test.Radius = tested
		return curriculum.Plan{Name: "Hour", Minutes: 60, Times: 2, Blocks: []curriculum.Block{
			{Kind: curriculum.Warmup, Share: 25, Skill: warmup, Drill: drill("Nine easy ones.")},
			{Kind: curriculum.Technique, Share: 25, Drill: drill("One spot, one club.", "wedge")},
			{Kind: curriculum.Random, Share: 25, Drill: drill("A new club for every ball.", "wedge", "nine")},
			{Kind: curriculum.Test, Share: 25, Drill: test},
		}}
	}
	return curriculum.Content{Name: "Two weeks", Weeks: []curriculum.Week{
		{Title: "First", Skill: first, Plans: []curriculum.Plan{plan("", 5*domain.Foot)}},
		{Title: "Second", Skill: second, Plans: []curriculum.Plan{plan(first, 3*domain.Foot)}},
	}}
}
