package academy

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Adjusting keeps adjustments.
type Adjusting interface {
	// Adjustments lists those of a student, latest first; only those that stand
	// when asked so.
	Adjustments(ctx context.Context, student domain.ID, standing bool) ([]Adjustment, error)
	SaveAdjustment(ctx context.Context, a Adjustment) error
}

// AdjustmentStore is what adjusting needs kept. An extra step judges the
// student's history anew, so it keeps progress as well.
type AdjustmentStore interface {
	domain.EventLog
	progress.Keeper
	Viewing
	Adjusting

	Adjustment(ctx context.Context, id domain.ID) (Adjustment, error)
	Version(ctx context.Context, programme domain.ID, number int) (curriculum.Version, error)
	Assignments(ctx context.Context, f AssignmentFilter, page domain.Page) ([]Assignment, error)
}

// AdjustService is what can be done with adjustments.
type AdjustService struct {
	Store domain.Transactor[AdjustmentStore]
	Env   domain.Env
}

// Given is what came of one adjustment that was asked for.
type Given struct {
	Adjustment Adjustment
	// Err is why it was not given.
	Err error
}

// MaxGiven is how many adjustments may be given at once.
const MaxGiven = 200

// Check notes what is wrong with adjustments whoever they are for, at /items.
func (s AdjustService) Check(p *domain.Problems, wanted []Adjustment) {
	if p.Entries("/items", "adjustments", len(wanted), MaxGiven); len(wanted) > MaxGiven {
		return
	}
	// No student has an earlier day now.
	first := domain.DateOf(s.Env.Now(), time.FixedZone("the last zone", -12*60*60))
	for i, x := range wanted {
		x.checkForm(p, fmt.Sprintf("/items/%d", i), first)
	}
}

// Give gives adjustments, each on its own: one that does not fit its student keeps
// none of the others back. What Check notes refuses them all. An adjustment without
// an assignment holds throughout: for every one that it changes something of.
func (s AdjustService) Give(ctx context.Context, a domain.Actor, wanted []Adjustment) ([]Given, error) {
	var p domain.Problems
	s.Check(&p, wanted)
	if err := p.Err("adjustment_invalid", "Nothing was adjusted."); err != nil {
		return nil, err
	}
	given := make([]Given, len(wanted))
	for i, w := range wanted {
		given[i].Adjustment, given[i].Err = s.give(ctx, a, w)
	}
	return given, nil
}

func (x Adjustment) checkForm(p *domain.Problems, at string, first domain.Date) {
	if x.Student == "" {
		p.Add(at+"/student_id", "is missing; say whose plan is adjusted")
	}
	x.Check(p, at)
	checkText(p, at+"/text", x.Text, maxAdjustmentText)
	if x.Reason != "" && x.Reason.Urgency() < 0 {
		p.Add(at+"/reason", "%q is not a reason; leave it out or name one", x.Reason)
	}
	var days domain.Problems
	for _, d := range []struct {
		at string
		domain.Date
	}{{"/from", x.From}, {"/until", x.Until}} {
		if d.Date != (domain.Date{}) {
			checkDate(&days, at+d.at, d.Date)
		}
	}
	x.checkDates(&days, at, first)
	p.Beside(days.Fields())
}

// checkDates notes days that are over, or in the wrong order.
func (x Adjustment) checkDates(p *domain.Problems, at string, today domain.Date) {
	const over = "is %s, which is over; give today or a later day"
	none := domain.Date{}
	if x.From != none && x.From.Before(today) {
		p.Add(at+"/from", over, x.From)
	}
	switch {
	case x.Until == none:
	case x.Kind == curriculum.ExtraStep:
		p.Add(at+"/until", "does not go with a step, which stays until it is passed or undone; leave it out")
	case x.Until.Before(today):
		p.Add(at+"/until", over, x.Until)
	case x.From != none && x.Until.Before(x.From):
		p.Add(at+"/until", "is before the first day, %s; give that day or a later one", x.From)
	}
}

