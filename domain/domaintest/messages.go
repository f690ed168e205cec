package domaintest

import (
	"context"
	"crypto/sha256"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// AddMessage implements academy.MessageStore.
func (t *tx) AddMessage(_ context.Context, m academy.Message) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(m.Student, m.Author); err != nil {
		return err
	}
	t.messages[m.ID] = m
	return nil
}

// Messages implements academy.MessageStore.
func (t *tx) Messages(_ context.Context, student domain.ID, p domain.Page) ([]academy.Message, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(slices.Collect(maps.Values(t.messages)), func(m academy.Message) bool {
		return m.Student != student || p.After != "" && m.ID >= p.After
	})
	slices.SortFunc(all, func(a, b academy.Message) int { return compareIDs(b.ID, a.ID) })
	return all[:min(len(all), p.Limit)], nil
}

// ReadTo implements academy.MessageStore.
func (t *tx) ReadTo(_ context.Context, member, student domain.ID) (domain.ID, error) {
	return t.reads[link{member, student}], t.call()
}

// SaveReadTo implements academy.MessageStore.
func (t *tx) SaveReadTo(_ context.Context, member, student, message domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(member, student); err != nil {
		return err
	}
	t.reads[link{member, student}] = message
	t.marks[link{member, student}]++
	return nil
}

// UnreadThreads implements academy.MessageStore.
func (t *tx) UnreadThreads(_ context.Context, member domain.ID) ([]academy.UnreadThread, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	threads := map[domain.ID]academy.UnreadThread{}
	for _, m := range t.messages {
		read, looked := t.reads[link{member, m.Student}]
		coached := false
		for l := range t.links {
			c := t.members[l.member]
			coached = coached || l.student == m.Student && c.Role != domain.Guardian && c.Active()
		}
		mine := looked || t.links[link{member, m.Student}] || !coached
		if !m.ByStudent() || m.ID <= read || !mine {
			continue
		}
		u := threads[m.Student]
		u.Student, u.Messages = m.Student, u.Messages+1
		if m.At.After(u.LastAt) {
			u.LastAt = m.At
		}
		threads[m.Student] = u
	}
	return slices.SortedFunc(maps.Values(threads), func(a, b academy.UnreadThread) int { return compareIDs(a.Student, b.Student) }), nil
}

// AddReportLink implements academy.ReportStore.
func (t *tx) AddReportLink(_ context.Context, l academy.ReportLink) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(l.Student, l.By); err != nil {
		return err
	}
	for _, other := range t.reports {
		if other.Token == l.Token {
			return domain.Errorf(domain.Conflict, "taken", "The token is taken.")
		}
	}
	t.reports[l.ID] = l
	return nil
}

// ReportLinks implements academy.ReportStore.
func (t *tx) ReportLinks(_ context.Context, student domain.ID) ([]academy.ReportLink, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(slices.Collect(maps.Values(t.reports)), func(l academy.ReportLink) bool { return l.Student != student })
	slices.SortFunc(all, func(a, b academy.ReportLink) int { return compareIDs(b.ID, a.ID) })
	return all, nil
}

// ReportLink implements academy.ReportStore.
func (t *tx) ReportLink(_ context.Context, token [sha256.Size]byte) (academy.ReportLink, error) {
	if err := t.call(); err != nil {
		return academy.ReportLink{}, err
	}
	for _, l := range t.reports {
		if l.Token == token {
			return l, nil
		}
	}
	return academy.ReportLink{}, domain.ErrNotFound("report link")
}

// EndReportLink implements academy.ReportStore.
func (t *tx) EndReportLink(_ context.Context, student, id domain.ID, at time.Time) (bool, error) {
	if err := t.change(); err != nil {
		return false, err
	}
	l, ok := t.reports[id]
	if !ok || l.Student != student {
		return false, domain.ErrNotFound("report link")
	}
	if !l.Ended.IsZero() {
		return false, nil
	}
	l.Ended = at
	t.reports[id] = l
	return true, nil
}
