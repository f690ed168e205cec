package practice_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"

	"pgregory.net/rapid"
)

// rebuild runs a rebuild of the academy.
func (h *fixture) rebuild(repair bool) (int, []practice.Difference) {
	h.t.Helper()
	n, found, err := practice.Rebuilder{Store: h.mem.Rebuilding(), Env: h.mem.Env()}.Rebuild(ctx, hollow, repair)
	if err != nil {
		h.t.Fatal(err)
	}
	return n, found
}

// TestRebuild: what is kept is what the log implies; where somebody tampered
// with it, a rebuild says so and repairs it.
func TestRebuild(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Test, h.pitch, "iiiiiiiii"), block(curriculum.Warmup, h.chip, "i"))
	s.Assignment, s.Week, s.Plan, s.Blocks[0].PlanBlock = h.work, 1, 1, 4
	h.put(ada, s)
	h.put(ada, session("gone", 1, block(curriculum.Test, h.pitch, "iiiiiiiii")))
	if err := h.s.Delete(ctx, ada, "gone", "", 2); err != nil {
		t.Fatal(err)
	}
	log := len(h.mem.Events(hollow))
	// Ada, Ben, June and Gil, who left.
	if n, found := h.rebuild(true); n != 4 || found != nil {
		t.Errorf("untouched: got %d students, %v, want 4 and no difference", n, found)
	}
	if got := len(h.mem.Events(hollow)); got != log {
		t.Errorf("a rebuild that found nothing wrote %d events", got-log)
	}
	good := h.kept(adaID)
	for _, c := range []struct {
		what   string
		tamper func(k *practice.Kept)
		// text that the difference tells
		kept, implied string
	}{
		{"sessions by skill", func(k *practice.Kept) { k.Periods[0].Sessions[0].Tally.Balls++ }, "Balls:10", "Balls:9"},
		{"states", func(k *practice.Kept) { k.States[0].Held = 2 }, "Held:2", "Held:1"},
		{"states", func(k *practice.Kept) { k.States[0].Tiers[0].First = nil }, "First:none", "First:{Session:s"},
		{"habit", func(k *practice.Kept) { k.Habit.Starts = nil }, "Starts:[]", "Starts:[2026-05-10T16:00:00Z]"},
		{"sessions that count", func(k *practice.Kept) { k.Counting = nil }, "[]", "[s]"},
		{"session counts", func(k *practice.Kept) { k.Counts[0].Sessions = 3 }, "Sessions:3", "Sessions:1"},
	} {
		err := h.mem.Doctor(hollow, func(tx practice.RebuildStore) error {
			k, err := tx.Kept(ctx, adaID)
			if err != nil {
				return err
			}
			c.tamper(&k)
			return tx.ReplaceKept(ctx, adaID, k)
		})
		if err != nil {
			t.Fatal(err)
		}
		_, found := h.rebuild(false)
		if len(found) != 1 || found[0].What != c.what || found[0].Student != adaID ||
			!strings.Contains(found[0].Kept, c.kept) || !strings.Contains(found[0].Implied, c.implied) {
			t.Errorf("%s: found %v, want %q and %q told apart", c.what, found, c.kept, c.implied)
			continue
		}
		if want := fmt.Sprintf("student m-student-ada: %s kept as %s, but the log implies %s", c.what, found[0].Kept, found[0].Implied); found[0].String() != want {
			t.Errorf("got %q, want %q", found[0], want)
		}
		if reflect.DeepEqual(h.kept(adaID), good) {
			t.Errorf("%s: looking without repair changed what is kept", c.what)
		}
		if _, again := h.rebuild(true); len(again) != 1 {
			t.Errorf("%s: repairing found %v", c.what, again)
		}
		events := h.mem.Events(hollow)
		if e := events[len(events)-1]; e.Kind != "progress.rebuilt" || e.Student != adaID || e.Actor != "" || e.Data["differences"] != 1 {
			t.Errorf("%s: got event %+v", c.what, e)
		}
		if !reflect.DeepEqual(h.kept(adaID), good) {
			t.Errorf("%s: repaired to %+v\nwant %+v", c.what, h.kept(adaID), good)
		}
	}
}