func (s AdjustService) give(ctx context.Context, a domain.Actor, x Adjustment) (Adjustment, error) {
	x.Throughout = x.Assignment == ""
	err := s.Store.Write(ctx, a.Academy, func(tx AdjustmentStore) error {
		m, err := Student(ctx, tx, a, x.Student)
		if err != nil {
			return err
		}
		x.ID, x.Revision, x.CreatedBy, x.CreatedAt = s.Env.NewID(), 1, a.Member, s.Env.Now()
		today := domain.DateOf(x.CreatedAt, m.Zone())
		var p domain.Problems
		if x.checkDates(&p, "", today); len(p.Fields()) > 0 {
			return p.Err("adjustment_invalid", notAdjusted)
		}
		if x.From == (domain.Date{}) {
			x.From = today
		}
		standing, err := tx.Adjustments(ctx, x.Student, true)
		if err != nil {
			return err
		}
		if err := x.onTopOf(ctx, tx, standing, today); err != nil {
			return err
		}
		if x.Kind == curriculum.ExtraStep {
			if err := s.addStep(ctx, tx, x, m); err != nil {
				return err
			}
		}
		return saveAdjustment(ctx, tx, a.Event(x.CreatedAt, "adjustment.made", x.ID, x.Student, nil), x)
	})
	return x, err
}

const (
	maxAdjustmentText = 1000
	notAdjusted       = "The student's plan was not adjusted."
)

func refused(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return p.Err("adjustment_invalid", notAdjusted)
}

// onTopOf finds the assignment that is adjusted, or the first of them, and checks
// that it changes something of the version that it pins.
func (x *Adjustment) onTopOf(ctx context.Context, tx AdjustmentStore, standing []Adjustment, today domain.Date) error {
	all, err := tx.Assignments(ctx, AssignmentFilter{Student: x.Student, Current: true}, domain.Page{Limit: maxAssignments})
	if err != nil {
		return err
	}
	if !x.Throughout {
		all = slices.DeleteFunc(all, func(as Assignment) bool { return as.ID != x.Assignment })
	}
	if len(all) == 0 {
		return refused("/assignment_id", "the student has no such programme now; assign one first")
	}
	refusal := refused("/skill_id", "the student's programme does not train this skill; give one that it does")
	wanted, found, foundOver := *x, false, false
	for _, as := range all {
		v, err := tx.Version(ctx, as.Programme, as.Version)
		if err != nil {
			return err
		}
		if !wanted.trainedBy(v) {
			continue
		}
		over := as.On(today, len(v.Content.Weeks)).Phase == Finished
		here := wanted
		here.Assignment = as.ID
		switch err := here.check(v, standing); {
		case domain.KindOf(err) == domain.Conflict:
			return err
		case err != nil && !found:
			refusal = err
			continue
		case err != nil:
			continue
		}
		if err := here.checkLimits(v); err != nil && !over {
			return err
		}
		if !found || foundOver && !over {
			*x, found, foundOver = here, true, over
		}
	}
	if !found {
		return refusal
	}
	return nil
}

// trainedBy says whether a version trains the skill that is adjusted, if any.
func (x Adjustment) trainedBy(v curriculum.Version) bool {
	_, trains := v.SkillByID(x.Skill)
	return x.Skill == "" || trains
}

// maxAssignments is how many assignments of a student are looked at.
const maxAssignments = 50

// check refuses what stands already and what would change nothing.
func (x *Adjustment) check(v curriculum.Version, standing []Adjustment) error {
	if x.Kind == curriculum.OtherWarmup {
		x.Drill = warmupDrill(v, x.Skill)
	}
	if i := slices.IndexFunc(standing, x.clashes); i >= 0 {
		return domain.Errorf(domain.Conflict, "adjusted_already", "A change of this kind is in place already, %s. Undo it before you give another.", standing[i].when())
	}
	if x.Kind == curriculum.ExtraStep {
		return nil
	}
	for _, w := range v.Content.Weeks {
		if !reflect.DeepEqual(w, w.Adjusted([]curriculum.Adjustment{x.Adjustment})) {
			return nil
		}
	}
	pointer := map[curriculum.AdjustmentKind]string{
		curriculum.OtherRadius: "/radius_m", curriculum.OtherDistances: "/distances_m", curriculum.OtherShares: "/shares",
		curriculum.OtherWarmup: "/skill_id", curriculum.FewerSessions: "/sessions_per_week", curriculum.ShorterSessions: "/minutes",
	}[x.Kind]
	if x.DistancePart > 0 {
		pointer = "/distance_percent"
	}
	return refused(pointer, "changes nothing in the student's programme; it is planned so already, or no plan has room for it")
}

