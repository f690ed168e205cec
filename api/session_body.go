package api

import (
	"fmt"
	"math"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Ball is one shot.
type Ball struct {
	// Outcome is where the ball came to rest: outside the block's circle, inside
	// it, or in the hole. At stations it is where the ball landed.
	Outcome string `json:"outcome" validate:"required" binding:"required" extensions:"x-words=outcomes" example:"in"`
	// LeaveM is the leave, the distance left to the hole in metres, if it was
	// measured. With it the ball can count at another radius.
	LeaveM *float64 `json:"leave_m,omitempty" minimum:"0" maximum:"1000" example:"0.61"`
	// Miss is which way a ball that is out missed, seen from where it was played;
	// optional.
	Miss string `json:"miss,omitempty" extensions:"x-words=misses" example:"short"`
	// Contact is how the ball was struck, if not cleanly: thin is too high on the
	// ball, fat is the ground first; optional.
	Contact string `json:"contact,omitempty" extensions:"x-words=contacts" example:"thin"`
	Club    string `json:"club,omitempty" maxLength:"60" example:"54° wedge"`
	Lie     string `json:"lie,omitempty" maxLength:"60" example:"fairway"`
	// DistanceM is how far the hole was before the shot, in metres.
	DistanceM float64 `json:"distance_m,omitempty" minimum:"0" maximum:"100" example:"12"`
	// Strokes is how many it took until the ball was holed, this one included, in a
	// block of kind playout: 1 for a ball that is holed, and absent while it is not.
	// Elsewhere there is none.
	Strokes int `json:"strokes,omitempty" minimum:"0" maximum:"15" example:"3"`
	// AfterS is when the ball was struck, in seconds after the session's start;
	// absent or 0 if not known.
	AfterS float64 `json:"after_s,omitempty" minimum:"0" maximum:"57600" example:"312.5"`
} // @name Ball

// Attested is counts from a paper card. They are kept apart from recorded balls
// and count for no rate, run or milestone.
type Attested struct {
	Balls int `json:"balls" validate:"required" binding:"required" minimum:"0" maximum:"2000" example:"40"`
	// Inside counts the holed ones as well.
	Inside int `json:"inside" validate:"required" binding:"required" minimum:"0" maximum:"2000" example:"22"`
	Holed  int `json:"holed,omitempty" minimum:"0" maximum:"2000" example:"3"`
	// BestRun is the most balls in a row that the student wrote down.
	BestRun int `json:"best_run,omitempty" minimum:"0" maximum:"2000" example:"6"`
} // @name Attested

// SessionBlock is one part of a session, with its balls or with counts from a
// paper card.
type SessionBlock struct {
	// PlanBlock is the number of the plan's block, from 1; optional.
	PlanBlock int       `json:"plan_block,omitempty" minimum:"0" maximum:"12" example:"4"`
	Kind      string    `json:"kind" validate:"required" binding:"required" extensions:"x-words=block_kinds" example:"test"`
	SkillID   domain.ID `json:"skill_id" validate:"required" binding:"required" format:"uuid"`
	// Purpose is what a test measures beside the steps; such a test has a fixed length,
	// passes no step, and its balls count for rates. Only for a test; optional.
	Purpose string `json:"purpose,omitempty" extensions:"x-words=purposes" example:"retest"`
	// Quiet says that the phone showed neither the balls in a row nor the odds of a
	// test, which counts like any other.
	Quiet bool `json:"quiet,omitempty"`
	// RadiusM is the radius that out and in were judged at, in metres: around the hole
	// or, at stations, around the landing spot.
	RadiusM float64 `json:"radius_m" validate:"required" binding:"required" minimum:"0.1" maximum:"30" example:"2"`
	// Seconds is the time really spent.
	Seconds int `json:"seconds,omitempty" minimum:"0" maximum:"14400" example:"900"`
	// PlannedSeconds is the planned time. The service fills it in; a value you
	// send is ignored.
	PlannedSeconds int `json:"planned_seconds,omitempty" minimum:"0" maximum:"14400" example:"900"`
	// Counts sums up the balls at the block's radius. The service fills it in. What you
	// send must agree with the balls you send, or be left out: lists have counts but no
	// balls, and what a list gave would erase them.
	Counts   *BallCounts `json:"counts,omitempty"`
	Balls    []Ball      `json:"balls,omitempty" maxItems:"2000"`
	Attested *Attested   `json:"attested,omitempty"`
} // @name SessionBlock

// BallCounts sums up recorded balls at the radius they were judged at.
type BallCounts struct {
	Balls int `json:"balls" binding:"required" example:"36"`
	// Inside counts the holed ones as well.
	Inside int `json:"inside" binding:"required" example:"24"`
	Holed  int `json:"holed" binding:"required" example:"2"`
} // @name BallCounts

// SessionRequest is one complete revision of a session.
type SessionRequest struct {
	// StudentID is whose session it is; optional for a student's own.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// AssignmentID, Week and Plan say which plan was followed; week and plan count
	// from 1. Leave them out for practice without a plan.
	AssignmentID domain.ID `json:"assignment_id,omitempty" format:"uuid"`
	Week         int       `json:"week,omitempty" minimum:"0" maximum:"104" example:"2"`
	Plan         int       `json:"plan,omitempty" minimum:"0" maximum:"14" example:"1"`
	// Version is the version of the programme that was followed; the assigned one
	// by default.
	Version int `json:"version,omitempty" minimum:"0" example:"1"`
	// TimeZone is an IANA name, to tell the practice week of the session; the
	// student's own by default.
	TimeZone  string    `json:"time_zone,omitempty" example:"Europe/Lisbon"`
	StartedAt time.Time `json:"started_at" validate:"required" format:"date-time" example:"2026-05-04T17:30:00+01:00"`
	// EndedAt is left out while the session goes on.
	EndedAt *time.Time     `json:"ended_at,omitempty" format:"date-time" example:"2026-05-04T18:30:00+01:00"`
	Note    string         `json:"note,omitempty" maxLength:"4000"`
	Blocks  []SessionBlock `json:"blocks,omitempty" maxItems:"24"`
	// Surface is what was played on: a green, if you leave it out. Elsewhere the time
	// and the balls count as practice, but no step is passed and no rate is made.
	Surface string `json:"surface,omitempty" extensions:"x-words=surfaces" example:"mat"`
	// Variant is which version of the plan was played: in twenty minutes, with one
	// ball, on a closed green or in the rain. It is left out for the plan as it stands.
	Variant string `json:"variant,omitempty" extensions:"x-words=variants" example:"closed_green"`
	// MatchID is the match whose cards were played, if any.
	MatchID domain.ID `json:"match_id,omitempty" format:"uuid"`
	// Green is how the student found the green; optional.
	Green *GreenToday `json:"green,omitempty"`
	// Landings are balls of which the student said where they landed and stopped;
	// optional, and they need a green. From them it is learned where to land the next.
	Landings []Landing `json:"landings,omitempty" maxItems:"200"`
	// Revision counts the uploads of this session from 1; the highest one is kept.
	Revision int `json:"revision" validate:"required" minimum:"1" maximum:"1073741824" example:"1"`
} // @name SessionRequest

// Session is a stored session.
type Session struct {
	ID           domain.ID `json:"id" binding:"required" format:"uuid"`
	StudentID    domain.ID `json:"student_id" binding:"required" format:"uuid"`
	AssignmentID domain.ID `json:"assignment_id,omitempty" format:"uuid"`
	Week         int       `json:"week,omitempty"`
	Plan         int       `json:"plan,omitempty"`
	Version      int       `json:"version,omitempty"`
	TimeZone     string    `json:"time_zone" binding:"required"`
	StartedAt    time.Time `json:"started_at" binding:"required" format:"date-time"`
	// EndedAt is left out while the session goes on.
	EndedAt *time.Time `json:"ended_at,omitempty" format:"date-time"`
	Note    string     `json:"note,omitempty"`
	// Blocks have no balls in a list of sessions.
	Blocks []SessionBlock `json:"blocks" binding:"required"`
	// Surface is what was played on: a green, if you leave it out. Elsewhere the time
	// and the balls count as practice, but no step is passed and no rate is made.
	Surface string `json:"surface,omitempty" extensions:"x-words=surfaces" example:"mat"`
	// Variant is which version of the plan was played: in twenty minutes, with one
	// ball, on a closed green or in the rain. It is left out for the plan as it stands.
	Variant string `json:"variant,omitempty" extensions:"x-words=variants" example:"closed_green"`
	// MatchID is the match whose cards were played, if any.
	MatchID domain.ID `json:"match_id,omitempty" format:"uuid"`
	// Green is how the student found the green, if they said so, and Landings the balls
	// of which they said where they landed and stopped.
	Green    *GreenToday `json:"green,omitempty"`
	Landings []Landing   `json:"landings,omitempty"`
	// Missed is the planned time of blocks that were not done, by kind; absent
	// until the session has ended.
	Missed []MissedTime `json:"missed,omitempty"`
	// Counts says whether this counts as one of the plan's sessions: half of the
	// plan's minutes were spent, or half as many balls struck as it has minutes (played out, half of 35 an hour),
	// and in either case at least 10 balls (half as many as minutes in a plan of
	// less than 20). Balls on a card count as well. The notice not_counted says
	// what is missing. Practice without a plan counts toward none.
	Counts   bool `json:"counts" binding:"required"`
	Revision int  `json:"revision" binding:"required"`
	// StoredBy is the member who sent this revision.
	StoredBy   domain.ID `json:"stored_by" binding:"required" format:"uuid"`
	ReceivedAt time.Time `json:"received_at" binding:"required" format:"date-time"`
} // @name Session

// MissedTime is planned time of one kind that was not practised.
type MissedTime struct {
	Kind           string `json:"kind" binding:"required" extensions:"x-words=block_kinds"`
	PlannedSeconds int    `json:"planned_seconds" binding:"required" example:"900"`
} // @name MissedTime

// Run is balls in a row that were in or holed.
type Run struct {
	Length int `json:"length" binding:"required" example:"7"`
	// Holed is how many of them were holed.
	Holed int `json:"holed" binding:"required" example:"1"`
} // @name Run

// Near sums up runs that came close to passing a tier.
type Near struct {
	Runs int `json:"runs" binding:"required" example:"3"`
	// Length is the longest of them, Times how many were that long, and Holed the
	// most balls holed in one of those.
	Length int `json:"length" binding:"required" example:"7"`
	Times  int `json:"times" binding:"required" example:"2"`
	Holed  int `json:"holed" binding:"required" example:"0"`
	// Text says the same in words.
	Text string `json:"text" binding:"required" example:"reached 5 of 6, twice"`
} // @name Near

// Hit is the ball that passed a tier.
type Hit struct {
	SessionID domain.ID `json:"session_id" binding:"required" format:"uuid"`
	// Block and Ball count from 1 within the session and the block.
	Block int `json:"block" binding:"required" example:"4"`
	Ball  int `json:"ball" binding:"required" example:"18"`
	// At is when that ball was struck.
	At time.Time `json:"at" binding:"required" format:"date-time"`
} // @name Hit

// Milestone is a tier that was passed, with the ball that passed it.
type Milestone struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Tier    Tier      `json:"tier" binding:"required"`
	Hit
	// HeldAt is when the retest began that bore the step out, cold and at least a week
	// later; absent while none did.
	HeldAt *time.Time `json:"held_at,omitempty" format:"date-time"`
} // @name Milestone

