package practice_test

import (
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

func TestCheck(t *testing.T) {
	const remedy = "the phone's clock may be wrong: set it to the network's time, correct the start and send the session again"
	at := now.Add
	for _, c := range []struct {
		why    string
		change func(s *practice.Session)
		want   []string
	}{
		{"a good one", func(*practice.Session) {}, nil},
		{"one that goes on", func(s *practice.Session) { s.EndedAt, s.TimeZone, s.Blocks = time.Time{}, "", nil }, nil},
		{"by a plan", func(s *practice.Session) { s.Assignment, s.Week, s.Plan, s.Blocks[0].PlanBlock = "as", 1, 1, 24 }, nil},
		{"no revision", func(s *practice.Session) { s.Revision = 0 }, []string{"/revision", "is missing or 0; count a session's uploads from 1, one more for each change"}},
		{"too high a revision", func(s *practice.Session) { s.Revision = 1<<30 + 1 },
			[]string{"/revision", "is 1073741825; count a session's uploads from 1, one more for each change, up to 1073741824"}},
		{"no start", func(s *practice.Session) { s.StartedAt = time.Time{} }, []string{"/started_at", "is missing; say when the session started"}},
		{"a clock that was never set", func(s *practice.Session) { s.StartedAt, s.EndedAt = time.Unix(0, 0).UTC(), time.Time{} },
			[]string{"/started_at", "is in the year 1970; sessions are kept from 2000 on, so check the phone's clock"}},
		{"a clock a little ahead", func(s *practice.Session) { s.StartedAt, s.EndedAt = at(5*time.Minute), at(5*time.Minute) }, nil},
		{"a start in the future", func(s *practice.Session) { s.StartedAt, s.EndedAt = at(3*time.Hour), time.Time{} },
			[]string{"/started_at", "is 3 hours in the future; " + remedy}},
		{"an end before the start", func(s *practice.Session) { s.EndedAt = s.StartedAt.Add(-time.Second) },
			[]string{"/ended_at", "is before started_at; give a later time, or leave it out while the session goes on"}},
		{"a whole day", func(s *practice.Session) { s.StartedAt = at(-24 * time.Hour); s.EndedAt = at(-7 * time.Hour) },
			[]string{"/ended_at", "is more than 16 hours after started_at, the longest that a session lasts; store two"}},
		{"an end in the future", func(s *practice.Session) { s.EndedAt = at(6 * time.Minute) },
			[]string{"/ended_at", "is in the future; check the phone's clock, or leave it out while the session goes on"}},
		{"words", func(s *practice.Session) {
			s.TimeZone, s.Note = "Lisbon", strings.Repeat("é", 4001)
			s.Blocks[0].Balls[0].Club, s.Blocks[0].Balls[1].Lie = strings.Repeat("w", 61), "a\x00"
		}, []string{"/time_zone", `"Lisbon" is not a time zone; use an IANA name such as Europe/Lisbon, or leave it out`,
			"/note", "has 4001 characters; at most 4000 fit", "/blocks/0/balls/0/club", "has 61 characters; at most 60 fit",
			"/blocks/0/balls/1/lie", "contains a NUL character; remove it"}},
		{"a week without an assignment", func(s *practice.Session) { s.Week = 1 }, []string{"/assignment_id", "is missing; week, plan and version count within an assignment"}},
		{"an assignment without a plan", func(s *practice.Session) { s.Assignment, s.Week = "as", 1 },
			[]string{"/week", "week and plan are both needed, counted from 1, to say which plan of the assignment was followed"}},
		{"too many blocks", func(s *practice.Session) { s.Blocks = make([]practice.Block, 25) },
			[]string{"/blocks", "there are 25 blocks; at most 24 fit in a session"}},
		{"too many balls", func(s *practice.Session) { s.Blocks[0].Balls = make([]practice.Ball, 2001) },
			[]string{"/blocks", "there are 2001 balls; a session holds at most 2000, so store two"}},
		{"a block", func(s *practice.Session) {
			s.Blocks[0] = practice.Block{Kind: "putting", PlanBlock: -1, Seconds: -1, Radius: 999, Balls: make([]practice.Ball, 1)}
		}, []string{"/blocks/0/plan_block", "is -1; count the plan's blocks from 1, or leave it out",
			"/blocks/0/kind", `"putting" is not a kind of block; use warmup, technique, stations, random, test or playout`,
			"/blocks/0/skill_id", "is missing; say which skill the block trained",
			"/blocks/0/seconds", "is -1; give the seconds really spent, 0 to 14400",
			"/blocks/0/radius_m", "is 0.0999 m (0.3 ft); give the radius that balls were judged at, 0.1 m (0.3 ft) to 30 m (98.4 ft)"}},
		{"an empty block", func(s *practice.Session) { s.Blocks[0] = practice.Block{} },
			[]string{"/blocks/0/kind", "is missing; use warmup, technique, stations, random, test or playout",
				"/blocks/0/skill_id", "is missing; say which skill the block trained",
				"/blocks/0/radius_m", "is missing or 0; give the radius that balls were judged at, 0.1 m (0.3 ft) to 30 m (98.4 ft)"}},
		{"a block of hours", func(s *practice.Session) { s.Blocks[0].Seconds, s.Blocks[0].PlanBlock = 14401, 25 },
			[]string{"/blocks/0/plan_block", "is 25; count the plan's blocks from 1, or leave it out",
				"/blocks/0/seconds", "is 14401; give the seconds really spent, 0 to 14400"}},
		{"a leave that contradicts the judgement", func(s *practice.Session) {
			s.Blocks[0].Balls[0] = practice.Ball{Outcome: streak.In, Leave: 6 * domain.Foot, Measured: true}
		},
			[]string{"/blocks/0/balls/0/leave_m", `a ball judged in at 5 ft (1.52 m) cannot have been left 6 ft (1.83 m) away; correct the leave or make it "out"`}},
		{"how it missed", func(s *practice.Session) {
			s.Blocks[0].Balls = []practice.Ball{{Outcome: streak.In, Miss: practice.MissShort}, {Outcome: streak.Out, Miss: "deep", Contact: "shank"}, {Outcome: streak.Out, Miss: practice.MissLeft, Contact: practice.ContactFat}}
		}, []string{"/blocks/0/balls/0/miss", `only a ball that is out missed; leave it out or make the ball "out"`,
			"/blocks/0/balls/1/miss", `"deep" is no way to miss; use short, long, left or right, or leave it out`,
			"/blocks/0/balls/1/contact", `"shank" is no contact; use thin or fat, or leave it out`}},
		{"a distance", func(s *practice.Session) {
			s.Blocks[0].Balls[0].Distance, s.Blocks[0].Balls[1].Distance = -1, 100*domain.Metre+1
		},
			[]string{"/blocks/0/balls/0/distance_m", "is -0.0001 m (0 ft); the short game is played from 0 to 100 m (328.1 ft)",
				"/blocks/0/balls/1/distance_m", "is 100.0001 m (328.1 ft); the short game is played from 0 to 100 m (328.1 ft)"}},
		{"balls out of order", func(s *practice.Session) {
			s.Blocks = append(s.Blocks, block(curriculum.Test, "p", "iii"))
			s.Blocks[0].Balls[0].After, s.Blocks[1].Balls[1].After, s.Blocks[1].Balls[2].After = 20*time.Second, 19500*time.Millisecond, 20*time.Second
			s.Blocks[0].Balls[1].After = -time.Second
		}, []string{"/blocks/0/balls/1/after_s", "is -1 s, earlier than the ball before it or the session's start; list balls in the order they were struck, with the seconds since the start",
			"/blocks/1/balls/1/after_s", "is 19.5 s, earlier than the ball before it or the session's start; list balls in the order they were struck, with the seconds since the start"}},
		{"a ball a day after the start", func(s *practice.Session) { s.Blocks[0].Balls[0].After = 17 * time.Hour },
			[]string{"/blocks/0/balls/0/after_s", "is 61200 s; give the seconds since the session's start, at most 57600, which are 16 hours"}},
		{"a ball in the future", func(s *practice.Session) { s.EndedAt, s.Blocks[0].Balls[0].After = time.Time{}, 3*time.Hour },
			[]string{"/blocks/0/balls/0/after_s", "is 10800 s, which is in the future; the phone's clock may be wrong: set it to the network's time and correct started_at or after_s"}},
		{"a ball after the end", func(s *practice.Session) { s.Blocks[0].Balls[0].After = 66 * time.Minute },
			[]string{"/blocks/0/balls/0/after_s", "is 3960 s, which is after ended_at; give a later end or the time the ball was struck"}},
		{"a card", func(s *practice.Session) {
			card := func(balls, inside, holed, best int) practice.Block {
				return practice.Block{Kind: curriculum.Test, Skill: "p", Radius: ft5, Attested: &progress.Attested{Balls: balls, Inside: inside, Holed: holed, BestRun: best}}
			}
			s.Blocks = append(s.Blocks[:0], card(0, 0, 0, 0), card(50, 50, 50, 50), card(2001, 0, 0, 0), card(-1, 0, 0, 0), card(9, 10, 0, 0), card(9, 5, 6, 0), card(9, 5, 5, 6), card(9, 5, 1, 5))
			s.Blocks[7].Balls = balls("i")
		}, []string{"/blocks/2/attested/balls", "is 2001; give 0 to 2000", "/blocks/3/attested/balls", "is -1; give 0 to 2000",
			"/blocks/4/attested/inside", "is 10 of 9 balls; give 0 to 9, holed ones included", "/blocks/5/attested/holed", "is 6 of 5 inside; give 0 to 5",
			"/blocks/6/attested/best_run", "is 6 with 5 inside; give 0 to 5",
			"/blocks/7/attested", "is given together with balls; give counts from a card or the balls themselves, never both"}},
	} {
		s := session("s", 1, block(curriculum.Test, "p", "oi"))
		c.change(&s)
		err := s.Check(now)
		if c.want == nil {
			if err != nil {
				t.Errorf("%s: %v", c.why, err)
			}
			continue
		}
		wantFields(t, c.why, err, c.want...)
	}
}