func TestRebuildFaults(t *testing.T) {
	w := domaintest.New(now)
	r := practice.Rebuilder{Store: w.Rebuilding(), Env: w.Env()}
	if _, _, err := r.Rebuild(ctx, "nowhere", false); domain.KindOf(err) != domain.NotFound {
		t.Errorf("an academy that is not there: got %v", err)
	}
	h := open(t)
	r.Store = h.mem.Rebuilding()
	// June is the last one, so that no student is repaired before a failure.
	err := h.mem.Doctor(hollow, func(tx practice.RebuildStore) error {
		return tx.ReplaceKept(ctx, juneID, practice.Kept{Habit: progress.Habit{Student: juneID, Sessions: 3}})
	})
	if err != nil {
		t.Fatal(err)
	}
	err = domaintest.EveryFault(t, h.mem, hollow, func() error { _, _, err := r.Rebuild(ctx, hollow, true); return err })
	if err != nil {
		t.Error(err)
	}
	if k := h.kept(juneID); k.Habit.Sessions != 0 {
		t.Errorf("kept %+v, want no session", k.Habit)
	}
}

// upload is a revision on its way to the service: a session, or a deletion.
type upload struct {
	practice.Session
	deletion bool
}

// drawUploads makes all revisions of a few sessions.
func drawUploads(t *rapid.T, h *fixture) []upload {
	var all []upload
	for i := range rapid.IntRange(1, 4).Draw(t, "sessions") {
		id := domain.ID(fmt.Sprint("s", i))
		for rev := range rapid.IntRange(1, 3).Draw(t, "revisions") {
			u := upload{Session: drawSession(t, h, id), deletion: rapid.IntRange(0, 4).Draw(t, "deletion") == 0}
			u.Revision = rev + 1
			all = append(all, u)
		}
	}
	return all
}

func drawSession(t *rapid.T, h *fixture, id domain.ID) practice.Session {
	s := practice.Session{ID: id, TimeZone: rapid.SampledFrom([]string{"", "UTC", "Pacific/Auckland"}).Draw(t, "zone"),
		StartedAt: now.Add(-time.Duration(rapid.IntRange(1, 300).Draw(t, "hours ago")) * time.Hour)}
	if rapid.Bool().Draw(t, "ended") {
		s.EndedAt = s.StartedAt.Add(time.Hour)
	}
	s.Surface = rapid.SampledFrom(append(curriculum.Surfaces(), "", "", "")).Draw(t, "surface")
	if rapid.Bool().Draw(t, "by the plan") {
		s.Assignment, s.Week, s.Plan = h.work, rapid.IntRange(1, 3).Draw(t, "week"), 1
	}
	for range rapid.IntRange(0, 3).Draw(t, "blocks") {
		b := practice.Block{
			Kind:  rapid.SampledFrom(curriculum.BlockKinds()).Draw(t, "kind"),
			Skill: rapid.SampledFrom([]domain.ID{h.pitch, h.chip}).Draw(t, "skill"), Radius: rapid.SampledFrom([]domain.Length{ft3, ft5}).Draw(t, "radius"),
			Seconds: rapid.IntRange(0, 900).Draw(t, "seconds"),
		}
		if s.Assignment != "" {
			b.PlanBlock = rapid.IntRange(0, 4).Draw(t, "plan block")
		}
		if b.Kind == curriculum.Test {
			b.Purpose = rapid.SampledFrom(append(curriculum.Purposes(), "", "", "")).Draw(t, "purpose")
		}
		if rapid.IntRange(0, 5).Draw(t, "card") == 0 {
			b.Attested = &progress.Attested{Balls: 9, Inside: 7, Holed: 1, BestRun: 5}
		} else {
			most := 15
			if b.Purpose == curriculum.Retest {
				most = estimate.RetestBalls
			}
			for range rapid.IntRange(0, most).Draw(t, "balls") {
				ball := practice.Ball{Outcome: rapid.SampledFrom([]streak.Outcome{streak.Out, streak.In, streak.In, streak.In, streak.Holed}).Draw(t, "outcome")}
				if b.Kind == curriculum.Playout && ball.Outcome == streak.Holed {
					ball.Strokes = 1
				}
				b.Balls = append(b.Balls, ball)
			}
		}
		s.Blocks = append(s.Blocks, b)
	}
	return s
}

// deliver uploads in the given order; what was overtaken is told so.
func (h *fixture) deliver(uploads []upload) {
	h.t.Helper()
	for _, u := range uploads {
		var err error
		if u.deletion {
			err = h.s.Delete(ctx, ada, u.ID, "", u.Revision)
		} else {
			_, err = h.s.Put(ctx, ada, u.Session)
		}
		if err != nil && !strings.HasPrefix(err.Error(), "revision_superseded:") {
			h.t.Fatal(err)
		}
	}
}

