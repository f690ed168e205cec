package academy

import (
	"context"
	"strings"
	"time"

	"fringework/domain"
)

// News is word that something was committed: an event, or a session that grew
// and that no event tells of yet.
type News struct {
	Academy domain.ID
	// Seq is the event's number in the log; 0 for a session that grew.
	Seq     int64
	At      time.Time
	Kind    string
	Subject domain.ID
	Student domain.ID
}

// Grown is the kind of news of a session that grew.
const Grown = "session.grown"

// Feed tells of what is committed, by this process or another. News may be lost
// on the way, so whoever follows looks at the log now and then.
type Feed interface {
	// Follow gives the news of an academy, gathered for a second or so, until stop
	// is called. What is received is shared: do not change it.
	Follow(academy domain.ID) (news <-chan []News, stop func())
}

// LiveService tells people what happens while they look: a session in progress
// appears to the coach ball by ball.
type LiveService struct {
	Store domain.Transactor[ChangeStore]
	Feed  Feed
}

// liveBatch is how many events are looked at in one step.
const liveBatch = 200

// Last is the number of the latest event, from which to follow.
func (s LiveService) Last(ctx context.Context, a domain.Actor) (last int64, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx ChangeStore) error {
		last, err = tx.LastEvent(ctx)
		return err
	})
	return last, err
}

// Viewer is one person who looks. It is for one goroutine.
type Viewer struct {
	service LiveService
	actor   domain.Actor
	last    int64
	// visible are the students whom the actor may see; nil when that may have
	// changed.
	visible map[domain.ID]bool
	// unsure says that something happened since the last question that may have
	// changed who the actor is.
	unsure bool
}

// Unsure reports whether anything was heard since it was last called that may have
// changed who the actor is, or whom they may see.
func (v *Viewer) Unsure() bool {
	was := v.unsure
	v.unsure = false
	return was
}

// Viewer begins after an event of the log.
func (s LiveService) Viewer(a domain.Actor, after int64) *Viewer {
	return &Viewer{service: s, actor: a, last: after}
}

// Hear gives what the viewer may be told at news: events, without their data, and
// each session that grew, once, as a "session.extended" without a number. Where
// the news leaves events out, they are read from the log.
func (v *Viewer) Hear(ctx context.Context, news []News) (events []domain.Event, err error) {
	next, missed := v.last, false
	for _, n := range news {
		if n.Kind == Grown || n.Seq > 0 && n.Seq <= next {
			continue
		}
		v.mayHaveChanged(n.Kind)
		missed = missed || n.Seq != next+1
		next = max(next, n.Seq)
	}
	if missed {
		if events, err = v.CatchUp(ctx); err != nil {
			return nil, err
		}
	}
	if v.visible == nil {
		err = v.service.Store.Read(ctx, v.actor.Academy, func(tx ChangeStore) error { return v.look(ctx, tx) })
	}
	told := map[domain.ID]bool{}
	for _, n := range news {
		e := domain.Event{Seq: n.Seq, At: n.At, Kind: n.Kind, Subject: n.Subject, Student: n.Student}
		switch {
		case n.Kind == Grown && told[n.Subject], n.Kind != Grown && n.Seq <= v.last:
			continue
		case n.Kind == Grown:
			e.Kind, told[n.Subject] = "session.extended", true
		default:
			v.last = n.Seq
		}
		if v.visible[n.Student] {
			events = append(events, e)
		}
	}
	return events, err
}

// mayHaveChanged forgets whom the actor may see when an event may change it:
// somebody came, left, or was linked.
func (v *Viewer) mayHaveChanged(kind string) {
	if !strings.HasPrefix(kind, "session.") {
		v.visible, v.unsure = nil, true
	}
}

// CatchUp gives the new events of the log that are about students whom the
// actor may see, without the data of each.
func (v *Viewer) CatchUp(ctx context.Context) (events []domain.Event, err error) {
	last := v.last
	err = v.service.Store.Read(ctx, v.actor.Academy, func(tx ChangeStore) error {
		events, last = nil, v.last // the database may ask for another try
		all, err := tx.Events(ctx, v.last, liveBatch)
		if err != nil {
			return err
		}
		for _, e := range all {
			last = e.Seq
			v.mayHaveChanged(e.Kind)
		}
		if err := v.look(ctx, tx); err != nil {
			return err
		}
		for _, e := range all {
			if v.visible[e.Student] {
				e.Data = nil
				events = append(events, e)
			}
		}
		return nil
	})
	v.last = last
	return events, err
}

// look finds out whom the actor may see, unless that is known.
func (v *Viewer) look(ctx context.Context, tx ChangeStore) error {
	if v.visible != nil {
		return nil
	}
	students, err := Students(ctx, tx, v.actor, MemberFilter{})
	if err != nil {
		return err
	}
	v.visible = map[domain.ID]bool{}
	for _, m := range students {
		v.visible[m.ID] = true
	}
	return nil
}
