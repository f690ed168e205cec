package academy

import (
	"context"
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// AssignRequest gives a published version to students, to a group, or both.
type AssignRequest struct {
	Programme domain.ID
	Version   int
	Students  []domain.ID
	Group     domain.ID
	// Start is the first day of week 1 in each student's own time zone.
	Start domain.Date
	// Untested asks for no first tests and end tests.
	Untested bool
}

// Assigned is what came of giving a version.
type Assigned struct {
	Made []Assignment
	// Had are those of the group's students who had the programme already.
	Had []Assignment
}

// Assign gives a version to students: all of them get it, or nobody does.
func (s Service) Assign(ctx context.Context, a domain.Actor, r AssignRequest) ([]Assignment, error) {
	out, err := s.Give(ctx, a, r)
	return out.Made, err
}

// Give is Assign, which also tells who of the group had the programme already:
// a group can be given it again for those who joined later. A student who is
// named must not have it.
func (s Service) Give(ctx context.Context, a domain.Actor, r AssignRequest) (out Assigned, err error) {
	err = s.AssignmentStore.Write(ctx, a.Academy, func(tx AssignmentStore) error {
		out = Assigned{}
		if err := checkStart(r.Start); err != nil {
			return err
		}
		version, err := tx.Version(ctx, r.Programme, r.Version)
		if err != nil {
			return versionMissing(err, r.Version)
		}
		students, err := s.assignees(ctx, tx, a, r)
		if err != nil {
			return err
		}
		for _, student := range students {
			current, err := has(ctx, tx, student.ID, version.Programme)
			if err != nil {
				return err
			}
			if len(current) > 0 && !slices.Contains(r.Students, student.ID) {
				out.Had = append(out.Had, current...)
				continue
			}
			assignment, err := s.assign(ctx, tx, a, student, version, r, current)
			if err != nil {
				return err
			}
			out.Made = append(out.Made, assignment)
		}
		return nil
	})
	return out, err
}

// has gives a student's assignment of a programme, if one stands.
func has(ctx context.Context, tx AssignmentStore, student, programme domain.ID) ([]Assignment, error) {
	return tx.Assignments(ctx, AssignmentFilter{Student: student, Programme: programme, Current: true}, domain.Page{Limit: 1})
}

func checkStart(start domain.Date) error {
	var p domain.Problems
	checkDate(&p, "/start_date", start)
	return p.Err("assignment_invalid", "The programme was not assigned.")
}

func versionMissing(err error, number int) error {
	if domain.KindOf(err) != domain.NotFound {
		return err
	}
	var p domain.Problems
	p.Add("/version", "there is no published version %d of this programme; publish it or choose another", number)
	return p.Err("assignment_invalid", "The programme was not assigned.")
}

// assignees gathers the students meant, each once and in order of identity.
func (s Service) assignees(ctx context.Context, tx AssignmentStore, a domain.Actor, r AssignRequest) ([]Member, error) {
	visible, err := visibleStudents(ctx, tx, a)
	if err != nil {
		return nil, err
	}
	var p domain.Problems
	for i, id := range r.Students {
		if _, ok := visible[id]; !ok {
			p.Add(fmt.Sprintf("/student_ids/%d", i), "you have no student %q; check the ID", id)
		}
	}
	var group Group
	if r.Group != "" {
		group, err = tx.Group(ctx, r.Group)
		if domain.KindOf(err) == domain.NotFound {
			p.Add("/group_id", "this academy has no group %q; check the ID", r.Group)
		} else if err != nil {
			return nil, err
		}
	}
	ids := keepVisible(visible, slices.Concat(r.Students, group.Students))
	if len(ids) == 0 && len(p.Fields()) == 0 {
		p.Add("/student_ids", "is empty; give student_ids, or a group_id with students of yours")
	}
	students := make([]Member, len(ids))
	for i, id := range ids {
		students[i] = visible[id]
	}
	return students, p.Err("assignment_invalid", "The programme was not assigned.")
}

// assign gives a version to one student, whose assignment of the programme is
// current, if one stands.
func (s Service) assign(ctx context.Context, tx AssignmentStore, a domain.Actor, student Member, v curriculum.Version, r AssignRequest, current []Assignment) (Assignment, error) {
	if len(current) > 0 {
		return Assignment{}, domain.Errorf(domain.Conflict, "assigned_already",
			"%s already has version %d of this programme. Move that assignment to another version, or end it first.", student.Name, current[0].Version)
	}
	assignment := Assignment{
		ID: s.Env.NewID(), Student: student.ID, Programme: v.Programme, Version: v.Number,
		Start: r.Start, Tests: !r.Untested, Revision: 1, CreatedBy: a.Member, CreatedAt: s.Env.Now(),
	}
	if err := tx.SaveAssignment(ctx, assignment); err != nil {
		return Assignment{}, err
	}
	if err := s.adoptLadders(ctx, tx, a, student.ID, v); err != nil {
		return Assignment{}, err
	}
	err := tx.Record(ctx, s.event(a, "assignment.made", assignment.ID, student.ID, map[string]any{
		"programme_id": v.Programme, "version": v.Number, "start_date": r.Start.String(),
	}))
	if err == nil && student.Junior {
		err = s.adjustForJunior(ctx, tx, a, student, assignment, v)
	}
	return assignment, err
}

// adoptLadders judges the student by the version's ladders from now on, with the
// extra steps that stand, and what was practised before by them as well.
func (s Service) adoptLadders(ctx context.Context, tx AssignmentStore, a domain.Actor, student domain.ID, v curriculum.Version) error {
	ids := make([]domain.ID, len(v.Skills))
	for i, skill := range v.Skills {
		ids[i] = skill.ID
	}
	tracks, err := tx.Tracks(ctx, student, ids)
	if err != nil {
		return err
	}
	standing, err := tx.Adjustments(ctx, student, true)
	if err != nil {
		return err
	}
	for _, skill := range v.Skills {
		t := tracks[skill.ID]
		t.Student, t.Skill = student, skill.ID
		t, changed := t.Assigned(withSteps(skill.Ladder, standing, skill.ID), s.Env.Now())
		if !changed {
			continue
		}
		record, before, err := progress.Rejudge(ctx, tx, tracks[skill.ID], t)
		if err != nil {
			return err
		}
		if err := RecordMilestones(ctx, tx, a, s.Env.Now(), before, record.State.Milestones()); err != nil {
			return err
		}
	}
	return nil
}

// Assignment reads an assignment of a student whom the actor may see, with the
// version that it pins.
func (s Service) Assignment(ctx context.Context, a domain.Actor, id domain.ID) (as Assignment, v curriculum.Version, err error) {
	err = s.AssignmentStore.Read(ctx, a.Academy, func(tx AssignmentStore) error {
		if as, _, err = visibleAssignment(ctx, tx, a, id); err != nil {
			return err
		}
		v, err = tx.Version(ctx, as.Programme, as.Version)
		return err
	})
	return as, v, err
}

func visibleAssignment(ctx context.Context, tx AssignmentStore, a domain.Actor, id domain.ID) (Assignment, Member, error) {
	as, err := tx.Assignment(ctx, id)
	var m Member
	if err == nil {
		m, err = Student(ctx, tx, a, as.Student)
	}
	if domain.KindOf(err) == domain.NotFound {
		err = domain.ErrNotFound("assignment")
	}
	return as, m, err
}

// Assignments lists assignments of students whom the actor may see.
func (s Service) Assignments(ctx context.Context, a domain.Actor, f AssignmentFilter, page domain.Page) (as []Assignment, err error) {
	f.VisibleTo, f.ForApps = Scope(a), a.ByApp()
	err = s.AssignmentStore.Read(ctx, a.Academy, func(tx AssignmentStore) error {
		as, err = tx.Assignments(ctx, f, page)
		return err
	})
	return as, err
}

// edit is a change of an assignment that still stands: what the log calls it,
// and what is done, which gives what the log tells.
type edit struct {
	kind string
	do   func(AssignmentStore, *Assignment, Member) (map[string]any, error)
}

// change edits an assignment that the actor may see.
func (s Service) change(ctx context.Context, a domain.Actor, id domain.ID, revision int, e edit) (as Assignment, err error) {
	err = s.AssignmentStore.Write(ctx, a.Academy, func(tx AssignmentStore) error {
		var student Member
		if as, student, err = visibleAssignment(ctx, tx, a, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("assignment", revision, as.Revision); err != nil {
			return err
		}
		return s.apply(ctx, tx, a, &as, student, e)
	})
	return as, err
}

// apply makes an edit and tells the log.
func (s Service) apply(ctx context.Context, tx AssignmentStore, a domain.Actor, as *Assignment, student Member, e edit) error {
	if !as.EndedAt.IsZero() {
		return domain.Errorf(domain.Conflict, "assignment_ended", "The assignment has ended. Assign the programme again.")
	}
	data, err := e.do(tx, as, student)
	if err != nil {
		return err
	}
	as.Revision++
	if err := tx.SaveAssignment(ctx, *as); err != nil {
		return err
	}
	return tx.Record(ctx, s.event(a, e.kind, as.ID, as.Student, data))
}

// Pause stops an assignment's weeks from a day on (today in the student's time
// zone when From is zero), for a holiday or an injury; until a day, if Until is
// one, and else until it is resumed.
func (s Service) Pause(ctx context.Context, a domain.Actor, id domain.ID, revision int, p Pause) (Assignment, error) {
	return s.change(ctx, a, id, revision, s.pausing(p))
}

func (s Service) pausing(p Pause) edit {
	return edit{"assignment.paused", func(_ AssignmentStore, as *Assignment, m Member) (map[string]any, error) {
		next := p
		if next.From == (domain.Date{}) {
			next.From = s.today(m)
		}
		data := map[string]any{"from": next.From.String(), "reason": next.Reason}
		if next.Until != (domain.Date{}) {
			data["until"] = next.Until.String()
		}
		return data, as.pause(next)
	}}
}

// Resume lets the weeks go on from a day (today when on is zero).
func (s Service) Resume(ctx context.Context, a domain.Actor, id domain.ID, revision int, on domain.Date) (Assignment, error) {
	return s.change(ctx, a, id, revision, s.resuming(on))
}

func (s Service) resuming(on domain.Date) edit {
	return edit{"assignment.resumed", func(_ AssignmentStore, as *Assignment, m Member) (map[string]any, error) {
		day := on
		if day == (domain.Date{}) {
			day = s.today(m)
		}
		return map[string]any{"on": day.String()}, as.resume(day)
	}}
}

// today is the date in the student's time zone; a zone that has left the
// database since it was stored is read as UTC.
func (s Service) today(m Member) domain.Date { return domain.DateOf(s.Env.Now(), m.Zone()) }

// Move takes an assignment to another version of its programme. Milestones
// stay; what was practised is judged by the new ladders as well, and sessions
// count for the week that has what was done in them (Assignment.MovedWeeks).
// Adjustments that fit the version stay if keep says so; the others end.
func (s Service) Move(ctx context.Context, a domain.Actor, id domain.ID, revision, version int, keep bool) (Assignment, error) {
	return s.change(ctx, a, id, revision, s.moving(ctx, a, version, keep))
}

func (s Service) moving(ctx context.Context, a domain.Actor, version int, keep bool) edit {
	return edit{"assignment.moved", func(tx AssignmentStore, as *Assignment, m Member) (map[string]any, error) {
		v, err := tx.Version(ctx, as.Programme, version)
		if err != nil {
			return nil, versionMissing(err, version)
		}
		data := map[string]any{"from_version": as.Version, "to_version": version}
		if err := as.credit(ctx, tx, v); err != nil {
			return nil, err
		}
		as.Version = version
		ends := func(x Adjustment) (bool, error) {
			if !keep || x.fits(v) {
				return !keep, nil
			}
			held, err := s.heldElsewhere(ctx, tx, x, *as, m)
			return !held, err
		}
		if err := s.endAdjustments(ctx, tx, a, *as, ends); err != nil {
			return nil, err
		}
		return data, s.adoptLadders(ctx, tx, a, as.Student, v)
	}}
}

// endAdjustments ends those adjustments that hold for an assignment and are chosen.
func (s Service) endAdjustments(ctx context.Context, tx AssignmentStore, a domain.Actor, as Assignment, chosen func(Adjustment) (bool, error)) error {
	standing, err := tx.Adjustments(ctx, as.Student, true)
	if err != nil {
		return err
	}
	for _, x := range standing {
		if !x.HoldsFor(as.ID) {
			continue
		}
		if ends, err := chosen(x); err != nil {
			return err
		} else if !ends {
			continue
		}
		if err := endAdjustment(ctx, tx, a, &x, s.Env); err != nil {
			return err
		}
	}
	return nil
}

// heldElsewhere says whether an adjustment changes something of another assignment
// of the student that is not over.
func (s Service) heldElsewhere(ctx context.Context, tx AssignmentStore, x Adjustment, as Assignment, m Member) (bool, error) {
	if !x.Throughout {
		return false, nil
	}
	all, err := tx.Assignments(ctx, AssignmentFilter{Student: x.Student, Current: true}, domain.Page{Limit: maxAssignments})
	for _, other := range all {
		if other.ID == as.ID {
			continue
		}
		v, err := tx.Version(ctx, other.Programme, other.Version)
		if err != nil {
			return false, err
		}
		if other.On(s.today(m), len(v.Content.Weeks)).Phase != Finished && x.fits(v) {
			return true, nil
		}
	}
	return false, err
}

// End takes an assignment back, and its adjustments with it, but for those that
// change something of another. Its sessions and
// milestones stay.
func (s Service) End(ctx context.Context, a domain.Actor, id domain.ID, revision int) (Assignment, error) {
	return s.change(ctx, a, id, revision, s.ending(ctx, a))
}

func (s Service) ending(ctx context.Context, a domain.Actor) edit {
	return edit{"assignment.ended", func(tx AssignmentStore, as *Assignment, m Member) (map[string]any, error) {
		as.EndedAt = s.Env.Now()
		return nil, s.endAdjustments(ctx, tx, a, *as, func(x Adjustment) (bool, error) {
			held, err := s.heldElsewhere(ctx, tx, x, *as, m)
			return !held, err
		})
	}}
}

// AskForTests switches the asking for first tests and end tests on or off.
func (s Service) AskForTests(ctx context.Context, a domain.Actor, id domain.ID, revision int, asked bool) (Assignment, error) {
	return s.change(ctx, a, id, revision, edit{"assignment.changed", func(_ AssignmentStore, as *Assignment, _ Member) (map[string]any, error) {
		as.Tests = asked
		return map[string]any{"asked": asked}, nil
	}})
}
