package domaintest

import (
	"context"

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
