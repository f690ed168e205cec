package practice

import (
	"context"

	"fringework/domain"
)

// PauseStore is what telling of a session that paused needs kept.
type PauseStore interface {
	domain.EventLog
	Session(ctx context.Context, id domain.ID) (Session, error)
	// Untold reports whether the session grew since an event last told of it. It
	// locks the session.
	Untold(ctx context.Context, id domain.ID) (bool, error)
	MarkTold(ctx context.Context, id domain.ID) error
}

// PauseService tells of sessions that went on for a while and paused without
// an end. Each upload of such a session is committed by itself; the log is told
// of them together.
type PauseService struct {
	Store domain.Transactor[PauseStore]
	Env   domain.Env
}

// Tell writes the event of a session that grew, unless that was told meanwhile.
func (s PauseService) Tell(ctx context.Context, academy, session domain.ID) error {
	return s.Store.Write(ctx, academy, func(tx PauseStore) error {
		untold, err := tx.Untold(ctx, session)
		if err != nil || !untold {
			return err
		}
		grown, err := tx.Session(ctx, session)
		if err != nil {
			return err
		}
		if err := tx.MarkTold(ctx, session); err != nil {
			return err
		}
		return tx.Record(ctx, domain.Event{
			At: s.Env.Now(), Actor: grown.By, Kind: "session.extended", Subject: session, Student: grown.Student,
			Data: map[string]any{"revision": grown.Revision, "balls": grown.balls()},
		})
	})
}
