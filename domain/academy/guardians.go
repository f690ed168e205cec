package academy

import (
	"context"
	"time"

	"fringework/domain"
)

// Guardian is somebody who reads a student's data, as a junior's guardian or because
// the student, now an adult, lets them.
type Guardian struct {
	Member
	// AskedAt is since when the guardian reads no more, and waits for the word of a
	// student who is a junior no more; zero while they read.
	AskedAt time.Time
}

// GuardianStore is what guardians need kept. Lists are in order of identity.
type GuardianStore interface {
	domain.EventLog
	Viewing

	// GuardiansOf gives the guardians of a student, those who wait as well, but not
	// those who left.
	GuardiansOf(ctx context.Context, student domain.ID) ([]Guardian, error)
	// Wards gives the active students of a guardian whom the guardian may read.
	Wards(ctx context.Context, guardian domain.ID) ([]Member, error)
	// LetGuardian lets a guardian who waits read on. It reports false, and changes
	// nothing, when there is no such guardian of the student, or they read already.
	LetGuardian(ctx context.Context, guardian, student domain.ID) (bool, error)
	// EndGuardian ends it. It reports false when there is no such guardian.
	EndGuardian(ctx context.Context, guardian, student domain.ID) (bool, error)
}

// GuardianService is what can be done with guardians.
type GuardianService struct {
	Store domain.Transactor[GuardianStore]
	Env   domain.Env
}

// Guardians lists a student's guardians to whoever may see the student.
func (s GuardianService) Guardians(ctx context.Context, a domain.Actor, student domain.ID) (all []Guardian, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx GuardianStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		all, err = tx.GuardiansOf(ctx, student)
		return err
	})
	return all, err
}

// Wards lists the students whom the actor reads as a guardian.
func (s GuardianService) Wards(ctx context.Context, a domain.Actor) (all []Member, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx GuardianStore) error {
		all, err = tx.Wards(ctx, a.Member)
		return err
	})
	return all, err
}

// Let lets a guardian read on, by the word of the student, who is a junior no more.
// Doing it again changes nothing.
func (s GuardianService) Let(ctx context.Context, a domain.Actor, student, guardian domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx GuardianStore) error {
		m, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		if a.Member != student || m.Junior {
			return domain.Errorf(domain.Forbidden, "not_yours", "Only a student who is no junior says who may read on.")
		}
		if err := isGuardian(ctx, tx, student, guardian); err != nil {
			return err
		}
		done, err := tx.LetGuardian(ctx, guardian, student)
		if err != nil || !done {
			return err
		}
		return tx.Record(ctx, a.Event(s.Env.Now(), "guardian.allowed", guardian, student, nil))
	})
}

// End ends that a guardian reads a student's data: by an owner, the guardian, or the
// student who is a junior no more.
func (s GuardianService) End(ctx context.Context, a domain.Actor, student, guardian domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx GuardianStore) error {
		m, err := tx.Member(ctx, student)
		if domain.KindOf(err) == domain.NotFound || err == nil && a.Member != guardian {
			m, err = Student(ctx, tx, a, student) // a guardian who waits sees nothing, and may end it
		}
		if err != nil {
			return err
		}
		own := a.Member == guardian || a.Member == student && !m.Junior
		if a.Role != domain.Owner && !own {
			return domain.Errorf(domain.Forbidden, "not_yours", "A junior's guardian is ended by an owner, or by the guardian. Ask an owner.")
		}
		done, err := tx.EndGuardian(ctx, guardian, student)
		if err == nil && !done {
			err = domain.ErrNotFound("guardian")
		}
		if err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(s.Env.Now(), "guardian.ended", guardian, student, nil))
	})
}

// isGuardian wants a guardian of the student.
func isGuardian(ctx context.Context, tx GuardianStore, student, guardian domain.ID) error {
	all, err := tx.GuardiansOf(ctx, student)
	for _, g := range all {
		if g.ID == guardian {
			return nil
		}
	}
	if err == nil {
		err = domain.ErrNotFound("guardian")
	}
	return err
}
