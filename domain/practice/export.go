package practice

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/progress"
)

// Export reads are made of short transactions, so that a long one never waits
// in the database, and hold one stretch at a time.
const (
	exportSessions = 50
	exportStudents = 100
)

// ExportFilter narrows what is exported; zero values do not.
type ExportFilter struct {
	Student domain.ID
	// From and Until bound the sessions' start: From included, Until not.
	From  time.Time
	Until time.Time
}

// Export gives the sessions of the students whom the actor may see, with their
// balls: students in order of identity, each one's sessions latest first. They
// are read a stretch at a time: one that is stored meanwhile is given or not,
// and none is given twice.
func (s Service) Export(ctx context.Context, a domain.Actor, f ExportFilter, give func(academy.Member, []Session) error) error {
	return s.exportStudents(ctx, a, f.Student, func(student domain.ID) error {
		stretch := SessionFilter{Student: student, From: f.From, Until: f.Until, Limit: exportSessions, Balls: true}
		for {
			var member academy.Member
			var sessions []Session
			err := s.Reading.Read(ctx, a.Academy, func(tx ReadStore) (err error) {
				if member, err = academy.Student(ctx, tx, a, student); err == nil {
					sessions, err = tx.Sessions(ctx, stretch)
				}
				return err
			})
			if err != nil {
				return err
			}
			if len(sessions) > 0 {
				if err := give(member, sessions); err != nil {
					return err
				}
			}
			if len(sessions) < exportSessions {
				return nil
			}
			last := sessions[len(sessions)-1]
			stretch.Before, stretch.BeforeID = last.StartedAt, last.ID
		}
	})
}

// ExportStates gives where the students whom the actor may see, or one of them,
// stand at each skill, in order of identity.
func (s Service) ExportStates(ctx context.Context, a domain.Actor, student domain.ID, give func(academy.Member, []progress.State) error) error {
	return s.exportStudents(ctx, a, student, func(student domain.ID) error {
		var member academy.Member
		var states []progress.State
		err := s.Reading.Read(ctx, a.Academy, func(tx ReadStore) (err error) {
			if member, err = academy.Student(ctx, tx, a, student); err == nil {
				states, err = tx.States(ctx, []domain.ID{student})
			}
			return err
		})
		if err != nil || len(states) == 0 {
			return err
		}
		return give(member, states)
	})
}

// exportStudents calls export for one student, or for all whom the actor may
// see. Of those, one who may not be seen any more by then is left out.
func (s Service) exportStudents(ctx context.Context, a domain.Actor, one domain.ID, export func(domain.ID) error) error {
	if one != "" {
		return export(one)
	}
	filter := academy.MemberFilter{Role: domain.Student, VisibleTo: academy.Scope(a)}
	for page := (domain.Page{Limit: exportStudents}); ; {
		var members []academy.Member
		err := s.Reading.Read(ctx, a.Academy, func(tx ReadStore) (err error) {
			members, err = tx.Members(ctx, filter, page)
			return err
		})
		if err != nil {
			return err
		}
		for _, m := range members {
			if err := export(m.ID); err != nil && domain.KindOf(err) != domain.NotFound {
				return err
			}
			page.After = m.ID
		}
		if len(members) < exportStudents {
			return nil
		}
	}
}
