package academy

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/course"
	"fringework/domain/curriculum"
)

// CourseReport is what a student's rounds tell.
type CourseReport struct {
	Student Member
	// Rounds are the latest, latest first, at most courseRounds.
	Rounds    []course.Round
	UpAndDown course.Share
	Proximity []course.Proximity
	// Baseline is what Gained is against, and Recent the latest rounds against the
	// student's own before them.
	Baseline course.Baseline
	Gained   course.Level
	Recent   course.Change
	// Programmes are before and after each programme began, the latest first, of
	// those with a round on either side.
	Programmes []ProgrammeChange
	// Skills are practice beside the course, for each skill that is played there and
	// was practised.
	Skills []SkillTransfer
}

// ProgrammeChange is the course before a programme began and since.
type ProgrammeChange struct {
	Assignment domain.ID
	Name       string
	Start      domain.Date
	// Before and Since are the chances of an up and down.
	Before, Since course.Share
	course.Change
}

// SkillTransfer is whether practice of a skill reaches the course.
type SkillTransfer struct {
	Skill curriculum.Skill
	// Radius is that of the circle whose rate is compared.
	Radius domain.Length
	course.Transfer
}

const (
	// courseRounds is how many rounds a report goes by.
	courseRounds = 200
	// practisedBefore is for how many days a rate in practice stands for a round.
	practisedBefore = 42
)

// Course reads what the rounds of a student tell whom the actor may see.
func (s RoundService) Course(ctx context.Context, a domain.Actor, student domain.ID) (c CourseReport, err error) {
	rounds, m, err := s.rounds(ctx, a, RoundFilter{Student: student, Limit: courseRounds})
	if err != nil {
		return c, err
	}
	c = s.report(m, rounds)
	if len(rounds) == 0 {
		return c, nil
	}
	err = s.Reading.Read(ctx, a.Academy, func(tx ReadStore) error {
		rows, err := studentRows(ctx, tx, a, []Member{m}, s.Env.Now())
		if err != nil {
			return err
		}
		c.Programmes = s.programmes(rows[0], rounds)
		c.Skills, err = s.skills(ctx, tx, rows[0], rounds)
		return err
	})
	return c, err
}

// shared reads what the rounds of a student tell by themselves, for a report that may
// be shown.
func (s RoundService) shared(ctx context.Context, in, student domain.ID) (c CourseReport, err error) {
	err = s.Store.Read(ctx, in, func(tx RoundStore) error {
		rounds, err := tx.Rounds(ctx, RoundFilter{Student: student, Limit: courseRounds})
		c = s.report(Member{ID: student}, rounds)
		return err
	})
	return c, err
}

// report is what rounds tell by themselves.
func (s RoundService) report(m Member, rounds []course.Round) CourseReport {
	c := CourseReport{
		Student: m, Rounds: rounds, UpAndDown: course.UpAndDown(course.TallyOf(rounds...)), Proximity: course.Near(rounds), Baseline: s.Baseline,
	}
	sums := make([]course.Sum, len(rounds))
	for i, r := range rounds {
		sums[i] = s.Baseline.Of(r)
	}
	c.Gained = course.LevelOf(sums)
	earlier, recent := course.Recent(rounds)
	c.Recent = s.Baseline.Compare(earlier, recent)
	return c
}

// programmes compares the rounds before each programme with those since.
func (s RoundService) programmes(row StudentRow, rounds []course.Round) (all []ProgrammeChange) {
	for _, d := range slices.Backward(row.Work) {
		var before, since []course.Round
		for _, r := range rounds {
			if r.Day().Before(d.Assignment.Start) {
				before = append(before, r)
			} else {
				since = append(since, r)
			}
		}
		if len(before) == 0 || len(since) == 0 {
			continue
		}
		all = append(all, ProgrammeChange{
			Assignment: d.Assignment.ID, Name: d.Name, Start: d.Assignment.Start,
			Before: course.UpAndDown(course.TallyOf(before...)), Since: course.UpAndDown(course.TallyOf(since...)),
			Change: s.Baseline.Compare(before, since),
		})
	}
	return all
}

// skills compares practice with the course, skill by skill.
func (s RoundService) skills(ctx context.Context, tx ReadStore, row StudentRow, rounds []course.Round) (all []SkillTransfer, err error) {
	monday := domain.DateOf(s.Env.Now(), row.Student.Zone()).Monday()
	for _, sk := range row.Skills {
		if !playedFrom(sk.Skill.Kind, course.Fairway) && !playedFrom(sk.Skill.Kind, course.Sand) {
			continue
		}
		h := SkillHistory{Student: row.Student, Skill: sk.Skill, State: sk.State}
		if err := h.readRecord(ctx, tx, monday); err != nil {
			return nil, err
		}
		if len(h.Points) > 0 {
			all = append(all, SkillTransfer{Skill: sk.Skill, Radius: h.Tier.Radius, Transfer: course.PracticeToCourse(s.beside(h, rounds))})
		}
	}
	return all, nil
}

// playedFrom says whether a kind of skill is what is played from a lie.
func playedFrom(kind curriculum.SkillKind, lie course.Lie) bool {
	switch kind {
	case curriculum.BunkerShot:
		return lie == course.Sand
	case curriculum.ChipAndRun, curriculum.Pitch, curriculum.Lob:
		return lie != course.Sand
	}
	return false // a putt, or what only the coach knows
}

// beside pairs each round with the rate in practice before it.
func (s RoundService) beside(h SkillHistory, rounds []course.Round) (points []course.Point) {
	for _, r := range rounds {
		rate, ok := h.rateBefore(r)
		if !ok {
			continue
		}
		r.Shots = slices.DeleteFunc(slices.Clone(r.Shots), func(x course.Shot) bool { return !playedFrom(h.Skill.Kind, x.Lie) })
		points = append(points, course.Point{Practice: rate, Sum: s.Baseline.Of(r)})
	}
	return points
}

// rateBefore gives the rate in practice as it stood before a round, unless that
// was long ago.
func (h SkillHistory) rateBefore(r course.Round) (float64, bool) {
	for _, p := range slices.Backward(h.Points) {
		if p.StartedAt.Before(r.PlayedAt) {
			return p.Rate.Mean, p.StartedAt.After(r.PlayedAt.AddDate(0, 0, -practisedBefore))
		}
	}
	return 0, false
}
