package academy

import (
	"context"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
)

// Acknowledgement is a coach's word that a reason to look at a student is seen:
// until a day it does not call for attention again.
type Acknowledgement struct {
	Student domain.ID
	// Skill is empty for a reason that is about no skill in particular.
	Skill  domain.ID
	Reason advice.Reason
	// Until is the last day of the silence, in the student's time zone.
	Until domain.Date
	// Note is for the coaches.
	Note string
	By   domain.ID
	At   time.Time
}

// AcknowledgementStore keeps acknowledgements, one for each student, skill and
// reason.
type AcknowledgementStore interface {
	domain.EventLog
	Viewing
	SkillsByID(ctx context.Context, ids []domain.ID) (map[domain.ID]curriculum.Skill, error)
	SaveAcknowledgement(ctx context.Context, a Acknowledgement) error
	// DropAcknowledgement forgets one; it is no error if there is none.
	DropAcknowledgement(ctx context.Context, student, skill domain.ID, reason advice.Reason) error
}

// AcknowledgeService is what can be done with a reason to look at a student.
type AcknowledgeService struct {
	Store domain.Transactor[AcknowledgementStore]
	Env   domain.Env
}

// Acknowledge silences a reason for some days, today the first of them; with 0
// days it calls for attention again at once.
func (s AcknowledgeService) Acknowledge(ctx context.Context, a domain.Actor, k Acknowledgement, days int) (Acknowledgement, error) {
	if err := checkAcknowledgement(k, days); err != nil {
		return Acknowledgement{}, err
	}
	err := s.Store.Write(ctx, a.Academy, func(tx AcknowledgementStore) (err error) {
		k, err = s.acknowledge(ctx, tx, a, k, days)
		return err
	})
	return k, err
}

// Seen is a reason to be silenced for some days, as [AcknowledgeService.Acknowledge]
// takes it.
type Seen struct {
	Acknowledgement
	Days int
}

// SeenResult is what became of one of many: Err says why it was refused.
type SeenResult struct {
	Acknowledgement
	Err error
}

// maxSeen is how many reasons may be acknowledged at once.
const maxSeen = 1000

// AcknowledgeAll acknowledges many reasons in one transaction. Each has a result, in
// the order given; one that is refused keeps none of the others back.
func (s AcknowledgeService) AcknowledgeAll(ctx context.Context, a domain.Actor, all []Seen) (results []SeenResult, err error) {
	var p domain.Problems
	p.Entries("/items", "reasons", len(all), maxSeen)
	if err := p.Err("acknowledgement_invalid", "No reason was acknowledged."); err != nil {
		return nil, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx AcknowledgementStore) error {
		results = make([]SeenResult, len(all))
		for i, seen := range all {
			r := &results[i]
			r.Acknowledgement, r.Err = seen.Acknowledgement, checkAcknowledgement(seen.Acknowledgement, seen.Days)
			if r.Err == nil {
				r.Acknowledgement, r.Err = s.acknowledge(ctx, tx, a, seen.Acknowledgement, seen.Days)
			}
			if domain.Failed(r.Err) {
				return r.Err
			}
		}
		return nil
	})
	return results, err
}

func checkAcknowledgement(k Acknowledgement, days int) error {
	var p domain.Problems
	if k.Student == "" {
		p.Add("/student_id", "is missing; give the ID of the student")
	}
	switch {
	case k.Reason == "":
		p.Add("/reason", "is missing; use %s", advice.Names())
	case k.Reason.Urgency() < 0:
		p.Add("/reason", "%q is not a reason; use %s", k.Reason, advice.Names())
	}
	if longest := k.Reason.Silence(); days < 0 || days > longest {
		p.Add("/days", "is %d; give 1 to %d days, or 0 to show the reason again", days, longest)
	}
	if n := len([]rune(k.Note)); n > 1000 {
		p.Add("/note", "has %d characters; use at most 1000", n)
	}
	if strings.ContainsRune(k.Note, 0) {
		p.Add("/note", "contains a NUL character; remove it")
	}
	return p.Err("acknowledgement_invalid", "The reason was not acknowledged.")
}

func (s AcknowledgeService) acknowledge(ctx context.Context, tx AcknowledgementStore, a domain.Actor, k Acknowledgement, days int) (Acknowledgement, error) {
	m, err := Student(ctx, tx, a, k.Student)
	if err != nil {
		return k, err
	}
	if err := checkKnown(ctx, tx, k.Skill); err != nil {
		return k, err
	}
	k.By, k.At, k.Until = a.Member, s.Env.Now(), domain.Date{}
	if days == 0 {
		err = tx.DropAcknowledgement(ctx, k.Student, k.Skill, k.Reason)
	} else {
		k.Until = domain.DateOf(k.At, m.Zone()).AddDays(days - 1)
		err = tx.SaveAcknowledgement(ctx, k)
	}
	if err != nil {
		return k, err
	}
	return k, tx.Record(ctx, a.Event(k.At, "reason.acknowledged", k.Student, k.Student, map[string]any{
		"reason": k.Reason, "skill_id": k.Skill, "until": k.Until.String(), "note": k.Note,
	}))
}

// checkKnown refuses a skill that the academy does not have.
func checkKnown(ctx context.Context, tx AcknowledgementStore, skill domain.ID) error {
	if skill == "" {
		return nil
	}
	found, err := tx.SkillsByID(ctx, []domain.ID{skill})
	if err != nil || len(found) == 1 {
		return err
	}
	var p domain.Problems
	p.Add("/skill_id", "this academy has no skill %q; give the skill that the reason is about, or leave it out", skill)
	return p.Err("acknowledgement_invalid", "The reason was not acknowledged.")
}

// silence marks the reasons that were acknowledged and are still silent on a
// day, and puts them behind the others.
func silence(reasons []Attention, all []Acknowledgement, on domain.Date) {
	for i := range reasons {
		r := &reasons[i]
		at := slices.IndexFunc(all, func(k Acknowledgement) bool { return k.Skill == r.Skill && k.Reason == r.Reason })
		if at >= 0 && !all[at].Until.Before(on) {
			r.Acknowledged = &all[at]
		}
	}
	slices.SortStableFunc(reasons, func(a, b Attention) int { return boolOrder(a.Acknowledged != nil) - boolOrder(b.Acknowledged != nil) })
}

func boolOrder(b bool) int {
	if b {
		return 1
	}
	return 0
}

// pressing counts the reasons that call for attention now.
func pressing(reasons []Attention) int {
	n := 0
	for _, r := range reasons {
		if r.Acknowledged == nil {
			n++
		}
	}
	return n
}
