package domaintest

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// digestRow is what is kept of a member's weekly letter.
type digestRow struct {
	week, told domain.Date
	token      string
	stopped    time.Time
}

// Digests gives the service of the weekly letter; its tokens are those of the
// identities that the store makes.
func (m *Memory) Digests() academy.DigestService {
	return academy.DigestService{
		Store: opener[academy.DigestStore]{m}, Reading: opener[academy.ReadStore]{m}, Env: m.Env(),
		NewToken: func(domain.ID) (string, error) { return "token-" + string(m.NewID()), nil },
	}
}

// VerifyEmail shows an account's e-mail to be its holder's.
func (m *Memory) VerifyEmail(account domain.ID) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.verified[account] = true
}

// DigestLetters gives the weekly letters of an academy that wait, in the order in
// which they were written.
func (m *Memory) DigestLetters(of domain.ID) []academy.DigestLetter {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.academies[of].letters)
}

func (t *tx) digestReader(m academy.Member) academy.DigestReader {
	t.mem.mu.Lock()
	defer t.mem.mu.Unlock()
	d := t.digests[m.ID]
	return academy.DigestReader{Member: m, Verified: t.mem.verified[m.Account], Stopped: d.stopped, Week: d.week, Told: d.told}
}

// DigestReaders implements academy.DigestStore.
func (t *tx) DigestReaders(_ context.Context, members []domain.ID) (readers []academy.DigestReader, err error) {
	for _, id := range slices.Compact(slices.Sorted(slices.Values(members))) {
		if m, ok := t.members[id]; ok {
			readers = append(readers, t.digestReader(m))
		}
	}
	return readers, t.call()
}

// DigestReaderByToken implements academy.DigestStore.
func (t *tx) DigestReaderByToken(_ context.Context, token string) (academy.DigestReader, error) {
	for id, d := range t.digests {
		if d.token == token && token != "" {
			return t.digestReader(t.members[id]), t.call()
		}
	}
	return academy.DigestReader{}, domain.ErrNotFound("letter")
}

// SaveDigestStop implements academy.DigestStore.
func (t *tx) SaveDigestStop(_ context.Context, member domain.ID, at time.Time) error {
	if err := t.change(); err != nil {
		return err
	}
	d := t.digests[member]
	d.stopped = at
	t.digests[member] = d
	return t.known(member)
}

// ClaimDigests implements academy.DigestStore.
func (t *tx) ClaimDigests(_ context.Context, week domain.Date, claims []academy.DigestClaim) (map[domain.ID]string, error) {
	tokens := map[domain.ID]string{}
	for _, c := range claims {
		if err := t.known(c.Member); err != nil {
			return nil, err
		}
		d := t.digests[c.Member]
		if !d.stopped.IsZero() || d.week != (domain.Date{}) && !d.week.Before(week) {
			continue
		}
		if d.week = week; c.Told {
			d.told = week
		}
		if d.token == "" {
			d.token = c.Token
		}
		t.digests[c.Member] = d
		tokens[c.Member] = d.token
	}
	return tokens, t.change()
}

// QueueDigests implements academy.DigestStore.
func (t *tx) QueueDigests(_ context.Context, letters []academy.DigestLetter) error {
	t.letters = append(slices.Clone(t.letters), letters...)
	return t.change()
}

// names says whether a letter is to a member, or about them.
func names(l academy.DigestLetter, member domain.ID) bool {
	doc, err := json.Marshal(l.Digest)
	return err != nil || l.To.ID == member || strings.Contains(string(doc), string(member))
}

// digestToken is in the address that stops the fixture's student's letter.
func (f *Fixture) digestToken() string { return "fwl_" + string(f.Programme) }

// digest is a letter to a member about the fixture's student.
func (f *Fixture) digest(to domain.ID) academy.DigestLetter {
	return academy.DigestLetter{
		ID: examID(), To: academy.Member{ID: to, Name: "Reader", Email: string(to) + "@example.org"}, Academy: "Sandhill", Token: f.digestToken(),
		At: examNow, Expires: examNow.Add(time.Hour), Digest: academy.Digest{Week: examDay, Coach: &academy.CoachWeek{
			Wrote: academy.DigestList[academy.DigestThread]{Items: []academy.DigestThread{{DigestName: academy.DigestName{ID: f.Student, Name: "Ada ⛳"}, Messages: 2}}, More: 3},
		}},
	}
}

