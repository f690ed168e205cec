package repo

import (
	"context"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// digestStore is the store of academy.DigestService.
type digestStore struct {
	*scope
	academies
}

// Digests opens the store of academy.DigestService.
func (db *DB) Digests() domain.Transactor[academy.DigestStore] {
	return transactor[academy.DigestStore]{db, func(s *scope) academy.DigestStore { return digestStore{s, academies{s}} }}
}

const digestReaders = "SELECT " + memberColumns + ", accounts.verified_at, digests.week, digests.told, digests.stopped_at" +
	" FROM members JOIN accounts ON accounts.id = members.account_id" +
	" LEFT JOIN digests ON digests.academy_id = members.academy_id AND digests.member_id = members.id WHERE members.academy_id = ? AND "

// DigestReaders implements academy.DigestStore.
func (s digestStore) DigestReaders(ctx context.Context, members []domain.ID) (readers []academy.DigestReader, err error) {
	err = s.batch(ctx, query{
		sql: digestReaders + "members.id ~ ORDER BY members.id", args: []any{s.id, s.list(texts(members))}, what: "member", row: scanReader(&readers),
	})
	return readers, err
}

// DigestReaderByToken implements academy.DigestStore.
func (s digestStore) DigestReaderByToken(ctx context.Context, token string) (academy.DigestReader, error) {
	none := domain.ErrNotFound("letter")
	var readers []academy.DigestReader
	err := s.batch(ctx, query{
		sql: digestReaders + "digests.token = ?", args: []any{s.id, token}, what: "letter", none: none, row: scanReader(&readers),
	})
	if err != nil {
		return academy.DigestReader{}, err
	}
	return readers[0], nil
}

func scanReader(into *[]academy.DigestReader) func(func(...any) error) error {
	return func(scan func(...any) error) (err error) {
		var m memberRow
		var verified, stopped *int64
		var week, told *string
		if err := scan(append(m.fields(), &verified, &week, &told, &stopped)...); err != nil {
			return err
		}
		r := academy.DigestReader{Member: m.member(), Verified: verified != nil, Stopped: maybeInstant(stopped)}
		if r.Week, err = maybeDate(week); err != nil {
			return err
		}
		r.Told, err = maybeDate(told)
		*into = append(*into, r)
		return err
	}
}

// maybeDate reads a date that may be NULL, as zero.
func maybeDate(text *string) (domain.Date, error) {
	if text == nil {
		return domain.Date{}, nil
	}
	return date(*text)
}

// SaveDigestStop implements academy.DigestStore.
func (s digestStore) SaveDigestStop(ctx context.Context, member domain.ID, since time.Time) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx, query{
		sql: "INSERT INTO digests (academy_id, member_id, stopped_at) VALUES (?, ?, ?)" +
			" ON CONFLICT (academy_id, member_id) DO UPDATE SET stopped_at = excluded.stopped_at",
		args: []any{s.id, member, maybeAt(since)}, what: "member",
	})
}

// ClaimDigests implements academy.DigestStore. Of several that claim one row, all but
// the first wait for it, and then find that the week is not before theirs.
func (s digestStore) ClaimDigests(ctx context.Context, week domain.Date, claims []academy.DigestClaim) (map[domain.ID]string, error) {
	if !s.writing {
		return nil, errReadOnly
	}
	tokens := map[domain.ID]string{}
	queries := make([]query, len(claims))
	for i, c := range claims {
		var told *string
		on := week.String()
		if c.Told {
			told = &on
		}
		queries[i] = query{
			sql: "INSERT INTO digests (academy_id, member_id, week, told, token) VALUES (?, ?, ?, ?, ?)" +
				" ON CONFLICT (academy_id, member_id) DO UPDATE SET week = excluded.week, told = COALESCE(excluded.told, digests.told), token = COALESCE(digests.token, excluded.token)" +
				" WHERE digests.stopped_at IS NULL AND (digests.week IS NULL OR digests.week < excluded.week) RETURNING token",
			args: []any{s.id, c.Member, on, told, c.Token}, what: "member",
			row: func(scan func(...any) error) error {
				var token string
				err := scan(&token)
				tokens[c.Member] = token
				return err
			},
		}
	}
	return tokens, s.batch(ctx, queries...)
}

// QueueDigests implements academy.DigestStore.
func (s digestStore) QueueDigests(ctx context.Context, letters []academy.DigestLetter) error {
	if !s.writing {
		return errReadOnly
	}
	rows := each(letters, func(l academy.DigestLetter) letterRow {
		return letterRowOf(auth.Letter{
			ID: l.ID, Kind: auth.LetterDigest, To: l.To.Email, Name: l.To.Name, At: l.At, Expires: l.Expires,
			Academy: l.Academy, AcademyID: s.id, Member: l.To.ID, Token: l.Token, Digest: &l.Digest,
		})
	})
	return s.insert(ctx, rows, len(rows), "letter")
}

// DigestZones lists the time zones of all members, so that academies are asked only
// while the weekly letter is due in one of them.
func (db *DB) DigestZones(ctx context.Context) (zones []string, err error) {
	err = db.read(ctx, func(t *transaction) error {
		zones = nil
		return t.batch(ctx, query{
			sql: "SELECT DISTINCT time_zone FROM members WHERE removed_at IS NULL ORDER BY time_zone", what: "member",
			row: func(scan func(...any) error) error {
				var zone string
				err := scan(&zone)
				zones = append(zones, zone)
				return err
			},
		})
	})
	return zones, err
}

// MemberKey names a member of any academy.
type MemberKey struct{ Academy, Member domain.ID }

// DigestsDue lists members in some time zones whose letter of a Monday was not dealt
// with, in order of academy and identity after one, at most limit; see
// academy.DigestReader.Gets.
func (db *DB) DigestsDue(ctx context.Context, zones []string, week domain.Date, after MemberKey, limit int) (due []MemberKey, err error) {
	err = db.read(ctx, func(t *transaction) error {
		due = nil
		return t.batch(ctx, query{
			sql: "SELECT m.academy_id, m.id FROM members m JOIN accounts a ON a.id = m.account_id" +
				" LEFT JOIN digests d ON d.academy_id = m.academy_id AND d.member_id = m.id" +
				" WHERE (m.academy_id, m.id) > (?, ?) AND m.time_zone ~ AND m.removed_at IS NULL AND m.role <> 'guardian' AND NOT m.junior" +
				" AND a.verified_at IS NOT NULL AND d.stopped_at IS NULL AND (d.week IS NULL OR d.week < ?)" +
				" ORDER BY m.academy_id, m.id LIMIT ?",
			args: []any{after.Academy, after.Member, t.list(zones), week.String(), limit}, what: "member",
			row: func(scan func(...any) error) error {
				var k MemberKey
				err := scan(&k.Academy, &k.Member)
				due = append(due, k)
				return err
			},
		})
	})
	return due, err
}
