package domaintest

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/practice"
)

// Matches opens the service of matches.
func (m *Memory) Matches() practice.MatchService {
	return practice.MatchService{Store: opener[practice.MatchStore]{m}}
}

// MatchSessions implements practice.MatchStore.
func (t *tx) MatchSessions(_ context.Context, match domain.ID, limit int) ([]practice.Session, error) {
	found := t.lastSessions(len(t.sessions), func(s practice.Session) bool { return s.Match == match })
	slices.SortFunc(found, func(a, b practice.Session) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt), compareIDs(a.ID, b.ID))
	})
	return copied(found[:min(limit, len(found))]), t.call()
}

// Matches implements practice.MatchStore.
func (t *tx) Matches(_ context.Context, student domain.ID, limit int) (all []domain.ID, err error) {
	found := t.lastSessions(len(t.sessions), func(s practice.Session) bool { return s.Student == student && s.Match != "" })
	slices.SortStableFunc(found, func(a, b practice.Session) int {
		return cmp.Or(b.StartedAt.Compare(a.StartedAt), compareIDs(a.Match, b.Match))
	})
	for _, s := range found {
		if !slices.Contains(all, s.Match) {
			all = append(all, s.Match)
		}
	}
	return all[:min(limit, len(all))], t.call()
}
