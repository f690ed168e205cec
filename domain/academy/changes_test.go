package academy_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

func everyKind(string) bool { return true }

// heard writes what changed, by kind and number.
func heard(c academy.Changes) (kinds []string) {
	for _, e := range c.Events {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

// TestChanges: of several events about one thing the latest is told, without its
// data, to whoever may see the thing.
func TestChanges(t *testing.T) {
	h := open(t)
	s := h.mem.EventService()
	start := must(s.Changes(ctx, owner, 0, 1, everyKind))(t).Newest
	if start != int64(len(h.mem.Events(hollow))) {
		t.Errorf("the newest event is %d, want %d", start, len(h.mem.Events(hollow)))
	}
	as := h.assign(ada, 4)
	must(h.people.Pause(ctx, owner, as.ID, 0, academy.Pause{}))(t)
	must(h.people.CreateGroup(ctx, owner, "Evening", nil))(t)
	h.assign(ben, 4)
	for who, c := range map[string]struct {
		a    domain.Actor
		want []string
	}{
		"owner":  {owner, []string{"assignment.paused", "group.created", "assignment.made"}},
		"key":    {key, []string{"assignment.paused", "group.created", "assignment.made"}},
		"coach":  {coach, []string{"assignment.paused"}},
		"coach2": {coach2, []string{"assignment.made"}},
		"ada":    {domaintest.AsAda, []string{"assignment.paused"}},
		"nobody": {domaintest.AsNobody, nil},
	} {
		got := must(s.Changes(ctx, c.a, start, 100, everyKind))(t)
		if !slices.Equal(heard(got), c.want) || got.Last != start+4 || got.Newest != start+4 {
			t.Errorf("%s: got %v up to %d of %d, want %v up to %d", who, heard(got), got.Last, got.Newest, c.want, start+4)
		}
		if slices.ContainsFunc(got.Events, func(e domain.Event) bool { return e.Data != nil }) {
			t.Errorf("%s is told data: %+v", who, got.Events)
		}
	}
	if got := must(s.Changes(ctx, owner, start, 1, everyKind))(t); !slices.Equal(heard(got), []string{"assignment.made"}) || got.Last != start+1 {
		t.Errorf("one event: got %v up to %d; a later change of the thing comes with its own number", heard(got), got.Last)
	}
	groups := func(kind string) bool { return strings.HasPrefix(kind, "group.") }
	if got := must(s.Changes(ctx, key, start, 9, groups))(t); !slices.Equal(heard(got), []string{"group.created"}) {
		t.Errorf("groups alone: got %v", heard(got))
	}
	if got := must(s.Changes(ctx, owner, start+4, 9, everyKind))(t); got.Events != nil || got.Last != start+4 {
		t.Errorf("at the end: got %+v", got)
	}
	wantError(t, "after the end", failure(s.Changes(ctx, coach, start+5, 9, everyKind)), domain.Gone, "cursor_gone")
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return failure(s.Changes(ctx, coach, start, 9, everyKind)) }); err != nil {
		t.Error(err)
	}
}

