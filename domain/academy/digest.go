package academy

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"fringework/domain"
)

// DigestReader is a member as the sender of the weekly letter knows them.
type DigestReader struct {
	Member Member
	// Verified says that the e-mail was shown to be theirs.
	Verified bool
	// Stopped is when they said that they want no letter; zero while they want it.
	Stopped time.Time
	// Week is the Monday on which a letter was last due, and Told that of the last
	// letter that was written; zero before the first.
	Week, Told domain.Date
}

// Gets reports whether a member gets the letter: owners, coaches and students who
// are in the academy and want it, at an address that is theirs. Juniors get no mail,
// and guardians none about others.
func (r DigestReader) Gets() bool {
	return r.Member.Active() && r.Verified && r.Stopped.IsZero() && !r.Member.Junior && r.Member.Role != domain.Guardian
}

// DigestLetter is a weekly letter that waits to be sent.
type DigestLetter struct {
	ID domain.ID
	To Member
	// Academy is the academy's name.
	Academy string
	// Token is the secret in the address that stops the letter.
	Token string
	At    time.Time
	// Expires is when it is worth nothing any more.
	Expires time.Time
	Digest  Digest
}

// DigestClaim is a member's week that is about to be dealt with.
type DigestClaim struct {
	Member domain.ID
	// Told says that a letter is written.
	Told bool
	// Token is kept if the member has none yet.
	Token string
}

// DigestStore is what the weekly letter needs kept.
type DigestStore interface {
	domain.EventLog

	Academy(ctx context.Context) (Academy, error)
	// DigestReaders gives those of some members who are there, in order of identity,
	// those who left as well.
	DigestReaders(ctx context.Context, members []domain.ID) ([]DigestReader, error)
	// DigestReaderByToken finds the member whose letters have a token.
	DigestReaderByToken(ctx context.Context, token string) (DigestReader, error)
	// SaveDigestStop keeps since when a member wants no letter; the zero time for one
	// who wants it.
	SaveDigestStop(ctx context.Context, member domain.ID, at time.Time) error
	// ClaimDigests notes that the letters due on a Monday are dealt with, of those
	// members for whom neither that week nor a later one was and who have not stopped
	// them, and gives their tokens. Of several transactions that claim one member's
	// week, exactly one is given it.
	ClaimDigests(ctx context.Context, week domain.Date, claims []DigestClaim) (tokens map[domain.ID]string, err error)
	// QueueDigests keeps letters to be sent.
	QueueDigests(ctx context.Context, letters []DigestLetter) error
}

// DigestService writes the weekly letter, and knows who wants it.
type DigestService struct {
	Store   domain.Transactor[DigestStore]
	Reading domain.Transactor[ReadStore]
	Env     domain.Env
	// NewToken makes the secret of an address that stops a letter, in an academy.
	NewToken func(academy domain.ID) (string, error)
}

// When the letter is sent, in the reader's time zone: on Monday morning, when the
// practice week begins, at an hour at which a phone may ring. Whoever cannot be
// written to then, since the service or its mail is down, is on the next two days; on
// Thursday last week is no news. Our choice.
const (
	digestFrom, digestUntil = 7, 20 // hours of the day
	digestDays              = 3
)

// DigestDue says whether the weekly letter may be written at an instant to somebody in
// a zone, and gives the Monday it is due on.
func DigestDue(now time.Time, zone *time.Location) (week domain.Date, due bool) {
	today := domain.DateOf(now, zone)
	week = today.Monday()
	hour := now.In(zone).Hour()
	return week, week.DaysUntil(today) < digestDays && digestFrom <= hour && hour < digestUntil
}

// Send writes the weekly letters that are due to some members of an academy, and says
// how many it wrote. Each member's week is dealt with once, whoever else does the same
// and whenever it ends: that it is, and the letter, are kept in one transaction. What
// goes wrong with one letter keeps no other back.
//
// It takes three statements for all of them, eight for those who are students, ten for
// each coach, and one for each member.
func (s DigestService) Send(ctx context.Context, in domain.ID, members []domain.ID) (written int, err error) {
	now := s.Env.Now()
	due, name, err := s.due(ctx, in, members, now)
	if err != nil || len(due) == 0 {
		return 0, err
	}
	week := due[0].week
	digests, failed := s.digests(ctx, in, due, now)
	var claims []DigestClaim
	for _, r := range due {
		digest, ok := digests[r.Member.ID]
		if !ok {
			continue // it failed, and is tried again
		}
		token, err := s.NewToken(in)
		if err != nil {
			return 0, err
		}
		claims = append(claims, DigestClaim{Member: r.Member.ID, Told: digest != nil, Token: token})
	}
	err = s.Store.Write(ctx, in, func(tx DigestStore) error {
		tokens, err := tx.ClaimDigests(ctx, week, claims)
		if err != nil {
			return err
		}
		var letters []DigestLetter
		for _, r := range due {
			token, mine := tokens[r.Member.ID]
			digest := digests[r.Member.ID]
			if !mine || digest == nil {
				continue
			}
			letters = append(letters, DigestLetter{
				ID: s.Env.NewID(), To: r.Member, Academy: name, Token: token, At: now,
				Expires: week.AddDays(digestDays).Start(r.Member.Zone()), Digest: *digest,
			})
		}
		written = len(letters)
		return tx.QueueDigests(ctx, letters)
	})
	if err != nil {
		written = 0
	}
	return written, errors.Join(err, failed)
}

// dueReader is a reader whose letter is due on a Monday.
type dueReader struct {
	DigestReader
	week domain.Date
}

