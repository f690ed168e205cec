package academy

import (
	"context"

	"fringework/domain"
)

// Withheld are the juniors of whom software hears nothing, since no guardian agreed
// that it may read their data.
type Withheld map[domain.ID]bool

// WithheldFromSoftware finds them, those who left included.
func WithheldFromSoftware(ctx context.Context, tx Listing) (Withheld, error) {
	w, page := Withheld{}, domain.Page{Limit: maxStudents}
	for {
		members, err := tx.Members(ctx, MemberFilter{NotForApps: true, Removed: true}, page)
		for _, m := range members {
			w[m.ID], page.After = true, m.ID
		}
		if err != nil || len(members) < page.Limit {
			return w, err
		}
	}
}

// About reports whether an event is about one of them, or is their doing.
func (w Withheld) About(e domain.Event) bool { return w[e.Student] || w[e.Subject] || w[e.Actor] }

// bare leaves of an event about one of them what is left of people who were erased:
// number, time and kind. The log has no gaps.
func (w Withheld) bare(e domain.Event) domain.Event {
	if w.About(e) {
		return domain.Event{Seq: e.Seq, At: e.At, Kind: e.Kind}
	}
	return e
}
