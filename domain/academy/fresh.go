package academy

import (
	"context"
	"fmt"
	"strings"
	"time"

	"fringework/domain"
)

// FreshStore tells cheaply whether what is answered about students has changed.
type FreshStore interface {
	// Freshness sums up what stands of one student, or of the academy without
	// one. Of a student it also tells who they are, and whether the member works
	// with them, if there is one; of the academy, what the member has read.
	// NotFound when the student is absent.
	Freshness(ctx context.Context, student, member domain.ID) (Freshness, error)
}

// Freshness changes whenever an answer about the students may: with every event
// of the academy, with anything kept of their practice, and with what is learned
// from them. What is left is the date.
type Freshness struct {
	Event    int64
	Practice int64
	Priors   int64
	// Reads rises with every message that the member reads.
	Reads int64
	// Zones are the students' time zones, each once and in order.
	Zones []string

	Student Member
	Linked  bool
}

// On writes the freshness with the dates that an instant falls on in the zones.
func (f Freshness) On(now time.Time) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d %d %d %d", f.Event, f.Practice, f.Priors, f.Reads)
	for _, name := range f.Zones {
		fmt.Fprintf(&b, " %s %s", name, domain.DateOf(now, Member{TimeZone: name}.Zone()))
	}
	return b.String()
}

// Fresh sums up what an answer to the actor about a student, or about all whom
// they may see without one, depends on: equal texts mean equal answers.
func (s ReadService) Fresh(ctx context.Context, a domain.Actor, student domain.ID) (text string, err error) {
	var linked domain.ID
	if needsLink(a) || student == "" {
		linked = a.Member
	}
	err = s.Freshness.ReadOnce(ctx, a.Academy, func(tx FreshStore) error {
		f, err := tx.Freshness(ctx, student, linked)
		if err == nil && student != "" {
			err = MaySee(a, f.Student, f.Linked)
		}
		text = f.On(s.Env.Now())
		return err
	})
	if err != nil {
		return "", err
	}
	return text, nil
}