// checkLimits refuses a division of the time that leaves the programme's limits.
func (x Adjustment) checkLimits(v curriculum.Version) error {
	for i, w := range v.Content.Weeks {
		l, share, breaks := x.OutOfLimits(w, v.Content.Limits)
		if !breaks {
			continue
		}
		at := "/shares"
		if j := slices.IndexFunc(x.Shares, func(s curriculum.KindShare) bool { return s.Kind == l.Kind }); j >= 0 {
			at = fmt.Sprintf("/shares/%d/share", j)
		}
		bound := fmt.Sprintf("at least %d %%", l.AtLeast)
		if share > l.AtMost {
			bound = fmt.Sprintf("at most %d %%", l.AtMost)
		}
		return refused(at, "would make %s %d %% of the time in week %d; %s allows %s. Stay within that, or change the programme's limits", l.Kind, share, i+1, v.Content.Name, bound)
	}
	return nil
}

// clashes says whether another that stands changes the same on a day that both are
// played on. Steps do not, since one may come before another; but a ladder begins once.
func (x Adjustment) clashes(s Adjustment) bool {
	none := domain.Date{}
	apart := s.Until != none && s.Until.Before(x.From) || x.Until != none && x.Until.Before(s.From)
	blocks := len(x.Only) == 0 || len(s.Only) == 0 || slices.ContainsFunc(x.Only, func(k curriculum.BlockKind) bool { return slices.Contains(s.Only, k) })
	return (x.Kind != curriculum.ExtraStep || x.Begins && s.Begins) && s.Kind == x.Kind && s.Skill == x.Skill && !apart && blocks && (x.Throughout || s.HoldsFor(x.Assignment))
}

// when says since when it is played, until when, and in which words it was given.
func (x Adjustment) when() string {
	text := "from " + x.From.String()
	if x.Until != (domain.Date{}) {
		text += " to " + x.Until.String()
	}
	if x.Text != "" {
		text += ": “" + strings.TrimSuffix(x.Text, ".") + "”"
	}
	return text
}

// warmupDrill is what the programme last asked for at a skill on one spot, or
// else its ladder's first circle.
func warmupDrill(v curriculum.Version, skill domain.ID) curriculum.Drill {
	var found curriculum.Drill
	for _, w := range v.Content.Weeks {
		for _, plan := range w.Plans {
			for _, b := range plan.Blocks {
				if w.SkillOf(b) == skill && b.Kind.OneSpot() {
					found = b.Drill
				}
			}
		}
	}
	if s, ok := v.SkillByID(skill); ok && found.Radius == 0 {
		found = curriculum.Drill{Text: "Keep " + s.Name + " alive before the new work.", Radius: s.Ladder.Tiers[0].Radius}
	}
	return found
}

// addStep puts the step into the ladder that the student is judged by.
func (s AdjustService) addStep(ctx context.Context, tx AdjustmentStore, x Adjustment, m Member) error {
	tracks, err := tx.Tracks(ctx, x.Student, []domain.ID{x.Skill})
	if err != nil {
		return err
	}
	t := tracks[x.Skill]
	_, ok := t.Ladder.Place(x.Tier)
	own := slices.Index(t.Ladder.Tiers, x.Tier)
	switch {
	case own >= 0 && !x.Begins:
		return refused("/tier", "is a step of the student's ladder already; ask for another")
	case own == 0:
		return refused("/tier", "is the first step of the student's ladder already; begin with a later one")
	case own < 0 && !ok:
		return refused("/tier", "is neither easier than a step of the ladder nor harder than its last; ask for fewer in a row or a wider circle than the next step does")
	}
	ladder := withSteps(t.Ladder, []Adjustment{x}, x.Skill)
	with, _ := t.Assigned(ladder, s.Env.Now())
	record, _, err := progress.Rejudge(ctx, tx, t, with)
	if err != nil {
		return err
	}
	if record.State.Held > slices.Index(ladder.Tiers, x.Tier) {
		name, _, _ := strings.Cut(m.Name, " ")
		return refused("/tier", "%s has passed it, or a harder one, already; ask for more than that", name)
	}
	return nil
}

// saveAdjustment keeps an adjustment and tells of it.
func saveAdjustment(ctx context.Context, tx interface {
	domain.EventLog
	Adjusting
}, e domain.Event, x Adjustment) error {
	if err := tx.SaveAdjustment(ctx, x); err != nil {
		return err
	}
	e.Data = map[string]any{
		"kind": x.Kind, "skill_id": x.Skill, "assignment_id": x.Assignment, "from": x.From.String(), "until": x.Until.String(), "text": x.Text,
	}
	return tx.Record(ctx, e)
}

