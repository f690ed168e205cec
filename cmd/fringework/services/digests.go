package services

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/repo"
)

// How often it is looked for weekly letters that are due, how many members are then
// dealt with at most, so that ten thousand whose week begins at once are spread over
// twenty minutes, and how many of them together. Our choice.
const (
	digestEvery = time.Minute
	digestMost  = 500
	digestBatch = 50
)

func newDigestToken(academy domain.ID) (string, error) {
	token, _, err := auth.NewLinkToken(academy)
	return token, err
}

// RunDigests writes the weekly letters that are due, until ctx ends. Several processes
// may do it at once. It belongs where there is mail.
func (s *Services) RunDigests(ctx context.Context, log *slog.Logger) {
	ticker := time.NewTicker(digestEvery)
	defer ticker.Stop()
	for {
		if n, err := s.WriteDigests(ctx); err != nil && ctx.Err() == nil {
			log.Warn("weekly letters were not all written and are tried again", "error", err)
		} else if n > 0 {
			log.Info("weekly letters written", "letters", n)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// WriteDigests writes the weekly letters that are due now, of a number of members, and
// says how many it wrote. While none is due it costs one statement.
func (s *Services) WriteDigests(ctx context.Context) (written int, err error) {
	all, err := s.db.DigestZones(ctx)
	if err != nil {
		return 0, err
	}
	zones, week := dueZones(all, s.env.Now())
	if len(zones) == 0 {
		return 0, nil
	}
	var last repo.MemberKey
	for range digestMost / digestBatch {
		due, failed := s.db.DigestsDue(ctx, zones, week, last, digestBatch)
		if failed != nil || len(due) == 0 {
			return written, errors.Join(err, failed)
		}
		last = due[len(due)-1]
		for in, members := range byAcademy(due) {
			n, failed := s.Digests.Send(ctx, in, members)
			written, err = written+n, errors.Join(err, failed)
		}
	}
	return written, err
}

// dueZones gives the zones in which the weekly letter is due at an instant, and the
// Monday it is due on, which is the same in all of them.
func dueZones(all []string, now time.Time) (zones []string, week domain.Date) {
	for _, name := range all {
		m := academy.Member{TimeZone: name}
		if on, due := academy.DigestDue(now, m.Zone()); due {
			zones, week = append(zones, name), on
		}
	}
	return zones, week
}

func byAcademy(keys []repo.MemberKey) map[domain.ID][]domain.ID {
	members := map[domain.ID][]domain.ID{}
	for _, k := range keys {
		members[k.Academy] = append(members[k.Academy], k.Member)
	}
	return members
}
