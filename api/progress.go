package api

import (
	"math"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Interval is a closed interval.
type Interval struct {
	Low  float64 `json:"low" binding:"required" example:"0.52"`
	High float64 `json:"high" binding:"required" example:"0.66"`
} // @name Interval

// OpenInterval is an interval whose ends may lie beyond the 200 sessions that a
// forecast looks ahead; such an end is left out.
type OpenInterval struct {
	Low  *float64 `json:"low,omitempty" example:"2"`
	High *float64 `json:"high,omitempty" example:"9"`
} // @name OpenInterval

// Rate is the chance that a ball comes to rest inside a radius, as it stands
// now, with what it rests on.
type Rate struct {
	// RadiusM is the radius in metres that it is about.
	RadiusM    float64  `json:"radius_m" binding:"required" example:"1.524"`
	Mean       float64  `json:"mean" binding:"required" example:"0.59"`
	Interval80 Interval `json:"interval_80" binding:"required"`
	Interval95 Interval `json:"interval_95" binding:"required"`
	// EffectiveBalls is how many balls of today the evidence is worth.
	EffectiveBalls float64 `json:"effective_balls" binding:"required" example:"143.2"`
	// Balls of the last Sessions sessions were judged at the radius, or left at a
	// measured distance; Inside of them came to rest inside.
	Balls    int `json:"balls" binding:"required" example:"210"`
	Inside   int `json:"inside" binding:"required" example:"124"`
	Sessions int `json:"sessions" binding:"required" example:"6"`
	// Elsewhere are the balls of those sessions that were judged at other radii:
	// they count by what they say of this one.
	Elsewhere []Circle `json:"elsewhere" binding:"required"`
} // @name Rate

// Circle counts the balls that were judged at one radius.
type Circle struct {
	RadiusM float64 `json:"radius_m" binding:"required" example:"0.914"`
	Balls   int     `json:"balls" binding:"required" example:"60"`
	// Inside includes those holed.
	Inside int `json:"inside" binding:"required" example:"24"`
	Holed  int `json:"holed" binding:"required" example:"2"`
} // @name Circle

// NextSession is what the next session will bring: the share of its balls that
// come to rest inside, the day's form and chance included.
type NextSession struct {
	Mean       float64  `json:"mean" binding:"required" example:"0.59"`
	Interval80 Interval `json:"interval_80" binding:"required"`
	// Balls that the session is taken to have.
	Balls int `json:"balls" binding:"required" example:"35"`
} // @name NextSession

// Learned is what an academy's students teach about one of them at a skill. Each
// part is left out where they are too few.
type Learned struct {
	// Prior are the parameters of the Beta distribution of a rate at the student's
	// stage, before any ball is seen.
	Prior *BetaPrior `json:"prior,omitempty"`
	// Form are the probabilities of the kinds of day's form.
	Form []float64 `json:"form,omitempty"`
} // @name Learned

// BetaPrior are the parameters of a Beta distribution.
type BetaPrior struct {
	// A is the first parameter of the beta distribution.
	A float64 `json:"a" binding:"required" example:"12.5"`
	// B is its second parameter.
	B float64 `json:"b" binding:"required" example:"8.1"`
} // @name BetaPrior

// DayForm is how much a student's sessions differ from their level.
type DayForm struct {
	// SD is the standard deviation in logits, Points about the same in percentage
	// points of the rate as it is now.
	SD     float64 `json:"sd" binding:"required" example:"0.2"`
	Points float64 `json:"points" binding:"required" example:"4.9"`
	// Memory is the share of it left at the next session.
	Memory float64 `json:"memory" binding:"required" example:"0.2"`
} // @name DayForm

// Trend is the change of the rate from session to session since the last
// milestone.
type Trend struct {
	Sessions int `json:"sessions" binding:"required" example:"6"`
	// Slope is in logits per session.
	Slope      float64  `json:"slope" binding:"required" example:"0.08"`
	Interval80 Interval `json:"interval_80" binding:"required"`
	// Improving is the probability that the rate rises.
	Improving float64 `json:"improving" binding:"required" example:"0.91"`
	// Change is what the slope comes to from the first to the last of the sessions,
	// as a difference of rates; left out with fewer than three.
	Change           *float64  `json:"change,omitempty" example:"0.06"`
	ChangeInterval80 *Interval `json:"change_interval_80,omitempty"`
	// Slow says that a gain worth having is improbable, and a small one likely.
	Slow bool `json:"slow" binding:"required"`
	// Text says it in a sentence.
	Text string `json:"text" binding:"required" example:"+6 points (+1 to +11) from the first to the last of 12 sessions: rising."`
} // @name Trend

// Horizon is the probability of the next tier within some sessions.
type Horizon struct {
	Sessions    int     `json:"sessions" binding:"required" example:"4"`
	Probability float64 `json:"probability" binding:"required" example:"0.62"`
} // @name Horizon

// Forecast says when the next tier may be passed, as of the latest session.
type Forecast struct {
	// NextSession is the probability of attaining it in the next session.
	NextSession float64   `json:"next_session" binding:"required" example:"0.21"`
	Within      []Horizon `json:"within" binding:"required"`
	// MedianSessions is left out beyond 200 sessions.
	MedianSessions *float64 `json:"median_sessions,omitempty" example:"3"`
	// Range80Sessions holds the number of sessions with 80 % probability;
	// Range80Days is the same in days at the student's own pace.
	Range80Sessions OpenInterval `json:"range_80_sessions" binding:"required"`
	Range80Days     OpenInterval `json:"range_80_days" binding:"required"`
} // @name Forecast

// Stall is a reason to look at a student, with its evidence. It advises; the
// coach decides.
type Stall struct {
	Reason string `json:"reason" binding:"required" extensions:"x-words=reasons" example:"flat"`
	// SkillID and SkillName are left out for a reason that is about no skill in
	// particular.
	SkillID   domain.ID `json:"skill_id,omitempty" format:"uuid"`
	SkillName string    `json:"skill_name,omitempty"`
	// Since is the day from which the state holds by the best reading.
	Since string `json:"since,omitempty" format:"date"`
	// Probability of the state; 1 for what is counted, not inferred.
	Probability float64 `json:"probability" binding:"required" example:"0.93"`
	Evidence    string  `json:"evidence" binding:"required"`
	// Figure is the one number that says how far it has gone, with its unit; left out
	// where there is none.
	Figure string `json:"figure,omitempty" example:"19 days"`
	Advice string `json:"advice" binding:"required"`
	// Reliability says how often a flag of that kind is right; left out for what is
	// counted, not inferred.
	Reliability string `json:"reliability,omitempty"`
	// Actions are adjustments that do what is advised, most useful first.
	Actions []Action `json:"actions" binding:"required"`
	// Silenced stands while a coach has acknowledged the reason: it calls for
	// attention again after that.
	Silenced *Silence `json:"silenced,omitempty"`
} // @name Stall

// Silence is a coach's word that a reason is seen.
type Silence struct {
	// Until is the last day of the silence, in the student's time zone.
	Until string    `json:"until" binding:"required" format:"date"`
	Note  string    `json:"note,omitempty"`
	By    domain.ID `json:"by" binding:"required" format:"uuid"`
	At    time.Time `json:"at" binding:"required" format:"date-time"`
} // @name Silence

// Undecided says that the data cannot tell yet.
type Undecided struct {
	// MoreSessions is about how many more it takes to tell.
	MoreSessions int    `json:"more_sessions" binding:"required" example:"2"`
	Text         string `json:"text" binding:"required"`
} // @name Undecided

// AttestedTally counts balls that came as counts from a card.
type AttestedTally struct {
	Balls  int `json:"balls" binding:"required"`
	Inside int `json:"inside" binding:"required"`
	Holed  int `json:"holed" binding:"required"`
} // @name AttestedTally

// Tally counts balls and time. Inside is at the radius that each ball was judged
// at, and counts the holed ones as well.
type Tally struct {
	Sessions int `json:"sessions" binding:"required" example:"3"`
	Balls    int `json:"balls" binding:"required" example:"120"`
	Inside   int `json:"inside" binding:"required" example:"70"`
	Holed    int `json:"holed" binding:"required" example:"9"`
	Seconds  int `json:"seconds" binding:"required" example:"5400"`
	// Attested balls are kept apart: no rate, run or milestone is made of them.
	Attested AttestedTally `json:"attested" binding:"required"`
	// Misses is left out where no ball's miss or contact was told.
	Misses *Misses `json:"misses,omitempty"`
} // @name Tally

// Misses counts which way balls missed that were out, and how balls were struck that
// were not struck cleanly. Telling either is optional.
type Misses struct {
	// Short is how many of the misses were short.
	Short int `json:"short" binding:"required" example:"14"`
	// Long is how many were long.
	Long int `json:"long" binding:"required" example:"3"`
	// Left is how many were left.
	Left int `json:"left" binding:"required" example:"5"`
	// Right is how many were right.
	Right int `json:"right" binding:"required" example:"2"`
	// Thin is how many were thin.
	Thin int `json:"thin" binding:"required" example:"4"`
	// Fat is how many were fat.
	Fat int `json:"fat" binding:"required" example:"1"`
	// Lean says in words which way they lean, where that is clear.
	Lean string `json:"lean" binding:"required" example:"Mostly short: 14 of the 17 that were short or long; the true share is probably 60 to 95 %."`
} // @name Misses

// SkillBrief is where a student stands at a skill.
type SkillBrief struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Name    string    `json:"name" binding:"required"`
	// Held is how many of the ladder's Tiers are passed.
	Held     int   `json:"held" binding:"required" example:"1"`
	Tiers    int   `json:"tiers" binding:"required" example:"3"`
	HeldTier *Tier `json:"held_tier,omitempty"`
	// TestOnly says that balls in a row count in tests alone.
	TestOnly bool `json:"test_only,omitempty"`
	// TechniqueCounts says that they count in technique blocks, too.
	TechniqueCounts bool `json:"technique_counts,omitempty"`
	// TechniqueUntil is when they ceased to count in technique blocks; what was
	// passed in one before stays passed. Absent when they never did, and while they do.
	TechniqueUntil *time.Time `json:"technique_until,omitempty" format:"date-time"`
	// NextTier is left out once the ladder is finished.
	NextTier *Tier `json:"next_tier,omitempty"`
	// BestRun is the longest run ever at the radius of the next tier or, once
	// the ladder is finished, of its hardest.
	BestRun Run `json:"best_run" binding:"required"`
	// Near sums up the runs near that tier in the recent sessions.
	Near *Near `json:"near,omitempty"`
	// Week counts the present practice week.
	Week Tally `json:"week" binding:"required"`
	// Rate is left out while no ball says anything about the radius.
	Rate *Rate `json:"rate,omitempty"`
	// Line is the rate after each of the last sessions, at most 12, oldest first; the
	// last is the rate now.
	Line   []float64  `json:"line,omitempty" example:"0.48,0.55,0.59"`
	LastAt *time.Time `json:"last_at,omitempty" format:"date-time"`
} // @name SkillBrief

