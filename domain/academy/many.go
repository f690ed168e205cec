package academy

import (
	"context"
	"slices"

	"fringework/domain"
)

// ManyAction is what can be done with the programmes of many students at once.
type ManyAction string

// The actions.
const (
	GiveAll   ManyAction = "assign"
	MoveAll   ManyAction = "move"
	PauseAll  ManyAction = "pause"
	ResumeAll ManyAction = "resume"
	EndAll    ManyAction = "end"
)

// ManyActions lists them.
func ManyActions() []ManyAction { return []ManyAction{GiveAll, MoveAll, PauseAll, ResumeAll, EndAll} }

// ManyRequest is one action for many students: those named, those of a group, or
// both.
type ManyRequest struct {
	Action   ManyAction
	Students []domain.ID
	Group    domain.ID
	// Programme is which of their programmes is meant: needed to assign and to
	// move, all of them when empty otherwise.
	Programme domain.ID
	// Version is for assigning and moving, Start for assigning, Pause for pausing
	// (its days may be zero, as for Service.Pause) and On for resuming.
	Version int
	Start   domain.Date
	Pause   Pause
	On      domain.Date
	// EndAdjustments ends a student's adjustments when moving, also those that
	// fit the version moved to.
	EndAdjustments bool
}

// ManyResult is what became of one student: the assignments as they stand now,
// or why nothing was changed.
type ManyResult struct {
	Student     domain.ID
	Name        string
	Assignments []Assignment
	Err         error
}

// maxMany is how many students one request may be for.
const maxMany = 500

// Many does the same for many students, each in a transaction of their own, so
// that one who is refused keeps nobody else from it. Results are in the order
// of the request, the group's students last. A bad request (/action,
// /student_ids, /group_id, /programme_id, /version, /start_date) is Invalid as a
// whole.
func (s Service) Many(ctx context.Context, a domain.Actor, r ManyRequest) ([]ManyResult, error) {
	var p domain.Problems
	r.Check(&p)
	if err := p.Err("assignment_invalid", "Nothing was changed."); err != nil {
		return nil, err
	}
	students, results, err := s.meant(ctx, a, r)
	if err != nil {
		return nil, err
	}
	for i, m := range students {
		if results[i].Err != nil {
			continue
		}
		results[i].Name = m.Name
		results[i].Assignments, results[i].Err = s.one(ctx, a, m, r)
		if domain.Failed(results[i].Err) {
			return nil, results[i].Err
		}
	}
	return results, nil
}

// Check notes what is wrong with the request, whoever it is for.
func (r ManyRequest) Check(p *domain.Problems) {
	if r.Action == "" {
		p.Add("/action", "is missing; use assign, move, pause, resume or end")
	} else if !slices.Contains(ManyActions(), r.Action) {
		p.Add("/action", "%q is not an action; use assign, move, pause, resume or end", r.Action)
	}
	if r.Programme == "" && (r.Action == GiveAll || r.Action == MoveAll) {
		p.Add("/programme_id", "is missing; give the ID of the programme to %s", r.Action)
	}
	if r.Version < 1 && (r.Action == GiveAll || r.Action == MoveAll) {
		p.Add("/version", "is missing; give the number of a published version")
	}
	if r.Action == GiveAll {
		checkDate(p, "/start_date", r.Start)
	}
}

// grouping finds a group.
type grouping interface {
	Group(ctx context.Context, id domain.ID) (Group, error)
}