// Undo ends an adjustment: from now on the student plays as the version says. A
// step that was passed stays passed.
func (s AdjustService) Undo(ctx context.Context, a domain.Actor, id domain.ID) (x Adjustment, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx AdjustmentStore) error {
		if x, err = tx.Adjustment(ctx, id); err == nil {
			_, err = Student(ctx, tx, a, x.Student)
		}
		switch {
		case domain.KindOf(err) == domain.NotFound:
			return domain.ErrNotFound("adjustment")
		case err != nil:
			return err
		case !x.EndedAt.IsZero():
			return nil // as asked
		}
		return endAdjustment(ctx, tx, a, &x, s.Env)
	})
	return x, err
}

// adjustmentKeeper is what ending an adjustment needs kept.
type adjustmentKeeper interface {
	domain.EventLog
	progress.Keeper
	Adjusting

	Version(ctx context.Context, programme domain.ID, number int) (curriculum.Version, error)
	Assignments(ctx context.Context, f AssignmentFilter, page domain.Page) ([]Assignment, error)
}

func endAdjustment(ctx context.Context, tx adjustmentKeeper, a domain.Actor, x *Adjustment, env domain.Env) error {
	x.EndedAt, x.EndedBy = env.Now(), a.Member
	x.Revision++
	if x.Kind == curriculum.ExtraStep {
		if err := takeStep(ctx, tx, *x, env); err != nil {
			return err
		}
	}
	return saveAdjustment(ctx, tx, a.Event(env.Now(), "adjustment.ended", x.ID, x.Student, nil), *x)
}

// fits says whether an adjustment still changes something of a version.
func (x Adjustment) fits(v curriculum.Version) bool {
	skill, trains := v.SkillByID(x.Skill)
	if x.Kind == curriculum.ExtraStep {
		_, place := skill.Ladder.Place(x.Tier)
		return trains && (place || x.Begins && slices.Index(skill.Ladder.Tiers, x.Tier) > 0)
	}
	return x.check(v, nil) == nil // one of a skill that is not trained changes nothing
}

// takeStep takes a step out of the ladder that the student is judged by.
func takeStep(ctx context.Context, tx adjustmentKeeper, x Adjustment, env domain.Env) error {
	tracks, err := tx.Tracks(ctx, x.Student, []domain.ID{x.Skill})
	if err != nil {
		return err
	}
	ladder := tracks[x.Skill].Ladder.Without(x.Tier)
	if x.Begins {
		if ladder, err = whole(ctx, tx, x, ladder); err != nil {
			return err
		}
	}
	t, changed := tracks[x.Skill].Assigned(ladder, env.Now())
	if !changed {
		return nil
	}
	_, _, err = progress.Rejudge(ctx, tx, tracks[x.Skill], t)
	return err
}

// whole is the ladder without the step that the student began with, and with those that
// were left out for it: that of the version last assigned that trains the skill, with
// the other steps that stand. Without such a version the ladder is as it was.
func whole(ctx context.Context, tx adjustmentKeeper, x Adjustment, was streak.Ladder) (streak.Ladder, error) {
	all, err := tx.Assignments(ctx, AssignmentFilter{Student: x.Student, Current: true}, domain.Page{Limit: maxAssignments})
	if err != nil {
		return was, err
	}
	slices.SortStableFunc(all, func(a, b Assignment) int { return b.CreatedAt.Compare(a.CreatedAt) })
	standing, err := tx.Adjustments(ctx, x.Student, true)
	if err != nil {
		return was, err
	}
	standing = slices.DeleteFunc(standing, func(s Adjustment) bool { return s.ID == x.ID })
	for _, as := range all {
		v, err := tx.Version(ctx, as.Programme, as.Version)
		if err != nil {
			return was, err
		}
		if skill, trains := v.SkillByID(x.Skill); trains {
			return withSteps(skill.Ladder, standing, x.Skill), nil
		}
	}
	return was, nil
}

// List gives a student's adjustments, latest first.
func (s AdjustService) List(ctx context.Context, a domain.Actor, student domain.ID) (all []Adjustment, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx AdjustmentStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		all, err = tx.Adjustments(ctx, student, false)
		return err
	})
	return all, err
}