// SkillProgress is a student's progress at a skill.
type SkillProgress struct {
	SkillBrief
	Kind string `json:"kind" binding:"required" extensions:"x-words=skill_kinds"`
	// Ladder is left out while no programme gave the student one.
	Ladder *Ladder `json:"ladder,omitempty"`
	// Total counts the whole history.
	Total Tally  `json:"total" binding:"required"`
	Trend *Trend `json:"trend,omitempty"`
	// NextSession and DayForm are there when Rate is.
	NextSession *NextSession `json:"next_session,omitempty"`
	DayForm     *DayForm     `json:"day_form,omitempty"`
	// Learned is what the academy's students teach about this one, which rate and
	// next session are read under; left out while they are too few. The calculations
	// rate and progress take it as it is.
	Learned *Learned `json:"learned,omitempty"`
	// Forecast is left out without a tier to attain.
	Forecast *Forecast `json:"forecast,omitempty"`
	Stalls   []Stall   `json:"stalls" binding:"required"`
	// Undecided stands while the data cannot tell how it goes.
	Undecided *Undecided `json:"undecided,omitempty"`
	// Uncounted says why the balls cannot pass a step as things are, and what would
	// help; left out when they can.
	Uncounted string `json:"uncounted,omitempty" example:"No ball counts towards 7 in a row inside 4 ft: most were in a circle of 6 ft, and no distance left was measured. Use a circle of 4 ft."`
	// Milestones are in order of when they were made, those of earlier ladders
	// included.
	Milestones []Milestone `json:"milestones" binding:"required"`
} // @name SkillProgress

