package repo

import (
	"context"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

// StoresOf gives the stores of a database as the exam wants them.
func StoresOf(ctx context.Context, db *DB) domaintest.Stores {
	write := func(fn func(tx auth.Tx) error) error { return db.Auth().Write(ctx, fn) }
	return domaintest.Stores{
		People: db.People(), Groups: db.Groups(), Assignments: db.Assignments(), Adjustments: db.Adjustments(), Acknowledgements: db.Acknowledgements(), Quiet: db.Quiet(), Proposals: db.Proposals(), Reading: db.Reading(), Matches: db.Matches(), Cohorts: db.Cohorts(),
		Learning: db.Learning(), Insights: db.Insights(), Events: db.Events(), Changes: db.Changes(), Retention: db.Retention(), Webhooks: db.Webhooks(), Queue: db.WebhookQueue(), Watching: db.Watching(), Curriculum: db.Curriculum(), Practice: db.Practice(),
		Messages: db.Messages(), Reports: db.Reports(), Rounds: db.Rounds(), Bags: db.Bags(), Seasons: db.Seasons(), Lessons: db.Lessons(), Media: db.LessonMedia(), Rights: db.Rights(), Guardians: db.Guardians(), Calendars: db.Calendars(), Digests: db.Digests(), Sessions: db.Sessions(), Comments: db.Comments(), Pauses: db.Pauses(), Rebuilding: db.Rebuilding(),
		AddAcademy: func(a academy.Academy) error {
			return write(func(tx auth.Tx) error {
				return tx.AddAcademy(ctx, auth.Academy{ID: a.ID, Name: a.Name, TimeZone: a.TimeZone, Created: a.CreatedAt})
			})
		},
		AddMember: func(in domain.ID, m academy.Member) error {
			return write(func(tx auth.Tx) error {
				if err := tx.AddAccount(ctx, auth.Account{ID: m.Account, Email: m.Email, Name: m.Name, Created: m.JoinedAt}); err != nil {
					return err
				}
				return tx.AddMember(ctx, in, auth.Member{ID: m.ID, Account: m.Account, Role: m.Role, Name: m.Name, TimeZone: m.TimeZone, Created: m.JoinedAt})
			})
		},
		AddLink: func(in, member, student domain.ID) error {
			return write(func(tx auth.Tx) error {
				m, err := tx.Member(ctx, in, member)
				if err != nil {
					return err
				}
				if m.Role == domain.Guardian {
					return tx.Guard(ctx, in, member, student, m.Created)
				}
				return tx.Link(ctx, in, member, student, m.Created)
			})
		},
		VerifyEmail: func(account domain.ID, at time.Time) error {
			return write(func(tx auth.Tx) error { return tx.VerifyEmail(ctx, account, at) })
		},
		Letters: func(in domain.ID) (letters []academy.DigestLetter, err error) {
			var rows []letterRow
			if err := db.reader.WithContext(ctx).Order("id").Find(&rows).Error; err != nil {
				return nil, err
			}
			for _, r := range rows {
				l, err := decode[auth.Letter](r.Doc)
				if err != nil {
					return nil, err
				}
				if l.AcademyID == in {
					letters = append(letters, academy.DigestLetter{
						ID: l.ID, To: academy.Member{ID: l.Member, Name: l.Name, Email: l.To}, Academy: l.Academy, Token: l.Token, At: l.At, Expires: l.Expires, Digest: *l.Digest,
					})
				}
			}
			return letters, nil
		},
	}
}

// Both engines sit the exam of the domain's stores, as the in-memory one does.
func TestExam(t *testing.T) {
	t.Parallel()
	for _, e := range engines {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			domaintest.Exercise(t, func(t *testing.T) domaintest.Stores { return StoresOf(t.Context(), openAt(t, e.url(t))) })
		})
	}
}