// TierResult is what a session says about one tier, one step of a ladder.
type TierResult struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Tier    Tier      `json:"tier" binding:"required"`
	// Judged, Inside and Holed count the balls that can be judged at the tier's
	// radius. Unmeasured counts those that cannot, because they were judged at
	// another radius and the distance left was not measured.
	Judged     int   `json:"judged" binding:"required"`
	Inside     int   `json:"inside" binding:"required"`
	Holed      int   `json:"holed" binding:"required"`
	Unmeasured int   `json:"unmeasured" binding:"required"`
	BestRun    Run   `json:"best_run" binding:"required"`
	Near       *Near `json:"near,omitempty"`
	Passed     *Hit  `json:"passed,omitempty"`
} // @name TierResult

// Notice is a remark about a stored session.
type Notice struct {
	// Code is the stable name of the notice.
	Code string `json:"code" binding:"required" enums:"overlaps,plan_missing,no_programme,other_block,not_counted,off_green,not_in_a_row,unmeasured" example:"overlaps"`
	// Detail says it in a sentence.
	Detail string `json:"detail" binding:"required"`
	// SessionID is the other session concerned, if any.
	SessionID domain.ID `json:"session_id,omitempty" format:"uuid"`
} // @name Notice

// SessionResult is a stored session with its results.
type SessionResult struct {
	Session
	// Milestones are the tiers that this session was the first to pass.
	Milestones []Milestone `json:"milestones" binding:"required"`
	// Results has an entry for each tier of each skill.
	Results []TierResult `json:"results" binding:"required"`
	Notices []Notice     `json:"notices" binding:"required"`
} // @name SessionResult

