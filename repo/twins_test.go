package repo

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// sight is what one method of the store shows of a filled academy, or does to
// it: seen says that there was something to show or to change. Run on another
// academy it must show nothing and change nothing.
type sight struct {
	method string
	run    func(f *filled, a *store) (seen bool, err error)
}

// some turns a value and an error into whether there was anything.
func some[T any](v T, err error) (bool, error) {
	r := reflect.ValueOf(v)
	switch r.Kind() {
	case reflect.Slice, reflect.Map:
		return r.Len() > 0, err
	}
	return !r.IsZero(), err
}

// changed is for a method that changes what is there already.
func changed(err error) (bool, error) { return err == nil, err }

var someDay = domain.Date{Year: 2026, Month: 5, Day: 4}

// sights has a line for each method of the store, twice where it can be asked
// in several ways.
var sights = []sight{
	{"Academy", func(f *filled, a *store) (bool, error) {
		got, err := a.Academy(f.ctx)
		return got.ID == f.academy, err
	}},
	{"SaveAcademy", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveAcademy(f.ctx, academy.Academy{ID: f.academy, Name: "Taken over", TimeZone: "UTC"}))
	}},
	{"Member", func(f *filled, a *store) (bool, error) { return some(a.Member(f.ctx, f.student)) }},
	{"Members", func(f *filled, a *store) (bool, error) {
		ms, err := a.Members(f.ctx, academy.MemberFilter{Removed: true}, domain.Page{Limit: 100})
		return slices.ContainsFunc(ms, func(m academy.Member) bool { return m.ID == f.student }), err
	}},
	{"Members", func(f *filled, a *store) (bool, error) {
		return some(a.Members(f.ctx, academy.MemberFilter{Group: f.group}, domain.Page{Limit: 100}))
	}},
	{"Members", func(f *filled, a *store) (bool, error) {
		return some(a.Members(f.ctx, academy.MemberFilter{VisibleTo: f.coach}, domain.Page{Limit: 100}))
	}},
	{"SaveMember", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveMember(f.ctx, academy.Member{ID: f.student, Role: domain.Owner, Name: "Taken", Units: academy.InMetres, Revision: 2}))
	}},
	{"WorksWith", func(f *filled, a *store) (bool, error) { return some(a.WorksWith(f.ctx, f.coach, f.student)) }},
	{"CoachesOf", func(f *filled, a *store) (bool, error) { return some(a.CoachesOf(f.ctx, f.student)) }},
	{"SetLink", func(f *filled, a *store) (bool, error) { return changed(a.SetLink(f.ctx, f.owner, f.student, true)) }},
	{"SetLink", func(f *filled, a *store) (bool, error) {
		return false, a.SetLink(f.ctx, f.coach, f.student, false)
	}},
	{"Groups", func(f *filled, a *store) (bool, error) { return some(a.Groups(f.ctx, domain.Page{Limit: 100})) }},
	{"Group", func(f *filled, a *store) (bool, error) { return some(a.Group(f.ctx, f.group)) }},
	{"SaveGroup", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveGroup(f.ctx, academy.Group{ID: f.group, Name: "Taken", Revision: 2}))
	}},
	{"SaveGroup", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveGroup(f.ctx, academy.Group{ID: newID(), Name: "New", Students: []domain.ID{f.student}, Revision: 1}))
	}},
	{"DeleteGroup", func(f *filled, a *store) (bool, error) { return changed(a.DeleteGroup(f.ctx, f.group)) }},
	{"Skills", func(f *filled, a *store) (bool, error) { return some(a.Skills(f.ctx, domain.Page{Limit: 100}, true)) }},
	{"SkillsByID", func(f *filled, a *store) (bool, error) { return some(a.SkillsByID(f.ctx, []domain.ID{f.pitch})) }},
	{"SaveSkill", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveSkill(f.ctx, curriculum.Skill{ID: f.pitch, Name: "Taken", Revision: 2}))
	}},
	{"Programmes", func(f *filled, a *store) (bool, error) {
		return some(a.Programmes(f.ctx, domain.Page{Limit: 100}, true))
	}},
	{"Programme", func(f *filled, a *store) (bool, error) { return some(a.Programme(f.ctx, f.programme)) }},
	{"SaveProgramme", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveProgramme(f.ctx, curriculum.Programme{ID: f.programme, Revision: 3}))
	}},
	{"Versions", func(f *filled, a *store) (bool, error) { return some(a.Versions(f.ctx, f.programme)) }},
	{"Version", func(f *filled, a *store) (bool, error) { return some(a.Version(f.ctx, f.programme, 1)) }},
	{"VersionsOf", func(f *filled, a *store) (bool, error) {
		return some(a.VersionsOf(f.ctx, []academy.Assignment{{Programme: f.programme, Version: 1}}))
	}},
	{"AddVersion", func(f *filled, a *store) (bool, error) {
		return changed(a.AddVersion(f.ctx, curriculum.Version{Programme: f.programme, Number: 2}))
	}},
	{"Assignment", func(f *filled, a *store) (bool, error) { return some(a.Assignment(f.ctx, f.assignment)) }},
	{"Assignments", func(f *filled, a *store) (bool, error) {
		return some(a.Assignments(f.ctx, academy.AssignmentFilter{}, domain.Page{Limit: 100}))
	}},
	{"Assignments", func(f *filled, a *store) (bool, error) {
		return some(a.Assignments(f.ctx, academy.AssignmentFilter{Student: f.student, Programme: f.programme, VisibleTo: f.coach, Current: true}, domain.Page{Limit: 100}))
	}},
	{"AssignmentsOf", func(f *filled, a *store) (bool, error) { return some(a.AssignmentsOf(f.ctx, []domain.ID{f.student})) }},
	{"SaveAssignment", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveAssignment(f.ctx, academy.Assignment{ID: f.assignment, Student: f.student, Programme: f.programme, Version: 1, Start: someDay, Revision: 2}))
	}},
	{"SaveAssignment", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveAssignment(f.ctx, academy.Assignment{ID: newID(), Student: f.spare, Programme: f.programme, Version: 1, Start: someDay, Revision: 1}))
	}},
	{"DoneInWeek", func(f *filled, a *store) (bool, error) { return some(a.DoneInWeek(f.ctx, f.assignment, 1)) }},
	{"Session", func(f *filled, a *store) (bool, error) { return some(a.Session(f.ctx, f.session)) }},
	{"Sessions", func(f *filled, a *store) (bool, error) {
		return some(a.Sessions(f.ctx, practice.SessionFilter{Student: f.student, Limit: 100}))
	}},
	{"Overlapping", func(f *filled, a *store) (bool, error) {
		return some(a.Overlapping(f.ctx, practice.Session{ID: newID(), Student: f.student, StartedAt: start, EndedAt: start.Add(time.Hour)}))
	}},
	{"Comments", func(f *filled, a *store) (bool, error) { return some(a.Comments(f.ctx, f.session)) }},
	{"AddComment", func(f *filled, a *store) (bool, error) {
		return changed(a.AddComment(f.ctx, practice.Comment{ID: newID(), Session: f.session, Text: "Spam", At: monday}))
	}},
	{"Tracks", func(f *filled, a *store) (bool, error) {
		return some(a.Tracks(f.ctx, f.student, []domain.ID{f.pitch}))
	}},
	{"AllTracks", func(f *filled, a *store) (bool, error) { return some(a.AllTracks(f.ctx, f.student)) }},
	{"History", func(f *filled, a *store) (bool, error) { return some(a.History(f.ctx, f.student, f.pitch)) }},
	{"States", func(f *filled, a *store) (bool, error) { return some(a.States(f.ctx, []domain.ID{f.student})) }},
	{"Habits", func(f *filled, a *store) (bool, error) {
		habits, err := a.Habits(f.ctx, []domain.ID{f.student})
		return habits[f.student].Sessions > 0, err
	}},
	{"Acknowledgements", func(f *filled, a *store) (bool, error) {
		return some(a.Acknowledgements(f.ctx, []domain.ID{f.student}))
	}},
	{"SaveAcknowledgement", func(f *filled, a *store) (bool, error) {
		return changed(a.SaveAcknowledgement(f.ctx, academy.Acknowledgement{Student: f.student, Reason: advice.Flat, Until: someDay, At: monday}))
	}},
	{"DropAcknowledgement", func(f *filled, a *store) (bool, error) {
		return false, a.DropAcknowledgement(f.ctx, f.student, "", advice.Lapsed)
	}},
	{"StudentIDs", func(f *filled, a *store) (bool, error) {
		ids, err := a.StudentIDs(f.ctx)
		return slices.Contains(ids, f.student), err
	}},
	{"Log", func(f *filled, a *store) (bool, error) { return some(a.Log(f.ctx, f.student)) }},
	{"Kept", func(f *filled, a *store) (bool, error) {
		k, err := a.Kept(f.ctx, f.student)
		return len(k.States)+len(k.Periods)+len(k.Counts)+k.Habit.Sessions > 0, err
	}},
	{"ReplaceKept", func(f *filled, a *store) (bool, error) {
		return changed(a.ReplaceKept(f.ctx, f.student, practice.Kept{Habit: progress.Habit{Student: f.student}}))
	}},
	{"Open", func(f *filled, a *store) (bool, error) {
		o, err := a.Open(f.ctx, f.opening())
		return o.Known || o.Linked || o.Student.ID != "" || len(o.Records)+len(o.Overlapping)+o.Habit.Sessions > 0 || o.Assignment.ID != "" || o.Version.Number > 0, err
	}},
	{"Open", func(f *filled, a *store) (bool, error) {
		o, err := a.Open(f.ctx, practice.Opening{Session: f.session})
		return o.Known, err
	}},
	{"Save", func(f *filled, a *store) (bool, error) {
		return changed(a.Save(f.ctx, f.change(f.plannedSession(newID(), 1, 3))))
	}},
	{"Save", func(f *filled, a *store) (bool, error) {
		return changed(a.Save(f.ctx, f.change(f.plannedSession(f.session, 2, 3))))
	}},
	{"Periods", func(f *filled, a *store) (bool, error) { return some(a.Periods(f.ctx, f.student, f.pitch)) }},
	{"RecentTimes", func(f *filled, a *store) (bool, error) {
		return some(a.RecentTimes(f.ctx, f.student, newID(), 10))
	}},
	{"ReplaceRecord", func(f *filled, a *store) (bool, error) {
		t := progress.Track{Student: f.student, Skill: f.pitch}
		return changed(a.ReplaceRecord(f.ctx, progress.Recompute(t, nil)))
	}},
	{"SkillRecord", func(f *filled, a *store) (bool, error) {
		r, err := a.SkillRecord(f.ctx, f.student, f.pitch, 1, 0)
		return len(r.Periods)+len(r.Track.Judged) > 0, err
	}},
	{"StageCounts", func(f *filled, a *store) (bool, error) { return some(a.StageCounts(f.ctx)) }},
	{"Priors", func(f *filled, a *store) (bool, error) { return some(a.Priors(f.ctx)) }},
	{"SavePriors", func(f *filled, a *store) (bool, error) {
		// It can only write its own.
		return a.scope.id == f.academy, a.SavePriors(f.ctx, progress.Priors{{Skill: f.chip}: {A: 1, B: 2}})
	}},
	{"Untold", func(f *filled, a *store) (bool, error) { return some(a.Untold(f.ctx, f.growing)) }},
	{"MarkTold", func(f *filled, a *store) (bool, error) { return false, a.MarkTold(f.ctx, f.growing) }},
	{"Record", func(f *filled, a *store) (bool, error) {
		// It can only write to its own log; what the log shows is below.
		return a.scope.id == f.academy, a.Record(f.ctx, domain.Event{At: monday, Kind: "ball.dropped", Subject: f.student})
	}},
	{"Events", func(f *filled, a *store) (bool, error) {
		events, err := a.Events(f.ctx, 0, 1000)
		return slices.ContainsFunc(events, func(e domain.Event) bool { return e.Student == f.student }), err
	}},
	{"LastEvent", func(f *filled, a *store) (bool, error) {
		last, err := a.LastEvent(f.ctx)
		return last > 0 && a.scope.id == f.academy, err
	}},
}

