package domaintest

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
)

// SaveAcknowledgement implements academy.AcknowledgementStore.
func (t *tx) SaveAcknowledgement(_ context.Context, k academy.Acknowledgement) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(k.Student); err != nil {
		return err
	}
	t.silences[silence{atSkill{k.Student, k.Skill}, k.Reason}] = k
	return nil
}

// DropAcknowledgement implements academy.AcknowledgementStore.
func (t *tx) DropAcknowledgement(_ context.Context, student, skill domain.ID, reason advice.Reason) error {
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
