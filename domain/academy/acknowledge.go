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
	var p domain.Problems
	if k.Reason.Urgency() < 0 {
		p.Add("/reason", "%q is not a reason; use %s", k.Reason, advice.Names())
	}
	if longest := k.Reason.Silence(); days < 0 || days > longest {
		p.Add("/days", "is %d; give 1 to %d days, or 0 to end the silence", days, longest)
	}
	if n := len([]rune(k.Note)); n > 1000 {
		p.Add("/note", "has %d characters; at most 1000 fit", n)
	}
	if strings.ContainsRune(k.Note, 0) {
		p.Add("/note", "contains a NUL character; remove it")
	}
	if err := p.Err("acknowledgement_invalid", "The reason cannot be acknowledged like that."); err != nil {
		return Acknowledgement{}, err
	}
	err := s.Store.Write(ctx, a.Academy, func(tx AcknowledgementStore) error {
		m, err := Student(ctx, tx, a, k.Student)
		if err != nil {
			return err
		}
		if err := checkKnown(ctx, tx, k.Skill); err != nil {
			return err
		}
		k.By, k.At = a.Member, s.Env.Now()
		if days == 0 {
			k.Until = domain.Date{}
			if err := tx.DropAcknowledgement(ctx, k.Student, k.Skill, k.Reason); err != nil {
				return err
			}
		} else {
			k.Until = domain.DateOf(k.At, m.Zone()).AddDays(days - 1)
			if err := tx.SaveAcknowledgement(ctx, k); err != nil {
				return err
			}
		}
		return tx.Record(ctx, a.Event(k.At, "reason.acknowledged", k.Student, k.Student, map[string]any{
			"reason": k.Reason, "skill_id": k.Skill, "until": k.Until.String(), "note": k.Note,
		}))
	})
	return k, err
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
	p.Add("/skill_id", "there is no skill %q in this academy; name the one that the reason is about, or leave it out", skill)
	return p.Err("acknowledgement_invalid", "The reason cannot be acknowledged like that.")
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