// unknownOutcome is no outcome, for the domain to refuse.
const unknownOutcome = streak.Outcome(math.MaxUint8)

func readOutcome(word string) streak.Outcome {
	for _, o := range streak.Outcomes() {
		if word == o.String() {
			return o
		}
	}
	return unknownOutcome
}

// read gives the session as its student sent it, to the millisecond.
func (r SessionRequest) read(id domain.ID) (practice.Session, error) {
	var p domain.Problems
	s := practice.Session{
		ID: id, Student: bodyID(&p, "/student_id", r.StudentID), Assignment: bodyID(&p, "/assignment_id", r.AssignmentID),
		Week: r.Week, Plan: r.Plan, Version: r.Version, TimeZone: r.TimeZone, StartedAt: r.StartedAt.UTC().Truncate(time.Millisecond), Note: r.Note, Revision: r.Revision,
		Surface: curriculum.Surface(r.Surface), Variant: curriculum.Variant(r.Variant), Match: bodyID(&p, "/match_id", r.MatchID),
	}
	if r.EndedAt != nil {
		s.EndedAt = r.EndedAt.UTC().Truncate(time.Millisecond)
	}
	if r.Green != nil {
		s.Green = greenside.Green{StimpFt: r.Green.StimpFt, SlopeDeg: r.Green.SlopeDeg}
	}
	for i, x := range r.Landings {
		s.Landings = append(s.Landings, x.read(&p, fmt.Sprintf("/landings/%d", i)))
	}
	for i, b := range r.Blocks {
		s.Blocks = append(s.Blocks, b.read(&p, fmt.Sprintf("/blocks/%d", i)))
	}
	return s, p.Err("session_invalid", "The session was not saved. Keep it, correct it and send it again.")
}