// blind are the methods that show and change nothing that can be seen in their
// own answer; snapshot says whether they changed anything.
var blind = []string{"SetLink", "MarkTold", "DropAcknowledgement"}

func TestEveryMethodHasItsTwin(t *testing.T) {
	covered := map[string]bool{}
	for _, s := range sights {
		covered[s.method] = true
	}
	for _, store := range []reflect.Type{
		reflect.TypeFor[academy.Store](), reflect.TypeFor[academy.GroupStore](), reflect.TypeFor[academy.AssignmentStore](),
		reflect.TypeFor[academy.AcknowledgementStore](), reflect.TypeFor[academy.ReadStore](), reflect.TypeFor[academy.LearnStore](),
		reflect.TypeFor[academy.EventStore](), reflect.TypeFor[academy.LiveStore](), reflect.TypeFor[curriculum.Store](),
		reflect.TypeFor[practice.Store](), reflect.TypeFor[practice.ReadStore](), reflect.TypeFor[practice.CommentStore](),
		reflect.TypeFor[practice.PauseStore](), reflect.TypeFor[practice.RebuildStore](),
	} {
		for method := range store.Methods() {
			if name := method.Name; !covered[name] {
				t.Errorf("%s.%s has no line in sights: show that another academy sees nothing through it", store, name)
			}
		}
	}
}