// StudentBrief names a student.
type StudentBrief struct {
	ID       domain.ID `json:"id" binding:"required" format:"uuid"`
	Name     string    `json:"name" binding:"required"`
	TimeZone string    `json:"time_zone" binding:"required" example:"Europe/Lisbon"`
	Junior   bool      `json:"junior" binding:"required"`
} // @name StudentBrief

// Adherence is an assignment with the sessions done of those planned.
type Adherence struct {
	AssignmentID  domain.ID `json:"assignment_id" binding:"required" format:"uuid"`
	ProgrammeID   domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Version       int       `json:"version" binding:"required"`
	ProgrammeName string    `json:"programme_name" binding:"required"`
	Weeks         int       `json:"weeks" binding:"required" example:"6"`
	Position      Position  `json:"position" binding:"required"`
	// Planned is how many sessions the programme wanted by today, Done how many
	// were logged against it.
	Planned int `json:"planned" binding:"required" example:"6"`
	Done    int `json:"done" binding:"required" example:"5"`
} // @name Adherence

// KindTime is the time for one kind of block, kept against the plan's split.
type KindTime struct {
	Kind           string `json:"kind" binding:"required" extensions:"x-words=block_kinds"`
	PlannedSeconds int    `json:"planned_seconds" binding:"required" example:"5400"`
	SpentSeconds   int    `json:"spent_seconds" binding:"required" example:"7900"`
	// PlannedPercent and SpentPercent are of all the time planned and spent, to
	// a tenth.
	PlannedPercent float64 `json:"planned_percent" binding:"required" example:"25"`
	SpentPercent   float64 `json:"spent_percent" binding:"required" example:"41.3"`
} // @name KindTime

