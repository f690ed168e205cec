package api

import (
	"math"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Now is what a student should do today.
type Now struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	Name      string    `json:"name" binding:"required"`
	// On is today in the student's time zone.
	On       string `json:"on" binding:"required" format:"date" example:"2026-05-13"`
	TimeZone string `json:"time_zone" binding:"required" example:"Europe/Lisbon"`
	// Units says how to show lengths to the student.
	Units string `json:"units" binding:"required" enums:"feet,metres"`
	// Work has one entry for each assignment that was not ended.
	Work []Work `json:"work" binding:"required"`
	// Skills are those of the current weeks first, then earlier ones with steps
	// still to pass.
	Skills []OpenSkill `json:"skills" binding:"required"`
	// Hand is which way round the student plays. The drills here name the student's own
	// clubs, and a left-hander's hands and feet.
	Hand string `json:"hand" binding:"required" extensions:"x-words=hands" example:"right"`
	// Stations are the clubs that blocks of stations are played with this week and
	// next, with where their balls stop.
	Stations []Station `json:"stations" binding:"required"`
	// Tests are the first tests and end tests that are asked for.
	Tests []TestDue `json:"tests" binding:"required"`
	// Retests are those that are due, the longest due first: ten balls, struck cold
	// before any other of the skill that day.
	Retests []Retest `json:"retests" binding:"required"`
	// QuietTests says whether tests of the plan are drawn by lot to hide the run and the
	// odds, since student and coach agree to it. The lot follows from the session's ID
	// and the number of the block in the plan: hash `ID/number` with FNV-1a of 32 bits,
	// mix it with the last step of MurmurHash3, and hide the run if the highest bit is 1.
	QuietTests bool `json:"quiet_tests" binding:"required"`
} // @name Now

// Work is one assignment and its current week.
type Work struct {
	AssignmentID  domain.ID `json:"assignment_id" binding:"required" format:"uuid"`
	ProgrammeID   domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Version       int       `json:"version" binding:"required"`
	ProgrammeName string    `json:"programme_name" binding:"required"`
	Text          string    `json:"text,omitempty"`
	Weeks         int       `json:"weeks" binding:"required" example:"6"`
	StartDate     string    `json:"start_date" binding:"required" format:"date"`
	Position      Position  `json:"position" binding:"required"`
	// Week is the current one; absent before the programme starts.
	Week *NowWeek `json:"week,omitempty"`
	// NextWeek is the one after it, for a phone that has no network when it
	// begins; absent in the last week.
	NextWeek *NowWeek `json:"next_week,omitempty"`
	// Adjustments are what the coach changed for the student and still stands,
	// latest first. The weeks here have them.
	Adjustments []Adjustment `json:"adjustments" binding:"required"`
} // @name Work

// NowWeek is a week of a programme.
type NowWeek struct {
	// Number counts from 1.
	Number int `json:"number" binding:"required" example:"2"`
	// StartsOn is its first day, in the student's time zone.
	StartsOn string    `json:"starts_on" binding:"required" format:"date"`
	Title    string    `json:"title,omitempty"`
	Text     string    `json:"text,omitempty"`
	SkillID  domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Plans    []NowPlan `json:"plans" binding:"required"`
} // @name NowWeek

// NowPlan is a planned session and how often it was done this week.
type NowPlan struct {
	// Number counts from 1.
	Number  int    `json:"number" binding:"required" example:"1"`
	Name    string `json:"name,omitempty"`
	Minutes int    `json:"minutes" binding:"required" example:"45"`
	// Times is how often to do it in the week, Done how often it was done.
	Times  int        `json:"times" binding:"required" example:"2"`
	Done   int        `json:"done" binding:"required" example:"1"`
	Blocks []NowBlock `json:"blocks" binding:"required"`
} // @name NowPlan

// NowBlock is one part of a plan.
type NowBlock struct {
	// Number counts from 1; a session names it as plan_block.
	Number  int    `json:"number" binding:"required" example:"4"`
	Kind    string `json:"kind" binding:"required" extensions:"x-words=block_kinds"`
	Share   int    `json:"share" binding:"required" example:"40"`
	Minutes int    `json:"minutes" binding:"required" example:"18"`
	// SkillID is what the block trains. The skill is in skills, unless it is an
	// earlier one whose steps are all passed.
	SkillID   domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	SkillName string    `json:"skill_name" binding:"required"`
	Drill     Drill     `json:"drill" binding:"required"`
	// BallsAnHour is the student's pace in this kind of block or, until it is known, the
	// usual one; of a block that is played out it is places. Balls is how many the
	// minutes have room for at that pace.
	BallsAnHour float64 `json:"balls_an_hour" binding:"required" example:"48.5"`
	Balls       int     `json:"balls" binding:"required" example:"15"`
	// Deck is the tasks of a block of kind random or playout, in order: one ball each.
	// It begins where this week's sessions have ended, and goes once around the hole
	// after the other, so that the next place is near the last.
	Deck []DealtTask `json:"deck,omitempty"`
} // @name NowBlock

