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
}

// Assign gives a version to students. All of them get it, or nobody does.
func (s Service) Assign(ctx context.Context, a domain.Actor, r AssignRequest) (made []Assignment, err error) {
	err = s.AssignmentStore.Write(ctx, a.Academy, func(tx AssignmentStore) error {
		made = nil
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
			assignment, err := s.assign(ctx, tx, a, student, version, r.Start)
			if err != nil {
				return err
			}
			made = append(made, assignment)
		}
		return nil
	})
	return made, err
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

func (s Service) assign(ctx context.Context, tx AssignmentStore, a domain.Actor, student Member, v curriculum.Version, start domain.Date) (Assignment, error) {
	current, err := tx.Assignments(ctx, AssignmentFilter{Student: student.ID, Programme: v.Programme, Current: true}, domain.Page{Limit: 1})
	if err != nil {
		return Assignment{}, err
	}
	if len(current) > 0 {
		return Assignment{}, domain.Errorf(domain.Conflict, "assigned_already",
			"%s already has version %d of this programme. Move that assignment to another version, or end it first.", student.Name, current[0].Version)
	}
	assignment := Assignment{
		ID: s.Env.NewID(), Student: student.ID, Programme: v.Programme, Version: v.Number,
		Start: start, Revision: 1, CreatedBy: a.Member, CreatedAt: s.Env.Now(),
	}
	if err := tx.SaveAssignment(ctx, assignment); err != nil {
		return Assignment{}, err
	}
	if err := s.adoptLadders(ctx, tx, student.ID, v); err != nil {
		return Assignment{}, err
	}
	return assignment, tx.Record(ctx, s.event(a, "assignment.made", assignment.ID, student.ID, map[string]any{
		"programme_id": v.Programme, "version": v.Number, "start_date": start.String(),
	}))
}

// adoptLadders judges the student by the version's ladders from now on, with the
// extra steps that stand, and what was practised before by them as well.
func (s Service) adoptLadders(ctx context.Context, tx AssignmentStore, student domain.ID, v curriculum.Version) error {
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
		if _, err := progress.Rejudge(ctx, tx, t); err != nil {
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
	f.VisibleTo = Scope(a)
	err = s.AssignmentStore.Read(ctx, a.Academy, func(tx AssignmentStore) error {
		as, err = tx.Assignments(ctx, f, page)
		return err
	})
	return as, err
}

// change edits an assignment that still stands.
func (s Service) change(ctx context.Context, a domain.Actor, id domain.ID, revision int, kind string, edit func(AssignmentStore, *Assignment, Member) (map[string]any, error)) (as Assignment, err error) {
	err = s.AssignmentStore.Write(ctx, a.Academy, func(tx AssignmentStore) error {
		var student Member
		if as, student, err = visibleAssignment(ctx, tx, a, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("assignment", revision, as.Revision); err != nil {
			return err
		}
		if !as.EndedAt.IsZero() {
			return domain.Errorf(domain.Conflict, "assignment_ended", "The assignment has ended. Assign the programme again.")
		}
		data, err := edit(tx, &as, student)
		if err != nil {
			return err
		}
		as.Revision++
		if err := tx.SaveAssignment(ctx, as); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, kind, id, as.Student, data))
	})
	return as, err
}

// Pause stops an assignment's weeks from a day on (today in the student's time
// zone when from is zero), for a holiday or an injury.
func (s Service) Pause(ctx context.Context, a domain.Actor, id domain.ID, revision int, from domain.Date, reason string) (Assignment, error) {
	return s.change(ctx, a, id, revision, "assignment.paused", func(_ AssignmentStore, as *Assignment, m Member) (map[string]any, error) {
		if from == (domain.Date{}) {
			from = s.today(m)
		}
		return map[string]any{"from": from.String(), "reason": reason}, as.pause(from, reason)
	})
}

// Resume lets the weeks go on from a day (today when on is zero).
func (s Service) Resume(ctx context.Context, a domain.Actor, id domain.ID, revision int, on domain.Date) (Assignment, error) {
	return s.change(ctx, a, id, revision, "assignment.resumed", func(_ AssignmentStore, as *Assignment, m Member) (map[string]any, error) {
		if on == (domain.Date{}) {
			on = s.today(m)
		}
		return map[string]any{"on": on.String()}, as.resume(on)
	})
}

// today is the date in the student's time zone; a zone that has left the
// database since it was stored is read as UTC.
func (s Service) today(m Member) domain.Date { return domain.DateOf(s.Env.Now(), m.Zone()) }

// Move takes an assignment to another version of its programme. Milestones
// stay; what was practised is judged by the new ladders as well. Adjustments
// that fit the version stay if keep says so; the others end.
func (s Service) Move(ctx context.Context, a domain.Actor, id domain.ID, revision, version int, keep bool) (Assignment, error) {
	return s.change(ctx, a, id, revision, "assignment.moved", func(tx AssignmentStore, as *Assignment, _ Member) (map[string]any, error) {
		v, err := tx.Version(ctx, as.Programme, version)
		if err != nil {
			return nil, versionMissing(err, version)
		}
		data := map[string]any{"from_version": as.Version, "to_version": version}
		as.Version = version
		if err := s.endAdjustments(ctx, tx, a, *as, func(x Adjustment) bool { return !keep || !x.fits(v) }); err != nil {
			return nil, err
		}
		return data, s.adoptLadders(ctx, tx, as.Student, v)
	})
}

// endAdjustments ends those adjustments of an assignment that are chosen.
func (s Service) endAdjustments(ctx context.Context, tx AssignmentStore, a domain.Actor, as Assignment, chosen func(Adjustment) bool) error {
	standing, err := tx.Adjustments(ctx, as.Student, true)
	if err != nil {
		return err
	}
	for _, x := range standing {
		if x.Assignment != as.ID || !chosen(x) {
			continue
		}
		if err := endAdjustment(ctx, tx, a, &x, s.Env); err != nil {
			return err
		}
	}
	return nil
}

// End takes an assignment back, and its adjustments with it. Its sessions and
// milestones stay.
func (s Service) End(ctx context.Context, a domain.Actor, id domain.ID, revision int) (Assignment, error) {
	return s.change(ctx, a, id, revision, "assignment.ended", func(tx AssignmentStore, as *Assignment, _ Member) (map[string]any, error) {
		as.EndedAt = s.Env.Now()
		return nil, s.endAdjustments(ctx, tx, a, *as, func(Adjustment) bool { return true })
	})
}
