package academy

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
)

// PlayedReport is what a student's places tell that were played out in practice.
type PlayedReport struct {
	Student  Member
	Baseline course.Baseline
	// Skills are those that were played out, by name.
	Skills []SkillPlayed
}

// SkillPlayed is one skill played out.
type SkillPlayed struct {
	Skill curriculum.Skill
	// Outings are the latest, latest first.
	Outings []course.Outing
	course.PlayedOut
}

// playedSessions is from how many sessions with places it is told: about a month of
// three a week, as far as a habit looks back (our choice).
const playedSessions = 12

// PlayedOut reads what the places tell that a student whom the actor may see has
// played out.
func (s ReadService) PlayedOut(ctx context.Context, a domain.Actor, student domain.ID) (r PlayedReport, err error) {
	r.Baseline = course.Tour()
	err = s.Store.Read(ctx, a.Academy, func(tx ReadStore) error {
		if r.Student, err = Student(ctx, tx, a, student); err != nil {
			return err
		}
		all, err := tx.PlayedOut(ctx, student, playedSessions)
		if err != nil {
			return err
		}
		bySkill := map[domain.ID][]course.Outing{}
		var ids []domain.ID
		for _, o := range all {
			if bySkill[o.Skill] == nil {
				ids = append(ids, o.Skill)
			}
			bySkill[o.Skill] = append(bySkill[o.Skill], o)
		}
		skills, err := tx.SkillsByID(ctx, ids)
		if err != nil {
			return err
		}
		r.Skills = nil
		for _, id := range ids {
			played := SkillPlayed{Skill: skills[id], Outings: onLie(skills[id], bySkill[id])}
			played.PlayedOut = r.Baseline.PlayedOutOf(played.Outings)
			r.Skills = append(r.Skills, played)
		}
		slices.SortFunc(r.Skills, func(x, y SkillPlayed) int {
			return cmp.Or(cmp.Compare(x.Skill.Name, y.Skill.Name), cmp.Compare(x.Skill.ID, y.Skill.ID))
		})
		return nil
	})
	return r, err
}

// onLie puts the places of a putt on the green, whatever word was used for the lie.
func onLie(skill curriculum.Skill, outings []course.Outing) []course.Outing {
	if skill.Kind.Stroke() == greenside.OffGreen {
		return outings
	}
	for i := range outings {
		for j := range outings[i].Places {
			outings[i].Places[j].Lie = course.Green
		}
	}
	return outings
}