// Task is one ball of a random block. What the drill leaves open is absent.
type Task struct {
	Lie       string  `json:"lie,omitempty" example:"light rough"`
	DistanceM float64 `json:"distance_m,omitempty" example:"14"`
	Club      string  `json:"club,omitempty" example:"54° wedge"`
} // @name Task

// DealtTask is one ball, with its place on the walk around the hole.
type DealtTask struct {
	Task
	// Hour is where around the hole, as on the face of a clock that has 12 where the
	// week's walk begins.
	Hour int `json:"hour" binding:"required" minimum:"1" maximum:"12" example:"4"`
	// WalkM is how far it is from the place before, in metres; absent for the first, and
	// where the drill says no distance.
	WalkM float64 `json:"walk_m,omitempty" example:"6.2"`
} // @name DealtTask

// OddsTable is the odds of passing the next tier from every state of play, for a
// page without a network.
type OddsTable struct {
	Tier Tier `json:"tier" binding:"required"`
	// In and Holed are the assumed rates: of balls in but not holed, and holed.
	In    float64 `json:"in" binding:"required" example:"0.68"`
	Holed float64 `json:"holed" binding:"required" example:"0.03"`
	// Balls is the largest number of balls in the table.
	Balls int `json:"balls" binding:"required" example:"60"`
	// Table gives at [run][holed][balls] the probability of passing the tier within
	// that many more balls, when run balls in a row are in and holed of them were
	// holed. The last entries for run and holed also stand for more.
	Table [][][]float64 `json:"table" binding:"required"`
} // @name OddsTable

// OpenSkill is a skill that the student is working on.
type OpenSkill struct {
	ID   domain.ID `json:"id" binding:"required" format:"uuid"`
	Name string    `json:"name" binding:"required"`
	Kind string    `json:"kind" binding:"required" extensions:"x-words=skill_kinds"`
	Text string    `json:"text,omitempty"`
	// Earlier is true for a skill of an earlier week.
	Earlier bool   `json:"earlier" binding:"required"`
	Ladder  Ladder `json:"ladder" binding:"required"`
	// Held is how many tiers of the ladder are passed.
	Held     int   `json:"held" binding:"required" example:"1"`
	NextTier *Tier `json:"next_tier,omitempty"`
	// BestRun is the most balls in a row ever at the next tier's radius.
	BestRun Run        `json:"best_run" binding:"required"`
	Near    *Near      `json:"near,omitempty"`
	LastAt  *time.Time `json:"last_at,omitempty" format:"date-time"`
	// Odds are absent without a next tier, or with too few balls to tell.
	Odds *OddsTable `json:"odds,omitempty"`
} // @name OpenSkill

func encodeNow(n academy.Now) Now {
	return Now{
		StudentID: n.Student.ID, Name: n.Student.Name, On: n.On.String(), TimeZone: n.Student.TimeZone, Units: string(n.Student.Units),
		Work: each(n.Work, func(w academy.Work) Work { return encodeWork(n, w) }), Skills: each(n.Skills, encodeOpenSkill),
		Hand: string(n.Hand), Stations: each(n.Stations, encodeStation), Tests: each(n.Tests, encodeTestDue),
		Retests: each(n.Retests, func(d academy.DueSkill) Retest { return encodeRetest(d.Skill, d.Due) }), QuietTests: n.Quiet.Agreed,
	}
}

func encodeWork(n academy.Now, w academy.Work) Work {
	c := w.Version.Content
	out := Work{
		Adjustments:  each(w.Adjustments, encodeAdjustment),
		AssignmentID: w.Assignment.ID, ProgrammeID: w.Assignment.Programme, Version: w.Assignment.Version, ProgrammeName: c.Name, Text: c.Text,
		Weeks: len(c.Weeks), StartDate: w.Assignment.Start.String(), Position: encodePosition(w.Position, w.Assignment.Start),
	}
	number := w.Position.Week
	if w.Week != nil {
		out.Week = encodeNowWeek(n, w, number, w.WeekStart)
		for i := range out.Week.Plans {
			out.Week.Plans[i].Done = w.Done.Sessions[i+1]
		}
	}
	if number < len(c.Weeks) {
		out.NextWeek = encodeNowWeek(n, w, number+1, w.Assignment.WeekStart(number+1))
	}
	return out
}