// asked gathers the students that a request names, seen or not, and those of a
// group whom the actor may see, each once, the group's last. What is wrong is
// noted at /student_ids and /group_id.
func asked(ctx context.Context, tx grouping, visible map[domain.ID]Member, students []domain.ID, group domain.ID, p *domain.Problems) ([]domain.ID, error) {
	ids := slices.Clone(students)
	if group != "" {
		g, err := tx.Group(ctx, group)
		switch {
		case err == nil:
			ids = append(ids, keepVisible(visible, g.Students)...)
		case domain.KindOf(err) == domain.NotFound:
			p.Add("/group_id", "this academy has no group %q; check the ID", group)
		default:
			return nil, err
		}
	}
	var once []domain.ID
	for _, id := range ids {
		if !slices.Contains(once, id) {
			once = append(once, id)
		}
	}
	switch n := len(once); {
	case n > maxMany:
		p.Add("/student_ids", "has %d students, with those of the group; give at most %d at a time", n, maxMany)
	case n == 0 && len(p.Fields()) == 0:
		p.Add("/student_ids", "is empty; give student_ids, or a group_id with students of yours")
	}
	return once, nil
}

// meant finds the students, each once; a result tells of one whom the actor may
// not see.
func (s Service) meant(ctx context.Context, a domain.Actor, r ManyRequest) (students []Member, results []ManyResult, err error) {
	err = s.AssignmentStore.Read(ctx, a.Academy, func(tx AssignmentStore) error {
		students, results = nil, nil
		visible, err := visibleStudents(ctx, tx, a)
		if err != nil {
			return err
		}
		var p domain.Problems
		ids, err := asked(ctx, tx, visible, r.Students, r.Group, &p)
		if err == nil {
			err = p.Err("assignment_invalid", "Nothing was changed.")
		}
		if err != nil {
			return err
		}
		if r.Programme != "" && r.Version > 0 {
			if _, err := tx.Version(ctx, r.Programme, r.Version); err != nil {
				return versionMissing(err, r.Version)
			}
		}
		for _, id := range ids {
			m, ok := visible[id]
			result := ManyResult{Student: id}
			if !ok {
				result.Err = domain.ErrNotFound("student")
			}
			students, results = append(students, m), append(results, result)
		}
		return nil
	})
	return students, results, err
}

// one does it for one student.
func (s Service) one(ctx context.Context, a domain.Actor, m Member, r ManyRequest) ([]Assignment, error) {
	if r.Action == GiveAll {
		return s.Assign(ctx, a, AssignRequest{Programme: r.Programme, Version: r.Version, Students: []domain.ID{m.ID}, Start: r.Start})
	}
	e := s.editOf(ctx, a, r)
	var done []Assignment
	err := s.AssignmentStore.Write(ctx, a.Academy, func(tx AssignmentStore) error {
		done = nil
		if _, err := Student(ctx, tx, a, m.ID); err != nil {
			return err
		}
		current, err := tx.Assignments(ctx, AssignmentFilter{Student: m.ID, Programme: r.Programme, Current: true}, domain.Page{Limit: maxStudents})
		if err != nil {
			return err
		}
		var refused error
		for _, as := range current {
			if r.Action == MoveAll && as.Version == r.Version {
				refused = domain.Errorf(domain.Conflict, "moved_already", "%s has version %d already.", m.Name, r.Version)
				continue
			}
			err := s.apply(ctx, tx, a, &as, m, e)
			switch kind := domain.KindOf(err); {
			case err == nil:
				done = append(done, as)
			case len(current) > 1 && (kind == domain.Conflict || kind == domain.Invalid):
				refused = err // another of the student's programmes may do
			default:
				return err
			}
		}
		if len(done) > 0 {
			return nil
		}
		if refused != nil {
			return refused
		}
		return domain.Errorf(domain.Conflict, "no_assignment", "%s has no programme to %s. Assign one first.", m.Name, r.Action)
	})
	return done, err
}

// editOf is what a request does to an assignment.
func (s Service) editOf(ctx context.Context, a domain.Actor, r ManyRequest) edit {
	switch r.Action {
	case MoveAll:
		return s.moving(ctx, a, r.Version, !r.EndAdjustments)
	case PauseAll:
		return s.pausing(r.Pause)
	case ResumeAll:
		return s.resuming(r.On)
	}
	return s.ending(ctx, a)
}