// digests: who gets the weekly letter, each week once, and what waits.
func (e *exam) digests() {
	reader := func(id domain.ID) academy.DigestReader {
		all := get(e, e.s.Digests, func(tx academy.DigestStore) ([]academy.DigestReader, error) {
			return tx.DigestReaders(e.ctx, []domain.ID{id, examID()})
		})
		if len(all) != 1 {
			e.Fatalf("%d readers, want one", len(all))
		}
		return all[0]
	}
	claim := func(week domain.Date, claims ...academy.DigestClaim) (tokens map[domain.ID]string) {
		write(e, e.s.Digests, func(tx academy.DigestStore) (err error) {
			tokens, err = tx.ClaimDigests(e.ctx, week, claims)
			return err
		})
		return tokens
	}
	byToken := func(token string) (r academy.DigestReader, err error) {
		err = e.s.Digests.Read(e.ctx, e.Academy, func(tx academy.DigestStore) (err error) {
			r, err = tx.DigestReaderByToken(e.ctx, token)
			return err
		})
		return r, err
	}
	all := get(e, e.s.Digests, func(tx academy.DigestStore) ([]academy.DigestReader, error) {
		return tx.DigestReaders(e.ctx, []domain.ID{e.Spare, e.Student, e.Student})
	})
	if len(all) != 2 || all[0].Member.ID > all[1].Member.ID {
		e.Errorf("readers %+v; want two, in order", all)
	}
	spare := reader(e.Spare)
	e.same("nothing yet", spare, academy.DigestReader{Member: spare.Member})
	e.same("whose", spare.Member.ID, e.Spare)
	e.same("verify", e.s.VerifyEmail(spare.Member.Account, examNow), nil)
	e.same("verified", reader(e.Spare).Verified, true)

	next := examDay.AddDays(7)
	e.same("quiet", claim(next, academy.DigestClaim{Member: e.Spare, Token: "fwl_spare"}, academy.DigestClaim{Member: e.Student, Told: true, Token: "fwl_other"}),
		map[domain.ID]string{e.Spare: "fwl_spare", e.Student: e.digestToken()})
	e.same("again", claim(next, academy.DigestClaim{Member: e.Spare, Told: true, Token: "fwl_again"}), map[domain.ID]string{})
	e.same("earlier", claim(examDay, academy.DigestClaim{Member: e.Spare, Told: true, Token: "fwl_again"}), map[domain.ID]string{})
	quiet := reader(e.Spare)
	e.same("dealt with", []domain.Date{quiet.Week, quiet.Told}, []domain.Date{next, {}})
	told := reader(e.Student)
	e.same("told", []domain.Date{told.Week, told.Told}, []domain.Date{next, next})
	claim(next.AddDays(7), academy.DigestClaim{Member: e.Student, Token: "x"})
	told = reader(e.Student)
	e.same("told before", []domain.Date{told.Week, told.Told}, []domain.Date{next.AddDays(7), next})

	found, err := byToken(e.digestToken())
	e.same("by token", found, told)
	e.same("error", err, nil)
	for _, token := range []string{"", "fwl_other"} {
		_, err = byToken(token)
		e.same("no token", domain.KindOf(err), domain.NotFound)
	}
	for _, at := range []time.Time{examNow, {}} {
		write(e, e.s.Digests, func(tx academy.DigestStore) error {
			return errors.Join(tx.SaveDigestStop(e.ctx, e.Spare, at), tx.SaveDigestStop(e.ctx, e.Coach, at))
		})
		e.same("stopped", reader(e.Spare).Stopped, at)
		e.same("stopped before any letter", reader(e.Coach).Stopped, at)
		got := claim(next.AddDays(7), academy.DigestClaim{Member: e.Spare, Told: true, Token: "fwl_late"})
		e.same("claimed", len(got) == 0, !at.IsZero())
	}
	refuse(e, "a stop of nobody", e.s.Digests, domain.NotFound, func(tx academy.DigestStore) error { return tx.SaveDigestStop(e.ctx, examID(), examNow) })
	refuse(e, "a claim of nobody", e.s.Digests, domain.NotFound, func(tx academy.DigestStore) error {
		_, err := tx.ClaimDigests(e.ctx, next, []academy.DigestClaim{{Member: examID(), Token: "x"}})
		return err
	})

	letters := func() []academy.DigestLetter {
		all, err := e.s.Letters(e.Academy)
		e.same("letters", err, nil)
		return all
	}
	e.same("one waits", len(letters()), 1)
	about, other := e.digest(e.Coach), e.digest(e.Spare)
	other.Digest = academy.Digest{Week: next, Student: &academy.StudentWeek{Planned: 2}}
	write(e, e.s.Digests, func(tx academy.DigestStore) error {
		return errors.Join(tx.QueueDigests(e.ctx, []academy.DigestLetter{about, other}), tx.QueueDigests(e.ctx, nil))
	})
	waiting := letters()
	e.same("as given", waiting[1:], []academy.DigestLetter{about, other})
	e.erase(e.Student)
	e.same("after erasing", letters(), []academy.DigestLetter{other})
}

func digestCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.DigestStore] { return s.Digests }
	return slices.Concat(logCalls(of), []Call{
		call(of, "Academy", func(ctx context.Context, tx academy.DigestStore, f *Fixture) (bool, error) {
			ac, err := tx.Academy(ctx)
			return ac.ID == f.Academy, err
		}),
		call(of, "DigestReaders", func(ctx context.Context, tx academy.DigestStore, f *Fixture) (bool, error) {
			return some(tx.DigestReaders(ctx, []domain.ID{f.Student}))
		}),
		call(of, "DigestReaderByToken", func(ctx context.Context, tx academy.DigestStore, f *Fixture) (bool, error) {
			return some(tx.DigestReaderByToken(ctx, f.digestToken()))
		}),
		call(of, "SaveDigestStop", func(ctx context.Context, tx academy.DigestStore, f *Fixture) (bool, error) {
			return changed(tx.SaveDigestStop(ctx, f.Student, examNow))
		}),
		call(of, "ClaimDigests", func(ctx context.Context, tx academy.DigestStore, f *Fixture) (bool, error) {
			return some(tx.ClaimDigests(ctx, examDay.AddDays(7), []academy.DigestClaim{{Member: f.Student, Token: "fwl_call"}}))
		}),
		blind(of, "QueueDigests", func(ctx context.Context, tx academy.DigestStore, f *Fixture) error {
			return tx.QueueDigests(ctx, []academy.DigestLetter{f.digest(f.Spare)})
		}),
	})
}