// TestChangesOfThemselves: a coach hears of skills, programmes and of what was done
// with the coach, and still that a student left.
func TestChangesOfThemselves(t *testing.T) {
	h := open(t)
	s := h.mem.EventService()
	start := int64(len(h.mem.Events(hollow)))
	err := h.mem.Doctor(hollow, func(tx practice.RebuildStore) error {
		for _, e := range []domain.Event{
			{Kind: "skill.changed", Subject: "k"}, {Kind: "programme.published", Subject: "p"},
			{Kind: "coach.unlinked", Subject: coach.Member, Student: ben}, {Kind: "coach.linked", Subject: coach2.Member, Student: ben},
			{Kind: "member.changed", Subject: coach.Member}, {Kind: "key.created", Subject: "x"},
		} {
			if err := tx.Record(ctx, e); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		err = h.people.RemoveMember(ctx, owner, ada)
	}
	if err != nil {
		t.Fatal(err)
	}
	if got, want := heard(must(s.Changes(ctx, coach, start, 9, everyKind))(t)), []string{"skill.changed", "programme.published", "coach.unlinked", "member.changed", "member.removed"}; !slices.Equal(got, want) {
		t.Errorf("the coach hears %v, want %v", got, want)
	}
	if got := heard(must(s.Changes(ctx, domaintest.AsAda, start, 9, everyKind))(t)); !slices.Equal(got, []string{"member.removed"}) {
		t.Errorf("a student hears %v, want their own", got)
	}
}

// TestLogForgets: what is not kept any more is told as gone, and the end can be
// read from.
func TestLogForgets(t *testing.T) {
	h := open(t)
	s := h.mem.EventService()
	h.assign(ada, 4)
	all := h.mem.Events(hollow)
	got := must(s.Latest(ctx, owner, 0, 2))(t)
	if len(got) != 2 || got[0].Seq != all[len(all)-1].Seq || got[1].Seq != got[0].Seq-1 {
		t.Errorf("the latest two: got %+v", got)
	}
	wantError(t, "a coach", failure(s.Latest(ctx, coach, 0, 2)), domain.Forbidden, "owner_only")
	r := academy.RetentionService{Store: h.mem.Retention(), Env: h.mem.Env(), Keep: 24 * time.Hour}
	if n := must(r.Forget(ctx, hollow))(t); n != 0 {
		t.Errorf("%d events of today were forgotten", n)
	}
	h.mem.Pass(25 * time.Hour)
	if n := must(r.Forget(ctx, hollow))(t); n != len(all)-1 {
		t.Errorf("%d events were forgotten, want all but the last of %d", n, len(all))
	}
	last := all[len(all)-1].Seq
	for name, err := range map[string]error{
		"the log":      failure(s.Events(ctx, owner, last-2, 9)),
		"what changed": failure(s.Changes(ctx, coach, last-2, 9, everyKind)),
	} {
		wantError(t, name, err, domain.Gone, "cursor_gone")
	}
	for _, after := range []int64{0, last - 1} {
		if got := must(s.Events(ctx, owner, after, 9))(t); len(got) != 1 || got[0].Seq != last {
			t.Errorf("after %d: got %+v, want the event that is left", after, got)
		}
	}
	if n := must(academy.RetentionService{Store: h.mem.Retention(), Env: h.mem.Env()}.Forget(ctx, hollow))(t); n != 0 {
		t.Errorf("%d events were forgotten by one that keeps all", n)
	}
}

// log notes events, or fails.
type log struct {
	events []domain.Event
	err    error
}

// Record implements domain.EventLog.
func (l *log) Record(_ context.Context, e domain.Event) error {
	l.events = append(l.events, e)
	return l.err
}

// TestRecordMilestones: a milestone is told when it is made, when it moves to
// another ball, and when it is taken back.
func TestRecordMilestones(t *testing.T) {
	four, six := streak.Tier{Run: 4, Radius: 5 * domain.Foot}, streak.Tier{Run: 6, Radius: 5 * domain.Foot, Holed: 1}
	at := func(tier streak.Tier, ball int) progress.Milestone {
		return progress.Milestone{Student: ada, Skill: "k", Tier: tier, Hit: progress.Hit{Session: "s", Block: 1, Ball: ball, At: now}}
	}
	held := at(four, 4)
	held.HeldAt = now.AddDate(0, 0, 9)
	for name, c := range map[string]struct {
		before, after []progress.Milestone
		want          []string
	}{
		"held":          {[]progress.Milestone{at(four, 4)}, []progress.Milestone{held}, []string{"milestone.held"}},
		"made, held":    {nil, []progress.Milestone{held}, []string{"milestone.made", "milestone.held"}},
		"held still":    {[]progress.Milestone{held}, []progress.Milestone{held}, nil},
		"held no more":  {[]progress.Milestone{held}, []progress.Milestone{at(four, 4)}, []string{"milestone.reopened"}},
		"both are gone": {[]progress.Milestone{held}, nil, []string{"milestone.withdrawn", "milestone.reopened"}},
		"nothing":       {[]progress.Milestone{at(four, 4)}, []progress.Milestone{at(four, 4)}, nil},
		"made":          {[]progress.Milestone{at(four, 4)}, []progress.Milestone{at(four, 4), at(six, 9)}, []string{"milestone.made"}},
		"moved":         {[]progress.Milestone{at(four, 4)}, []progress.Milestone{at(four, 5)}, []string{"milestone.made"}},
		"withdrawn":     {[]progress.Milestone{at(four, 4), at(six, 9)}, []progress.Milestone{at(four, 4)}, []string{"milestone.withdrawn"}},
	} {
		var l log
		if err := academy.RecordMilestones(ctx, &l, coach, now, c.before, c.after); err != nil {
			t.Fatal(err)
		}
		var kinds []string
		for _, e := range l.events {
			kinds = append(kinds, e.Kind)
			if e.Subject != "k" || e.Student != ada || e.Actor != coach.Member || !e.At.Equal(now) || e.Data["radius_m"] != 1.524 || e.Data["session_id"] != domain.ID("s") {
				t.Errorf("%s: %+v", name, e)
			}
		}
		if !slices.Equal(kinds, c.want) {
			t.Errorf("%s: told %v, want %v", name, kinds, c.want)
		}
	}
	if err := academy.RecordMilestones(ctx, &log{err: domaintest.ErrFault}, coach, now, nil, []progress.Milestone{at(four, 4)}); err == nil {
		t.Error("a failing log was not told of")
	}
}