// end is the state that uploads lead to: what is kept, and the sessions that
// stand without the marks of their arrival.
func (h *fixture) end() (practice.Kept, []practice.Session) {
	h.t.Helper()
	sessions := must(h.s.List(ctx, ada, practice.SessionFilter{Student: adaID, Limit: 99}))(h.t)
	for i := range sessions {
		sessions[i] = must(h.s.Get(ctx, ada, sessions[i].ID))(h.t).Session
	}
	return h.kept(adaID), sessions
}

// TestAnyOrderEndsAlike: any order and any repetition of the same uploads, edits
// and deletions among them, ends in the same sessions, progress and milestones,
// which are those that the final set of sessions implies.
func TestAnyOrderEndsAlike(t *testing.T) {
	ladder := streak.Ladder{Tiers: []streak.Tier{{Run: 3, Radius: ft5}, {Run: 5, Radius: ft3, Holed: 1}}}
	rapid.Check(t, func(t *rapid.T) {
		straight, shuffled := openWith(t, ladder), openWith(t, ladder)
		uploads := drawUploads(t, straight)
		straight.deliver(uploads)
		again := rapid.SliceOfN(rapid.SampledFrom(uploads), 0, 5).Draw(t, "repeated")
		shuffled.deliver(rapid.Permutation(append(again, uploads...)).Draw(t, "order"))

		want, wantSessions := straight.end()
		got, gotSessions := shuffled.end()
		if !reflect.DeepEqual(got, want) || !reflect.DeepEqual(gotSessions, wantSessions) {
			t.Fatalf("another order ends in\n%+v\n%+v\nwant\n%+v\n%+v", got, gotSessions, want, wantSessions)
		}
		if _, found := shuffled.rebuild(false); found != nil {
			t.Fatalf("the log implies something else: %v", found)
		}
		checkFinal(t, straight, uploads, want, wantSessions)
	})
}

// enough says whether an upload counts for the fixture's plans of an hour: half
// an hour or thirty balls, and ten balls in any case. There is no third week to
// compare with.
func enough(s practice.Session) bool {
	balls, seconds := 0, 0
	for _, b := range s.Blocks {
		seconds += b.Seconds
		balls += len(b.Balls)
		if b.Attested != nil {
			balls += b.Attested.Balls
		}
	}
	return s.Assignment != "" && balls >= 10 && (s.Week == 3 || seconds >= 1800 || balls >= 30)
}

// checkFinal holds the end to the highest revisions, worked out from the
// uploads alone.
func checkFinal(t *rapid.T, h *fixture, uploads []upload, kept practice.Kept, sessions []practice.Session) {
	final := map[domain.ID]upload{}
	for _, u := range uploads {
		if u.Revision > final[u.ID].Revision {
			final[u.ID] = u
		}
	}
	stored, byPlan := 0, 0
	for _, u := range final {
		if u.deletion {
			continue
		}
		stored++
		if enough(u.Session) {
			byPlan++
		}
	}
	if len(sessions) != stored || kept.Habit.Sessions != stored {
		t.Fatalf("%d sessions stand and %d are counted, want %d", len(sessions), kept.Habit.Sessions, stored)
	}
	if counted := len(kept.Counts) == 1 && kept.Counts[0].Sessions == byPlan; !counted && byPlan > 0 || byPlan == 0 && len(kept.Counts) > 0 {
		t.Fatalf("counts %+v, want %d by the plan", kept.Counts, byPlan)
	}
	for _, s := range sessions {
		if u := final[s.ID]; u.deletion || s.Revision != u.Revision || len(s.Blocks) != len(u.Blocks) {
			t.Fatalf("session %s stands at revision %d, want %d", s.ID, s.Revision, u.Revision)
		}
	}
	tracks := []progress.Track{}
	err := h.mem.Rebuilding().Read(ctx, hollow, func(tx practice.RebuildStore) (err error) {
		tracks, err = tx.AllTracks(ctx, adaID)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if implied := practice.Recompute(adaID, sessions, tracks); !reflect.DeepEqual(implied, kept) {
		t.Fatalf("the final sessions imply\n%+v\nkept is\n%+v", implied, kept)
	}
}