// TimeKept is the time of the last sessions that were done by a plan.
type TimeKept struct {
	Sessions int        `json:"sessions" binding:"required" example:"8"`
	Kinds    []KindTime `json:"kinds" binding:"required"`
} // @name TimeKept

// KindPace is how many balls a student strikes an hour in a kind of block, or how many
// places they play out.
type KindPace struct {
	Kind string `json:"kind" binding:"required" extensions:"x-words=block_kinds"`
	// BallsAnHour is learned from when the balls of the last sessions on a green were
	// struck, and drawn to what is usual while these are few.
	BallsAnHour float64 `json:"balls_an_hour" binding:"required" example:"48.5"`
	// Sessions is how many of the student's it rests on; with 0 it is what is usual.
	Sessions int `json:"sessions" binding:"required" example:"5"`
	// UsualLow and UsualHigh are what is usual.
	UsualLow  float64 `json:"usual_low" binding:"required" example:"40"`
	UsualHigh float64 `json:"usual_high" binding:"required" example:"60"`
} // @name KindPace

func encodePace(p progress.Pace) KindPace {
	usual := p.Kind.UsualPace()
	return KindPace{Kind: string(p.Kind), BallsAnHour: aPace(p), Sessions: p.Sessions, UsualLow: usual.Low, UsualHigh: usual.High}
}

// aPace is a pace to the tenth of a ball.
func aPace(p progress.Pace) float64 { return math.Round(10*p.AHour) / 10 }

