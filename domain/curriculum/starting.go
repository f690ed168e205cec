package curriculum

import (
	"fringework/domain"
	"fringework/domain/streak"
)

// StartingPoint is a skill to begin with, and an hour that trains it. Both are
// invented, to be taken and changed; nothing in them is a recommendation.
type StartingPoint struct {
	// Key names it: small letters and underscores.
	Key string
	// Skill has a name, a kind, a text, a ladder and drills, but no identity.
	Skill Skill
	// Plan is an hour in four parts, of blocks of the skill.
	Plan Plan
}

// StartingPoints lists them, the simplest first: one for each sort of shot, and one of
// balls that are played out.
func StartingPoints() []StartingPoint {
	return []StartingPoint{
		startingPoint("short_putts", Skill{
			Name: "Short putts", Kind: ShortPutt, Text: "Start the ball on your line, at a speed that would leave a miss a foot past.",
			Ladder: stepsOf(2*domain.Foot, step{4, 3}, step{7, 6}, step{11, 10}),
		}, 21, 18, 28, 33),
		startingPoint("lag_putts", Skill{
			Name: "Lag putts", Kind: LagPutt, Text: "From far away two putts are enough: leave the first one where the second cannot miss.",
			Ladder: stepsOf(4*domain.Foot, step{3, 0}, step{6, 0}, step{9, 1}),
			Drills: []SkillDrill{{Kind: Random, Text: "A new place for every ball, some of them across the whole green. Walk to the hole once, then putt."}},
		}, 19, 27, 31, 23),
		startingPoint("low_chips", Skill{
			Name: "Low chips", Kind: ChipAndRun, Text: "Land it just on the green and let it run to the hole. Nobody between you and the hole, please.",
			Ladder: stepsOf(7*domain.Foot, step{3, 0}, step{5, 0}, step{8, 1}),
		}, 27, 23, 26, 24),
		upAndDown(),
		startingPoint("pitches", Skill{
			Name: "Pitches over trouble", Kind: Pitch, Text: "Carry what lies in between and stop it soon. A ball in the air hurts: nobody in front of you, ever.",
			Ladder: stepsOf(11*domain.Foot, step{3, 0}, step{4, 0}, step{7, 0}),
			Drills: []SkillDrill{{Kind: Stations, Text: "A towel where the ball should land. One club after the other, nobody in front of you."}},
		}, 23, 22, 29, 26),
		startingPoint("out_of_the_sand", Skill{
			Name: "Out of the sand", Kind: BunkerShot, Text: "Splash the sand onto the green; the ball comes along. Nobody in front of you or beside you: thin ones fly far.",
			Ladder: stepsOf(14*domain.Foot, step{2, 0}, step{4, 0}, step{5, 0}),
		}, 31, 18, 22, 29),
		startingPoint("high_and_soft", Skill{
			Name: "High and soft", Kind: Lob, Text: "Up quickly, down softly, little roll. Only where nobody stands in front of you; thin ones fly far.",
			Ladder: stepsOf(13*domain.Foot, step{2, 0}, step{4, 0}, step{6, 0}),
		}, 33, 17, 26, 24),
	}
}

// step is a run and how many of it are holed.
type step struct{ run, holed int }

func stepsOf(radius domain.Length, steps ...step) (l streak.Ladder) {
	for _, s := range steps {
		l.Tiers = append(l.Tiers, streak.Tier{Run: s.run, Radius: radius, Holed: s.holed})
	}
	return l
}

// startingPoint fits an hour to a skill, by shares of technique, stations,
// random and test.
func startingPoint(key string, skill Skill, technique, stations, random, test int) StartingPoint {
	return startingHour(key, skill, part{Technique, technique}, part{Stations, stations}, part{Random, random}, part{Test, test})
}

// upAndDown is the one of which every ball of a part is played until it is holed.
func upAndDown() StartingPoint {
	return startingHour("up_and_down", Skill{
		Name: "Up and down", Kind: ChipAndRun, Text: "Chip it near enough to hole the putt. Choose the spot to land it, then the club.",
		Ladder: stepsOf(6*domain.Foot, step{3, 0}, step{5, 0}, step{7, 1}),
	}, part{Technique, 22}, part{Random, 17}, part{Playout, 38}, part{Test, 23})
}

// part is a block's kind and its share of the hour.
type part struct {
	kind  BlockKind
	share int
}

func startingHour(key string, skill Skill, parts ...part) StartingPoint {
	plan := Plan{Name: "An hour", Minutes: 60, Times: 2}
	for _, p := range parts {
		plan.Blocks = append(plan.Blocks, Block{Kind: p.kind, Share: p.share, Drill: skill.Fitted(p.kind)})
	}
	return StartingPoint{Key: key, Skill: skill, Plan: plan}
}