func encodeNowWeek(n academy.Now, w academy.Work, number int, start domain.Date) *NowWeek {
	week := w.Weeks[number-1]
	out := &NowWeek{Number: number, StartsOn: start.String(), Title: week.Title, Text: week.Text, SkillID: week.Skill, Plans: []NowPlan{}}
	for i, p := range week.Plans {
		out.Plans = append(out.Plans, NowPlan{
			Number: i + 1, Name: p.Name, Minutes: p.Minutes, Times: p.Times, Blocks: nowBlocks(n, w, number, i+1),
		})
	}
	return out
}

// nowBlocks encodes the blocks of a plan; its week's number and its own are 1-based.
func nowBlocks(n academy.Now, w academy.Work, number, plan int) []NowBlock {
	week := w.Weeks[number-1]
	return blocksOf(week.Plans[plan-1], week, w.Version.SkillByID, n.Habit, false, func(i int) []curriculum.Stop { return n.Deck(w, number, plan, i+1) })
}

// blocksOf encodes the blocks of a plan of a week, with a student's pace, that of random
// practice at most where one ball is fetched each time; deck deals for one by its place,
// counted from 0.
func blocksOf(p curriculum.Plan, week curriculum.Week, skillOf func(domain.ID) (curriculum.Skill, bool), h progress.Habit, oneBall bool, deck func(int) []curriculum.Stop) []NowBlock {
	blocks := make([]NowBlock, len(p.Blocks))
	minutes := p.BlockMinutes()
	for i, b := range p.Blocks {
		skill, _ := skillOf(week.SkillOf(b))
		blocks[i] = NowBlock{
			Number: i + 1, Kind: string(b.Kind), Share: b.Share, SkillID: skill.ID, SkillName: skill.Name, Drill: encodeDrill(b.Drill),
		}
		if minutes != nil {
			blocks[i].Minutes = minutes[i]
		}
		blocks[i].BallsAnHour = aPace(h.Pace(b.Kind))
		if oneBall {
			blocks[i].BallsAnHour = min(blocks[i].BallsAnHour, aPace(h.Pace(curriculum.Random)))
		}
		blocks[i].Balls = curriculum.BallsIn(blocks[i].Minutes, blocks[i].BallsAnHour)
		if dealt := deck(i); dealt != nil {
			blocks[i].Deck = each(dealt, encodeStop)
		}
	}
	return blocks
}

func encodeStop(s curriculum.Stop) DealtTask {
	// To the decimetre: nobody walks by the centimetre.
	return DealtTask{Task{Lie: s.Lie, DistanceM: s.Distance.Metres(), Club: s.Club}, s.Hour, math.Round(10*s.Walk.Metres()) / 10}
}

func encodeOdds(s progress.State) *OddsTable {
	o, ok := s.Odds()
	if !ok {
		return nil
	}
	for _, byHeld := range o.Table {
		for _, byBalls := range byHeld {
			for i, p := range byBalls {
				byBalls[i] = math.Round(p*1000) / 1000 // a phone shows whole per cents
			}
		}
	}
	return &OddsTable{Tier: encodeTier(o.Tier), In: o.Rates.In, Holed: o.Rates.Holed, Balls: o.Balls, Table: o.Table}
}

func encodeOpenSkill(o academy.OpenSkill) OpenSkill {
	out := OpenSkill{
		ID: o.Skill.ID, Name: o.Skill.Name, Kind: string(o.Skill.Kind), Text: o.Skill.Text, Earlier: o.Earlier,
		Ladder: encodeLadder(o.State.Ladder), Held: o.State.Held, BestRun: encodeRun(o.State.Best()), LastAt: instant(o.State.LastAt),
	}
	out.Odds = encodeOdds(o.State)
	if next, open := o.State.Next(); open {
		tier := encodeTier(next)
		out.NextTier = &tier
		out.Near = encodeNear(o.State.Near, next)
	}
	return out
}

// getNow tells a student what to do today.
//
//	@Summary		Read what to do today
//	@Description	The current week of each assignment, with its plans and each block's minutes and drill; and the skills with steps still to pass, earlier ones included.
//	@ID				getNow
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	Now
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/now [get]
func (s *Server) getNow(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	if done, err := s.fresh(c, id); done || err != nil {
		return err
	}
	now, err := s.Read.Now(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return okFresh(c, encodeNow(now))
}