// Progress is where one student stands.
type Progress struct {
	Student StudentBrief `json:"student" binding:"required"`
	// Sessions counts all that were logged.
	Sessions int        `json:"sessions" binding:"required" example:"21"`
	LastAt   *time.Time `json:"last_at,omitempty" format:"date-time"`
	// Attention are the reasons to look at the student, most pressing first,
	// those silenced last.
	Attention   []Stall      `json:"attention" binding:"required"`
	Assignments []Adherence  `json:"assignments" binding:"required"`
	Time        TimeKept     `json:"time" binding:"required"`
	Load        PracticeLoad `json:"load" binding:"required"`
	// Pace is the student's in every kind of block.
	Pace   []KindPace      `json:"pace" binding:"required"`
	Skills []SkillProgress `json:"skills" binding:"required"`
} // @name Progress

func encodeInterval(i estimate.Interval) Interval { return Interval{Low: i.Lo, High: i.Hi} }

// known leaves out a number of sessions or days that lies beyond the horizon,
// which the domain writes as 0 or as infinity.
func known(n float64) *float64 {
	if n <= 0 || math.IsInf(n, 0) || math.IsNaN(n) {
		return nil
	}
	return &n
}

func encodeOpenInterval(i estimate.Interval) OpenInterval {
	return OpenInterval{Low: known(i.Lo), High: known(i.Hi)}
}

// encodeRate tells a rate about a radius, with the counts behind it; nil while
// there are none.
func encodeRate(r estimate.Rate, radius domain.Length, behind progress.RecentCounts) *Rate {
	if behind.Balls() == 0 {
		return nil
	}
	return &Rate{
		RadiusM: radius.Metres(), Mean: r.Mean, Interval80: encodeInterval(r.Interval80), Interval95: encodeInterval(r.Interval95),
		EffectiveBalls: r.EffectiveBalls, Balls: behind.Judged, Inside: behind.Inside, Sessions: behind.Sessions,
		Elsewhere: each(behind.Elsewhere, encodeCircle),
	}
}

func encodeCircle(c estimate.Circle) Circle {
	return Circle{RadiusM: c.Radius.Metres(), Balls: c.Balls, Inside: c.Inside, Holed: c.Holed}
}

func encodeNext(n estimate.NextSession) *NextSession {
	return &NextSession{Mean: n.Mean, Interval80: encodeInterval(n.Interval80), Balls: n.Balls}
}

func encodeLearned(l progress.Learned) *Learned {
	var out Learned
	if l.Prior != (estimate.Prior{}) {
		out.Prior = &BetaPrior{l.Prior.A, l.Prior.B}
	}
	if l.Form != (estimate.FormKinds{}) {
		out.Form = l.Form[:]
	}
	if out.Prior == nil && out.Form == nil {
		return nil
	}
	return &out
}

func encodeForm(a estimate.Assessment) *DayForm {
	p := a.Rate.Mean
	return &DayForm{SD: a.Form.SD, Points: 100 * a.Form.SD * p * (1 - p), Memory: a.Form.Memory}
}

func encodeTrend(r advice.Reader, s progress.State) *Trend {
	a := s.Assessment
	t := a.Trend
	out := &Trend{
		Sessions: t.Sessions, Slope: t.Slope, Interval80: encodeInterval(t.Interval80), Improving: t.Improving,
		Slow: a.Slow, Text: advice.Trend(r, s),
	}
	if change, known := t.Change(a.Rate); known {
		interval := encodeInterval(change.Interval80)
		out.Change, out.ChangeInterval80 = &change.Mean, &interval
	}
	return out
}

func encodeForecast(f *estimate.Forecast) *Forecast {
	if f == nil {
		return nil
	}
	out := &Forecast{
		NextSession: f.NextSession, MedianSessions: known(f.MedianSessions),
		Range80Sessions: encodeOpenInterval(f.Range80Sessions), Range80Days: encodeOpenInterval(f.Range80Days),
	}
	for i, p := range f.Within {
		out.Within = append(out.Within, Horizon{Sessions: estimate.Horizons[i], Probability: p})
	}
	return out
}

func encodeTally(t progress.Tally) Tally {
	return Tally{
		Misses:   encodeMisses(t.Misses),
		Sessions: t.Sessions, Balls: t.Balls, Inside: t.Inside, Holed: t.Holed, Seconds: t.Seconds,
		Attested: AttestedTally{Balls: t.AttestedBalls, Inside: t.AttestedInside, Holed: t.AttestedHoled},
	}
}