// due gives those of some members whose letter is due now, and the academy's name.
// Wherever it is due at one instant, it is the same Monday.
func (s DigestService) due(ctx context.Context, in domain.ID, members []domain.ID, now time.Time) (due []dueReader, name string, err error) {
	err = s.Store.Read(ctx, in, func(tx DigestStore) error {
		due = nil
		readers, err := tx.DigestReaders(ctx, members)
		if err != nil {
			return err
		}
		for _, r := range readers {
			if week, open := DigestDue(now, r.Member.Zone()); open && r.Gets() && (r.Week == domain.Date{} || r.Week.Before(week)) {
				due = append(due, dueReader{r, week})
			}
		}
		a, err := tx.Academy(ctx)
		name = a.Name
		return err
	})
	return due, name, err
}

// digests gives what there is to tell each reader, nil for nothing; those for whom it
// could not be worked out are absent.
func (s DigestService) digests(ctx context.Context, in domain.ID, due []dueReader, now time.Time) (map[domain.ID]*Digest, error) {
	all := map[domain.ID]*Digest{}
	var students []dueReader
	var failed error
	for _, r := range due {
		if r.Member.Role == domain.Student {
			students = append(students, r)
			continue
		}
		var digest *Digest
		err := s.Reading.Read(ctx, in, func(tx ReadStore) (err error) {
			digest, err = coachDigest(ctx, tx, in, r, now)
			return err
		})
		if err != nil {
			failed = errors.Join(failed, err)
			continue
		}
		all[r.Member.ID] = digest
	}
	told, err := s.studentDigests(ctx, in, students, now)
	maps.Copy(all, told)
	return all, errors.Join(failed, err)
}

// studentDigests gives what there is to tell students, nil for nothing.
func (s DigestService) studentDigests(ctx context.Context, in domain.ID, students []dueReader, now time.Time) (all map[domain.ID]*Digest, err error) {
	if len(students) == 0 {
		return nil, nil
	}
	ids := make([]domain.ID, len(students))
	for i, r := range students {
		ids[i] = r.Member.ID
	}
	err = s.Reading.Read(ctx, in, func(tx ReadStore) error {
		g, err := gather(ctx, tx, ids)
		if err != nil {
			return err
		}
		all = map[domain.ID]*Digest{}
		for _, r := range students {
			all[r.Member.ID] = g.studentDigest(r, now)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return all, nil
}

// Still reports whether a member gets the letter at an address now, for whoever is
// about to send one that was written before.
func (s DigestService) Still(ctx context.Context, in, member domain.ID, email string) (still bool, err error) {
	err = s.Store.ReadOnce(ctx, in, func(tx DigestStore) error {
		readers, err := tx.DigestReaders(ctx, []domain.ID{member})
		still = slices.ContainsFunc(readers, func(r DigestReader) bool { return r.Gets() && r.Member.Email == email })
		return err
	})
	if err != nil && domain.KindOf(err) == domain.NotFound {
		err = nil // the academy is gone
	}
	return still, err
}

// Own tells the actor whether they want the letter.
func (s DigestService) Own(ctx context.Context, a domain.Actor) (r DigestReader, err error) {
	err = s.Store.ReadOnce(ctx, a.Academy, func(tx DigestStore) error {
		r, err = digestReader(ctx, tx, a.Member)
		return err
	})
	return r, err
}

func digestReader(ctx context.Context, tx DigestStore, member domain.ID) (DigestReader, error) {
	readers, err := tx.DigestReaders(ctx, []domain.ID{member})
	if err == nil && len(readers) == 0 {
		err = domain.ErrNotFound("member")
	}
	if err != nil {
		return DigestReader{}, err
	}
	return readers[0], nil
}

// Want keeps whether the actor wants the letter. The same again changes nothing.
func (s DigestService) Want(ctx context.Context, a domain.Actor, wanted bool) (r DigestReader, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx DigestStore) error {
		if r, err = digestReader(ctx, tx, a.Member); err != nil {
			return err
		}
		return s.want(ctx, tx, a, &r, wanted)
	})
	return r, err
}

// want keeps whether a reader wants the letter.
func (s DigestService) want(ctx context.Context, tx DigestStore, a domain.Actor, r *DigestReader, wanted bool) error {
	if wanted == r.Stopped.IsZero() {
		return nil
	}
	now := s.Env.Now()
	r.Stopped = time.Time{}
	kind := "digest.wanted"
	if !wanted {
		r.Stopped, kind = now, "digest.stopped"
	}
	if err := tx.SaveDigestStop(ctx, r.Member.ID, r.Stopped); err != nil {
		return err
	}
	return tx.Record(ctx, a.Event(now, kind, r.Member.ID, studentOf(r.Member), nil))
}

// Addressed gives the academy whose letter an address stops, by its token. It is
// NotFound for a token of no letter.
func (s DigestService) Addressed(ctx context.Context, in domain.ID, token string) (ac Academy, err error) {
	err = s.Store.Read(ctx, in, func(tx DigestStore) error {
		if _, err := tx.DigestReaderByToken(ctx, token); err != nil {
			return err
		}
		ac, err = tx.Academy(ctx)
		return err
	})
	return ac, err
}

// Stop stops the letter of whoever has a token, which came with the letter and is
// enough (RFC 8058), and gives the academy. Doing it again changes nothing. It is
// NotFound for a token of no letter.
func (s DigestService) Stop(ctx context.Context, in domain.ID, token string) (ac Academy, err error) {
	err = s.Store.Write(ctx, in, func(tx DigestStore) error {
		r, err := tx.DigestReaderByToken(ctx, token)
		if err != nil {
			return err
		}
		if ac, err = tx.Academy(ctx); err != nil {
			return err
		}
		return s.want(ctx, tx, domain.Actor{Academy: in, Member: r.Member.ID}, &r, false)
	})
	return ac, err
}