func (b SessionBlock) read(p *domain.Problems, at string) practice.Block {
	out := practice.Block{
		PlanBlock: b.PlanBlock, Kind: curriculum.BlockKind(b.Kind), Skill: bodyID(p, at+"/skill_id", b.SkillID),
		Radius: length(p, at+"/radius_m", b.RadiusM), Seconds: b.Seconds, Purpose: curriculum.Purpose(b.Purpose), Quiet: b.Quiet,
	}
	if b.PlanBlock < 0 {
		p.Add(at+"/plan_block", "is %d; give the number of the plan's block from 1, or leave it out", b.PlanBlock)
	}
	if a := b.Attested; a != nil {
		out.Attested = &progress.Attested{Balls: a.Balls, Inside: a.Inside, Holed: a.Holed, BestRun: a.BestRun}
	}
	for i, ball := range b.Balls {
		out.Balls = append(out.Balls, ball.read(p, fmt.Sprintf("%s/balls/%d", at, i)))
	}
	if b.Counts != nil {
		b.Counts.check(out.Balls, p, at)
	}
	return out
}

// check refuses counts that the balls do not bear out, as those of an item of a
// list do not.
func (c BallCounts) check(balls []practice.Ball, p *domain.Problems, at string) {
	sent := practice.CountBalls(balls)
	if c != (BallCounts{Balls: sent.Balls, Inside: sent.Inside, Holed: sent.Holed}) {
		p.Add(at+"/counts", "are of %d balls, %d inside and %d holed, and the balls sent are %d, %d and %d; send all balls, as a single session has them and a list does not, or leave the counts out",
			c.Balls, c.Inside, c.Holed, sent.Balls, sent.Inside, sent.Holed)
	}
}

func (b Ball) read(p *domain.Problems, at string) practice.Ball {
	out := practice.Ball{Outcome: readOutcome(b.Outcome), Miss: practice.Miss(b.Miss), Contact: practice.Contact(b.Contact), Club: b.Club, Lie: b.Lie, Strokes: b.Strokes, Distance: length(p, at+"/distance_m", b.DistanceM)}
	if b.LeaveM != nil {
		out.Measured, out.Leave = true, length(p, at+"/leave_m", *b.LeaveM)
	}
	if math.Abs(b.AfterS) > maxAfter {
		p.Add(at+"/after_s", "is %v s; give the seconds after the session's start", b.AfterS)
		return out
	}
	out.After = time.Duration(math.Round(b.AfterS*1000)) * time.Millisecond
	return out
}