var errUndo = errors.New("undo")

// Each method shows its own academy something, and another academy nothing of
// it.
func TestAnotherAcademySeesNothing(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		other := next(t, db)
		before := snapshot(t, db, f.academy)
		for i, s := range sights {
			name := fmt.Sprintf("%d %s", i, s.method)
			inside, err := s.undone(f, f.world)
			if !onlyUndone(err) {
				t.Errorf("%s: the academy itself: %v", name, err)
			}
			if !inside && !slices.Contains(blind, s.method) {
				t.Errorf("%s: the academy itself: nothing seen or changed", name)
			}
			seen, err := s.undone(f, other)
			kind := domain.KindOf(err)
			refused := kind == domain.NotFound || kind == domain.Stale
			if !refused && !onlyUndone(err) {
				t.Errorf("%s: as another academy: got error %v, want none, not found or stale", name, err)
			}
			if seen && !refused {
				t.Errorf("%s: as another academy: something seen or changed", name)
			}
			if other.attempt(func(a *store) error { _, err := s.run(f, a); return err }) != nil {
				continue // it does not go through
			}
			if after := snapshot(t, db, f.academy); after != before {
				t.Errorf("%s: as another academy: the rows changed (-before +after)\n%s", name, cmp.Diff(strings.Split(before, "\n"), strings.Split(after, "\n")))
			}
		}
	})
}