func encodeMisses(m progress.Misses) *Misses {
	if m == (progress.Misses{}) {
		return nil
	}
	return &Misses{Short: m.Short, Long: m.Long, Left: m.Left, Right: m.Right, Thin: m.Thin, Fat: m.Fat, Lean: advice.Lean(m)}
}

// progressEncoder encodes where students stand, for one reader.
type progressEncoder struct {
	// reader is whom sentences are written for.
	reader advice.Reader
	// now tells which milestones are news.
	now time.Time
}

func (e progressEncoder) stall(of academy.StudentRow, s advice.Stall, name string) Stall {
	out := Stall{Reason: string(s.Reason), SkillID: s.Skill, SkillName: name, Probability: s.Probability, Since: s.Since.String()}
	out.Evidence, out.Advice = s.Words(e.reader)
	out.Figure, out.Reliability = s.Figure(), s.Reliability()
	out.Actions = each(s.Actions(e.reader, of.Plan(s)), func(a advice.Action) Action {
		return e.action(of, s, a)
	})
	return out
}

// action makes what a reason advises ready to be sent.
func (e progressEncoder) action(of academy.StudentRow, s advice.Stall, a advice.Action) Action {
	body := encodeAdjustmentBody(of.Student.ID, "", a.Adjustment)
	body.Text, body.Reason = a.Text, string(s.Reason)
	if a.Weeks > 0 {
		body.Until = domain.DateOf(e.now, of.Student.Zone()).AddDays(7*a.Weeks - 1).String()
	}
	return Action{Label: a.Label, Adjustment: body}
}

func (e progressEncoder) brief(s academy.StudentSkill) SkillBrief {
	st := s.State
	out := SkillBrief{
		SkillID: st.Skill, Name: s.Skill.Name, Held: st.Held, Tiers: len(st.Ladder.Tiers), TestOnly: st.Ladder.TestOnly, TechniqueCounts: st.Ladder.Technique, TechniqueUntil: instant(st.TechniqueUntil),
		BestRun: encodeRun(st.Best()), Week: encodeTally(s.Week), LastAt: instant(st.LastAt),
	}
	if st.Held > 0 {
		tier := encodeTier(st.Ladder.Tiers[st.Held-1])
		out.HeldTier = &tier
	}
	if next, open := st.Next(); open {
		tier := encodeTier(next)
		out.NextTier = &tier
		out.Near = encodeNear(st.Near, next)
	}
	if focus, judged := st.Focus(); judged {
		out.Rate = encodeRate(st.Assessment.Rate, focus.Radius, st.Recent)
	}
	if out.Rate != nil {
		for _, thousandths := range st.Assessment.Line {
			out.Line = append(out.Line, float64(thousandths)/1000)
		}
		out.Line = append(out.Line, math.Round(1000*out.Rate.Mean)/1000)
	}
	return out
}

func (e progressEncoder) skill(of academy.StudentRow, s academy.StudentSkill) SkillProgress {
	a := s.State.Assessment
	out := SkillProgress{
		SkillBrief: e.brief(s), Kind: string(s.Skill.Kind), Total: encodeTally(s.State.Totals),
		Milestones: each(s.Milestones, encodeMilestone), Uncounted: advice.Uncounted(e.reader, s.State),
		Stalls: each(s.Stalls, func(x advice.Stall) Stall { return e.stall(of, x, s.Skill.Name) }),
	}
	if len(s.State.Ladder.Tiers) > 0 {
		out.Ladder = new(encodeLadder(s.State.Ladder))
	}
	if out.Rate != nil {
		out.Trend, out.Forecast = encodeTrend(e.reader, s.State), encodeForecast(a.Forecast)
		out.NextSession, out.DayForm, out.Learned = encodeNext(a.Next), encodeForm(a), encodeLearned(s.Learned)
	}
	if a.Undecided.Applies {
		out.Undecided = &Undecided{MoreSessions: a.Undecided.MoreSessions, Text: advice.Undecided(e.reader, s.State)}
	}
	return out
}

