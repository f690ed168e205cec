package domaintest

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// SaveAcknowledgement implements academy.AcknowledgementStore.
func (t *tx) SaveAcknowledgement(_ context.Context, k academy.Acknowledgement) error {
	if err := t.change(); err != nil {
		return err
	}
	t.silences[silence{atSkill{k.Student, k.Skill}, k.Reason}] = k
	return nil
}

// DropAcknowledgement implements academy.AcknowledgementStore.
func (t *tx) DropAcknowledgement(_ context.Context, student, skill domain.ID, reason estimate.Reason) error {
	if err := t.change(); err != nil {
		return err
	}
	delete(t.silences, silence{atSkill{student, skill}, reason})
	return nil
}

// Acknowledgements implements academy.ReadStore.
func (t *tx) Acknowledgements(_ context.Context, students []domain.ID) ([]academy.Acknowledgement, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []academy.Acknowledgement
	for _, k := range t.silences {
		if slices.Contains(students, k.Student) {
			found = append(found, k)
		}
	}
	slices.SortFunc(found, func(a, b academy.Acknowledgement) int {
		return cmp.Or(cmp.Compare(a.Student, b.Student), cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Reason, b.Reason))
	})
	return found, nil
}

// StageCounts implements academy.ReadStore.
func (t *tx) StageCounts(_ context.Context, skills []domain.ID) ([]progress.StageCount, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.StageCount
	for key, s := range t.states {
		if slices.Contains(skills, key.skill) {
			found = append(found, progress.StageCount{
				Skill: key.skill, Held: s.Held, Counts: estimate.Counts{Balls: s.Recent.Judged, Inside: s.Recent.Inside},
			})
		}
	}
	slices.SortFunc(found, func(a, b progress.StageCount) int {
		return cmp.Or(cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Held, b.Held), cmp.Compare(a.Balls, b.Balls), cmp.Compare(a.Inside, b.Inside))
	})
	return found, nil
}