// undone runs a sight in an academy's transaction to its end and takes it back.
func (s sight) undone(f *filled, in *world) (seen bool, err error) {
	err = everything(in.db).Write(f.ctx, in.academy, func(a *store) error {
		if seen, err = s.run(f, a); err != nil {
			return err
		}
		t := a.scope.transaction
		t.last = append(t.last, query{
			sql: "SELECT id FROM academies WHERE id = ?", args: []any{in.academy},
			row: func(func(...any) error) error { return errUndo },
		})
		return nil
	})
	return seen, err
}

func onlyUndone(err error) bool {
	return err != nil && strings.TrimSpace(err.Error()) == errUndo.Error()
}

// under is the same academy under another context.
func (f *filled) under(ctx context.Context) *filled {
	g, w := *f, *f.world
	g.world, w.ctx = &w, ctx
	return &g
}

// forget empties a cache.
func forget(c *versionCache) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.known = nil
}

// snapshot writes every row of an academy, table by table.
func snapshot(t *testing.T, db *DB, academy domain.ID) string {
	t.Helper()
	var b strings.Builder
	for _, table := range academyTables {
		var rows []map[string]any
		if err := db.writer.Table(table).Where("academy_id = ?", academy).Find(&rows).Error; err != nil {
			t.Fatal(err)
		}
		lines := make([]string, len(rows))
		for i, r := range rows {
			var line strings.Builder
			for _, k := range slices.Sorted(maps.Keys(r)) {
				fmt.Fprintf(&line, "%s=%v ", k, r[k])
			}
			lines[i] = line.String()
		}
		slices.Sort(lines)
		for _, line := range lines {
			fmt.Fprintf(&b, "%s: %s\n", table, line)
		}
	}
	return b.String()
}

var academyTables = []string{
	"members", "coach_links", "guardianships", "student_groups", "group_students", "invitations", "app_keys", "events",
	"skills", "programmes", "versions", "assignments", "sessions", "session_blocks", "comments", "tracks", "states",
	"skill_periods", "habits", "priors", "acknowledgements",
}

// Every statement of an academy's store names the academy.
func TestEveryStatementNamesTheAcademy(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		for i, s := range sights {
			ctx, count := CountStatements(t.Context(), func(sql string) {
				if !strings.Contains(sql, "academy_id") && !strings.Contains(sql, "academies") && !strings.Contains(sql, "pg_advisory_xact_lock") {
					t.Errorf("%s: a statement without academy: %s", s.method, sql)
				}
			})
			forget(&db.versions)
			g := f.under(ctx)
			if _, err := s.undone(g, g.world); !onlyUndone(err) {
				t.Errorf("%d %s: %v", i, s.method, err)
			}
			if count.Count() < 2 { // the last takes it back
				t.Errorf("%d %s: no statement was counted", i, s.method)
			}
		}
	})
}