func (e progressEncoder) attention(s academy.StudentRow) []Stall {
	names := map[domain.ID]string{}
	for _, sk := range s.Skills {
		names[sk.State.Skill] = sk.Skill.Name
	}
	return each(s.Attention, func(a academy.Attention) Stall {
		out := e.stall(s, a.Stall, names[a.Skill])
		if k := a.Acknowledged; k != nil {
			out.Silenced = &Silence{Until: k.Until.String(), Note: k.Note, By: k.By, At: k.At.UTC()}
		}
		return out
	})
}

func encodeStudentBrief(m academy.Member) StudentBrief {
	return StudentBrief{ID: m.ID, Name: m.Name, TimeZone: m.TimeZone, Junior: m.Junior}
}

func encodeAdherence(d academy.Duty) Adherence {
	return Adherence{
		AssignmentID: d.Assignment.ID, ProgrammeID: d.Assignment.Programme, Version: d.Assignment.Version, ProgrammeName: d.Name,
		Weeks: d.Weeks, Position: encodePosition(d.Position, d.Assignment.Start), Planned: d.Planned, Done: d.Assignment.Sessions,
	}
}

func encodeTimeKept(h progress.Habit) TimeKept {
	planned, spent := 0, 0
	for _, t := range h.Times {
		planned += t.Planned
		spent += t.Spent
	}
	return TimeKept{Sessions: h.Planned, Kinds: each(h.Times, func(t progress.KindTime) KindTime {
		return KindTime{
			Kind: t.Kind, PlannedSeconds: t.Planned, SpentSeconds: t.Spent,
			PlannedPercent: percentOf(t.Planned, planned), SpentPercent: percentOf(t.Spent, spent),
		}
	})}
}

// percentOf gives a part of a whole in per cent, to a tenth; 0 of nothing.
func percentOf(part, whole int) float64 {
	if whole == 0 {
		return 0
	}
	return math.Round(1000*float64(part)/float64(whole)) / 10
}

func (e progressEncoder) progress(s academy.StudentRow) Progress {
	return Progress{
		Student: encodeStudentBrief(s.Student), Sessions: s.Habit.Sessions, LastAt: instant(s.Habit.LastAt()),
		Attention: e.attention(s), Assignments: each(s.Work, encodeAdherence), Time: encodeTimeKept(s.Habit), Load: encodeLoad(s.Load), Pace: each(s.Habit.Paces(), encodePace), Skills: each(s.Skills, func(sk academy.StudentSkill) SkillProgress { return e.skill(s, sk) }),
	}
}

// readerStyle is how the asker likes lengths written; feet for software. A
// student who asks about themselves, the member at hand, is not read again.
func (s *Server) readerStyle(c echo.Context, at academy.Member) (progressEncoder, error) {
	a := actor(c)
	e := progressEncoder{now: s.Now()}
	if a.Software() {
		return e, nil
	}
	if at.ID != a.Member {
		var err error
		if at, err = s.Academy.Member(c.Request().Context(), a, a.Member); err != nil {
			return e, err
		}
	}
	e.reader.Metric = at.Units == academy.InMetres
	return e, nil
}

// getProgress reads where a student stands.
//
//	@Summary		A student's progress
//	@Description	For each skill the tiers held and next, milestones with the ball that made each, the best run and those near the next tier, balls and time this week and in all, the inside rate with its intervals and the balls behind it, trend, forecast and stalls with their evidence; the time kept against the plan's split; sessions done of sessions planned. Sentences write lengths in the units that the asker prefers.
//	@ID				getProgress
//	@Tags			Students
//	@Produce		json
//	@Param			student_id		path		string	true	"The student"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The entity tag you have"
//	@Success		200				{object}	Progress
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/progress [get]
func (s *Server) getProgress(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	if done, err := s.fresh(c, id); done || err != nil {
		return err
	}
	row, err := s.Read.Progress(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	encoder, err := s.readerStyle(c, row.Student)
	if err != nil {
		return err
	}
	return okFresh(c, encoder.progress(row))
}