// maxAfter keeps seconds within a time.Duration; the domain's bound is lower.
const maxAfter = 1e6

func encodeSession(s practice.Session) Session {
	out := Session{
		ID: s.ID, StudentID: s.Student, AssignmentID: s.Assignment, Week: s.Week, Plan: s.Plan, Version: s.Version, TimeZone: s.TimeZone,
		StartedAt: s.StartedAt.UTC(), EndedAt: instant(s.EndedAt), Note: s.Note, Blocks: each(s.Blocks, encodeSessionBlock),
		Counts: s.Counts(), Revision: s.Revision, StoredBy: s.By, ReceivedAt: s.ReceivedAt.UTC(),
		Surface: string(s.Surface), Variant: string(s.Variant), MatchID: s.Match,
	}
	if s.Green != (greenside.Green{}) {
		out.Green = &GreenToday{s.Green.StimpFt, s.Green.SlopeDeg}
	}
	if len(s.Landings) > 0 {
		out.Landings = each(s.Landings, encodeLanding)
	}
	if !s.EndedAt.IsZero() {
		out.Missed = each(s.Missed, func(m progress.KindTime) MissedTime {
			return MissedTime{Kind: m.Kind, PlannedSeconds: m.Planned}
		})
	}
	return out
}

func encodeSessionBlock(b practice.Block) SessionBlock {
	out := SessionBlock{
		PlanBlock: b.PlanBlock, Kind: string(b.Kind), SkillID: b.Skill, RadiusM: b.Radius.Metres(),
		Seconds: b.Seconds, PlannedSeconds: b.Planned, Balls: each(b.Balls, encodeBall),
		Purpose: string(b.Purpose), Quiet: b.Quiet,
	}
	if a := b.Attested; a != nil {
		out.Attested = &Attested{Balls: a.Balls, Inside: a.Inside, Holed: a.Holed, BestRun: a.BestRun}
		return out
	}
	out.Counts = &BallCounts{Balls: b.Counts.Balls, Inside: b.Counts.Inside, Holed: b.Counts.Holed}
	return out
}

func encodeBall(b practice.Ball) Ball {
	out := Ball{Outcome: b.Outcome.String(), Miss: string(b.Miss), Contact: string(b.Contact), Club: b.Club, Lie: b.Lie, DistanceM: b.Distance.Metres(), Strokes: b.Strokes, AfterS: b.After.Seconds()}
	if b.Measured {
		leave := b.Leave.Metres()
		out.LeaveM = &leave
	}
	return out
}

func encodeOutcome(o practice.PutResult) SessionResult {
	out := SessionResult{
		Session: encodeSession(o.Session), Milestones: each(o.Milestones, encodeMilestone), Results: []TierResult{},
		Notices: each(o.Notices, func(n practice.Notice) Notice {
			return Notice{Code: n.Code, Detail: n.Detail, SessionID: n.Session}
		}),
	}
	for _, play := range o.Session.Plays() {
		for _, r := range o.Results[play.Skill] {
			out.Results = append(out.Results, encodeTierResult(play.Skill, r))
		}
	}
	return out
}

func encodeMilestone(m progress.Milestone) Milestone {
	return Milestone{SkillID: m.Skill, Tier: encodeTier(m.Tier), Hit: encodeHit(m.Hit), HeldAt: instant(m.HeldAt)}
}

func encodeHit(h progress.Hit) Hit {
	return Hit{SessionID: h.Session, Block: h.Block, Ball: h.Ball, At: h.At.UTC()}
}

func encodeRun(r streak.Run) Run { return Run{Length: r.Length, Holed: r.Holed} }

func encodeTierResult(skill domain.ID, r progress.TierResult) TierResult {
	out := TierResult{
		SkillID: skill, Tier: encodeTier(r.Tier), Judged: r.Judged, Inside: r.Inside, Holed: r.Holed,
		Unmeasured: r.Unmeasured, BestRun: encodeRun(r.Best), Near: encodeNear(r.Near, r.Tier),
	}
	if r.Passed != nil {
		hit := encodeHit(*r.Passed)
		out.Passed = &hit
	}
	return out
}

// encodeNear tells of the runs near a tier; nil when there was none.
func encodeNear(n streak.Near, t streak.Tier) *Near {
	if n.Runs == 0 {
		return nil
	}
	return &Near{Runs: n.Runs, Length: n.Length, Times: n.Times, Holed: n.Holed, Text: advice.NearText(n, t)}
}
