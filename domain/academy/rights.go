package academy

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/progress"
)

// RightsStore is what leaving, erasing and forgetting need kept.
type RightsStore interface {
	domain.EventLog
	Viewing
	Listing

	Academy(ctx context.Context) (Academy, error)
	SaveMember(ctx context.Context, m Member) error
	// Erase takes a member out of everything that is kept: what is theirs goes, what
	// others have of them stays without words and names domain.Nobody, the details of
	// events about them are emptied. How much a student practised is added to what
	// Practised counts. The account goes as well if it belongs to no other academy.
	Erase(ctx context.Context, member domain.ID) error
	// Practised counts all practice, that of erased students included.
	Practised(ctx context.Context) ([]Practised, error)
	// ForgetEvents empties events from before an instant, of which number, time and
	// kind stay, and says how many that were.
	ForgetEvents(ctx context.Context, before time.Time) (int, error)
}

// Practised is how much an academy's students practised a skill, ever.
type Practised struct {
	Skill domain.ID
	// Erased is how many of the students were erased; their practice is counted.
	Erased   int
	Students int
	Sessions int
	// Balls were logged one by one; Inside includes Holed.
	Balls   int
	Inside  int
	Holed   int
	Seconds int
}

// AddPractised adds where students stand to what is counted of erased ones, in order
// of the skill.
func AddPractised(erased map[domain.ID]Practised, standing []progress.State) []Practised {
	total := maps.Clone(erased)
	for id, p := range total {
		p.Students = p.Erased
		total[id] = p
	}
	for _, s := range standing {
		p := total[s.Skill]
		p.Skill = s.Skill
		p.Students++
		p.Sessions += s.Totals.Sessions
		p.Balls += s.Totals.Balls
		p.Inside += s.Totals.Inside
		p.Holed += s.Totals.Holed
		p.Seconds += s.Totals.Seconds
		total[s.Skill] = p
	}
	return slices.SortedFunc(maps.Values(total), func(a, b Practised) int { return cmp.Compare(a.Skill, b.Skill) })
}

// RightsService is what people may do with what is kept about them.
type RightsService struct {
	Store domain.Transactor[RightsStore]
	Env   domain.Env
}

// Leave takes the actor out of the academy. What they did is kept until it is erased;
// an academy's last owner may not leave.
func (s RightsService) Leave(ctx context.Context, a domain.Actor) error {
	return s.Store.Write(ctx, a.Academy, func(tx RightsStore) error {
		m, err := tx.Member(ctx, a.Member)
		if err != nil {
			return err
		}
		m.RemovedAt = s.Env.Now()
		m.Revision++
		if err := keepsAnOwner(ctx, tx, m); err != nil {
			return err
		}
		if err := tx.SaveMember(ctx, m); err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(m.RemovedAt, "member.left", m.ID, studentOf(m), map[string]any{"role": m.Role}))
	})
}

// Erase erases a member who was removed or left, for an owner. The academy keeps how
// much was practised, without the person.
func (s RightsService) Erase(ctx context.Context, a domain.Actor, member domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx RightsStore) error {
		m, err := tx.Member(ctx, member)
		if err == nil && (a.Role != domain.Owner || m.ID == domain.Nobody) {
			err = domain.ErrNotFound("member")
		}
		if err != nil {
			return err
		}
		if m.Active() {
			return domain.Errorf(domain.Conflict, "not_removed", "%s is still a member. Remove them first; what is erased does not come back.", m.Name)
		}
		return s.erase(ctx, tx, a, m.ID)
	})
}

// erase does it, and tells of it.
func (s RightsService) erase(ctx context.Context, tx RightsStore, a domain.Actor, member domain.ID) error {
	if err := tx.Erase(ctx, member); err != nil {
		return err
	}
	return tx.Record(ctx, a.Erased(s.Env.Now(), member))
}

// Practised counts all practice of the academy, that of erased students included.
func (s RightsService) Practised(ctx context.Context, a domain.Actor) (all []Practised, err error) {
	err = s.Store.ReadOnce(ctx, a.Academy, func(tx RightsStore) error {
		all, err = tx.Practised(ctx)
		return err
	})
	return all, err
}

// Kept is what a retention period took away.
type Kept struct {
	// Erased are members, Forgotten events, Media photos and clips.
	Erased    int
	Forgotten int
	Media     int
}

// eraseBatch is how many members are looked at in one transaction.
const eraseBatch = 200

// Retain erases members who left, and empties events, once they are as old as the
// academy wants them kept.
func (s RightsService) Retain(ctx context.Context, academy domain.ID) (k Kept, err error) {
	now := s.Env.Now()
	var ac Academy
	var due []domain.ID
	err = s.Store.Read(ctx, academy, func(tx RightsStore) error {
		due = nil
		if ac, err = tx.Academy(ctx); err != nil || ac.EraseRemoved == 0 {
			return err
		}
		due, err = leftBefore(ctx, tx, now.AddDate(0, 0, -ac.EraseRemoved))
		return err
	})
	if err != nil {
		return k, err
	}
	for _, id := range due { // each by itself, so that nobody waits for all
		gone := false
		err := s.Store.Write(ctx, academy, func(tx RightsStore) error {
			m, err := tx.Member(ctx, id)
			if err != nil || m.Active() { // brought back meanwhile
				return err
			}
			gone = true
			return s.erase(ctx, tx, domain.Actor{Academy: academy}, id)
		})
		if err != nil {
			return k, err
		}
		if gone {
			k.Erased++
		}
	}
	if ac.ForgetEvents == 0 {
		return k, nil
	}
	err = s.Store.Write(ctx, academy, func(tx RightsStore) error {
		k.Forgotten, err = tx.ForgetEvents(ctx, now.AddDate(0, 0, -ac.ForgetEvents))
		return err
	})
	return k, err
}

// leftBefore gives the members who left at or before an instant.
func leftBefore(ctx context.Context, tx Listing, bound time.Time) (due []domain.ID, err error) {
	page := domain.Page{Limit: eraseBatch}
	for {
		members, err := tx.Members(ctx, MemberFilter{Removed: true}, page)
		if err != nil {
			return nil, err
		}
		for _, m := range members {
			if !m.Active() && !m.RemovedAt.After(bound) {
				due = append(due, m.ID)
			}
			page.After = m.ID
		}
		if len(members) < page.Limit {
			return due, nil
		}
	}
}
