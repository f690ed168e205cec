package repo

import (
	"crypto/sha256"
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
	"fringework/domain/streak"
)

// sight is what one method of the store shows of a filled academy, or does to
// it: seen says that there was something to show or to change. Run on another
// academy it must show nothing and change nothing.
type sight struct {
	method string
	run    func(f *filled, a *Academy) (seen bool, err error)
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
	{"Academy", func(f *filled, a *Academy) (bool, error) {
		got, err := a.Academy(f.ctx)
		return got.ID == f.academy, err
	}},
	{"SaveAcademy", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveAcademy(f.ctx, academy.Academy{ID: f.academy, Name: "Taken over", TimeZone: "UTC"}))
	}},
	{"Member", func(f *filled, a *Academy) (bool, error) { return some(a.Member(f.ctx, f.student)) }},
	{"Members", func(f *filled, a *Academy) (bool, error) {
		ms, err := a.Members(f.ctx, academy.MemberFilter{Removed: true}, domain.Page{Limit: 100})
		return slices.ContainsFunc(ms, func(m academy.Member) bool { return m.ID == f.student }), err
	}},
	{"Members", func(f *filled, a *Academy) (bool, error) {
		return some(a.Members(f.ctx, academy.MemberFilter{Group: f.group}, domain.Page{Limit: 100}))
	}},
	{"Members", func(f *filled, a *Academy) (bool, error) {
		return some(a.Members(f.ctx, academy.MemberFilter{VisibleTo: f.coach}, domain.Page{Limit: 100}))
	}},
	{"SaveMember", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveMember(f.ctx, academy.Member{ID: f.student, Role: domain.Owner, Name: "Taken", Units: academy.InMetres, Revision: 2}))
	}},
	{"WorksWith", func(f *filled, a *Academy) (bool, error) { return some(a.WorksWith(f.ctx, f.coach, f.student)) }},
	{"CoachesOf", func(f *filled, a *Academy) (bool, error) { return some(a.CoachesOf(f.ctx, f.student)) }},
	{"SetLink", func(f *filled, a *Academy) (bool, error) { return changed(a.SetLink(f.ctx, f.owner, f.student, true)) }},
	{"SetLink", func(f *filled, a *Academy) (bool, error) {
		return false, a.SetLink(f.ctx, f.coach, f.student, false)
	}},
	{"Groups", func(f *filled, a *Academy) (bool, error) { return some(a.Groups(f.ctx, domain.Page{Limit: 100})) }},
	{"Group", func(f *filled, a *Academy) (bool, error) { return some(a.Group(f.ctx, f.group)) }},
	{"SaveGroup", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveGroup(f.ctx, academy.Group{ID: f.group, Name: "Taken", Revision: 2}))
	}},
	{"SaveGroup", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveGroup(f.ctx, academy.Group{ID: newID(), Name: "New", Students: []domain.ID{f.student}, Revision: 1}))
	}},
	{"DeleteGroup", func(f *filled, a *Academy) (bool, error) { return changed(a.DeleteGroup(f.ctx, f.group)) }},
	{"Skills", func(f *filled, a *Academy) (bool, error) { return some(a.Skills(f.ctx, domain.Page{Limit: 100}, true)) }},
	{"SkillsByID", func(f *filled, a *Academy) (bool, error) { return some(a.SkillsByID(f.ctx, []domain.ID{f.pitch})) }},
	{"SaveSkill", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveSkill(f.ctx, curriculum.Skill{ID: f.pitch, Name: "Taken", Revision: 2}))
	}},
	{"Programmes", func(f *filled, a *Academy) (bool, error) {
		return some(a.Programmes(f.ctx, domain.Page{Limit: 100}, true))
	}},
	{"Programme", func(f *filled, a *Academy) (bool, error) { return some(a.Programme(f.ctx, f.programme)) }},
	{"SaveProgramme", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveProgramme(f.ctx, curriculum.Programme{ID: f.programme, Revision: 3}))
	}},
	{"Versions", func(f *filled, a *Academy) (bool, error) { return some(a.Versions(f.ctx, f.programme)) }},
	{"Version", func(f *filled, a *Academy) (bool, error) { return some(a.Version(f.ctx, f.programme, 1)) }},
	{"VersionsOf", func(f *filled, a *Academy) (bool, error) {
		return some(a.VersionsOf(f.ctx, []academy.Assignment{{Programme: f.programme, Version: 1}}))
	}},
	{"AddVersion", func(f *filled, a *Academy) (bool, error) {
		return changed(a.AddVersion(f.ctx, curriculum.Version{Programme: f.programme, Number: 2}))
	}},
	{"Assignment", func(f *filled, a *Academy) (bool, error) { return some(a.Assignment(f.ctx, f.assignment)) }},
	{"Assignments", func(f *filled, a *Academy) (bool, error) {
		return some(a.Assignments(f.ctx, academy.AssignmentFilter{}, domain.Page{Limit: 100}))
	}},
	{"Assignments", func(f *filled, a *Academy) (bool, error) {
		return some(a.Assignments(f.ctx, academy.AssignmentFilter{Student: f.student, Programme: f.programme, VisibleTo: f.coach, Standing: true}, domain.Page{Limit: 100}))
	}},
	{"AssignmentsOf", func(f *filled, a *Academy) (bool, error) { return some(a.AssignmentsOf(f.ctx, []domain.ID{f.student})) }},
	{"SaveAssignment", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveAssignment(f.ctx, academy.Assignment{ID: f.assignment, Student: f.student, Programme: f.programme, Version: 1, Start: someDay, Revision: 2}))
	}},
	{"SaveAssignment", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveAssignment(f.ctx, academy.Assignment{ID: newID(), Student: f.spare, Programme: f.programme, Version: 1, Start: someDay, Revision: 1}))
	}},
	{"CountSession", func(f *filled, a *Academy) (bool, error) { return changed(a.CountSession(f.ctx, f.assignment, 1)) }},
	{"DoneInWeek", func(f *filled, a *Academy) (bool, error) { return some(a.DoneInWeek(f.ctx, f.assignment, 1)) }},
	{"Stored", func(f *filled, a *Academy) (bool, error) {
		_, _, ok, err := a.Stored(f.ctx, f.session)
		return ok, err
	}},
	{"Session", func(f *filled, a *Academy) (bool, error) { return some(a.Session(f.ctx, f.session)) }},
	{"SaveSession", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveSession(f.ctx, practice.Session{ID: newID(), Student: f.student, StartedAt: start, Revision: 1}, [sha256.Size]byte{}))
	}},
	{"Sessions", func(f *filled, a *Academy) (bool, error) {
		return some(a.Sessions(f.ctx, practice.SessionFilter{Student: f.student, Limit: 100}))
	}},
	{"Overlapping", func(f *filled, a *Academy) (bool, error) {
		return some(a.Overlapping(f.ctx, practice.Session{ID: newID(), Student: f.student, StartedAt: start, EndedAt: start.Add(time.Hour)}))
	}},
	{"MilestonesOf", func(f *filled, a *Academy) (bool, error) { return some(a.MilestonesOf(f.ctx, f.session)) }},
	{"ReadingsOf", func(f *filled, a *Academy) (bool, error) { return some(a.ReadingsOf(f.ctx, f.session)) }},
	{"Comments", func(f *filled, a *Academy) (bool, error) { return some(a.Comments(f.ctx, f.session)) }},
	{"AddComment", func(f *filled, a *Academy) (bool, error) {
		return changed(a.AddComment(f.ctx, practice.Comment{ID: newID(), Session: f.session, Text: "Spam", At: monday}))
	}},
	{"Tracks", func(f *filled, a *Academy) (bool, error) {
		return some(a.Tracks(f.ctx, f.student, []domain.ID{f.pitch}))
	}},
	{"AllTracks", func(f *filled, a *Academy) (bool, error) { return some(a.AllTracks(f.ctx, f.student)) }},
	{"SaveTrack", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveTrack(f.ctx, progress.Track{Student: f.student, Skill: f.pitch}))
	}},
	{"ReplaceReadings", func(f *filled, a *Academy) (bool, error) {
		return false, a.ReplaceReadings(f.ctx, f.student, progress.SessionSummary{Session: f.session, Skill: f.pitch})
	}},
	{"ReplaceDigests", func(f *filled, a *Academy) (bool, error) {
		return false, a.ReplaceDigests(f.ctx, f.student, f.session, nil)
	}},
	{"ReplaceDigests", func(f *filled, a *Academy) (bool, error) {
		d := progress.SessionSummary{Session: f.session, Skill: f.pitch, StartedAt: start, Week: someDay, Tally: progress.Tally{Sessions: 1}}
		return changed(a.ReplaceDigests(f.ctx, f.student, f.session, []progress.SessionSummary{d}))
	}},
	{"History", func(f *filled, a *Academy) (bool, error) { return some(a.History(f.ctx, f.student, f.pitch)) }},
	{"DigestsOf", func(f *filled, a *Academy) (bool, error) { return some(a.DigestsOf(f.ctx, f.session)) }},
	{"LatestStart", func(f *filled, a *Academy) (bool, error) { return some(a.LatestStart(f.ctx, f.student, f.pitch)) }},
	{"FirstHits", func(f *filled, a *Academy) (bool, error) {
		return some(a.FirstHits(f.ctx, f.student, f.pitch, []streak.Tier{firstTier}))
	}},
	{"RecentReadings", func(f *filled, a *Academy) (bool, error) {
		return some(a.RecentReadings(f.ctx, f.student, f.pitch, firstTier, 10))
	}},
	{"BestRun", func(f *filled, a *Academy) (bool, error) {
		return some(a.BestRun(f.ctx, f.student, f.pitch, firstTier))
	}},
	{"Totals", func(f *filled, a *Academy) (bool, error) { return some(a.Totals(f.ctx, f.student, f.pitch)) }},
	{"SaveState", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveState(f.ctx, progress.State{Student: f.student, Skill: f.pitch}))
	}},
	{"ForgetState", func(f *filled, a *Academy) (bool, error) { return false, a.ForgetState(f.ctx, f.student, f.pitch) }},
	{"ReplaceMilestones", func(f *filled, a *Academy) (bool, error) {
		m := progress.Milestone{Student: f.student, Skill: f.pitch, Tier: firstTier, Hit: progress.Hit{Session: f.session, Block: 1, Ball: 1, At: start}}
		return changed(a.ReplaceMilestones(f.ctx, f.student, f.pitch, []progress.Milestone{m}))
	}},
	{"ReplaceMilestones", func(f *filled, a *Academy) (bool, error) {
		return false, a.ReplaceMilestones(f.ctx, f.student, f.pitch, nil)
	}},
	{"AddToWeek", func(f *filled, a *Academy) (bool, error) {
		return changed(a.AddToWeek(f.ctx, f.student, f.pitch, someDay, progress.Tally{Sessions: 1}))
	}},
	{"AddToWeek", func(f *filled, a *Academy) (bool, error) {
		return changed(a.AddToWeek(f.ctx, f.student, f.pitch, someDay, progress.Tally{Sessions: -1}))
	}},
	{"SessionCount", func(f *filled, a *Academy) (bool, error) { return some(a.SessionCount(f.ctx, f.student)) }},
	{"RecentOutings", func(f *filled, a *Academy) (bool, error) { return some(a.RecentOutings(f.ctx, f.student, 10)) }},
	{"SaveHabit", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveHabit(f.ctx, progress.Habit{Student: f.student, Sessions: 7}))
	}},
	{"States", func(f *filled, a *Academy) (bool, error) { return some(a.States(f.ctx, []domain.ID{f.student})) }},
	{"Milestones", func(f *filled, a *Academy) (bool, error) { return some(a.Milestones(f.ctx, []domain.ID{f.student})) }},
	{"Habits", func(f *filled, a *Academy) (bool, error) {
		habits, err := a.Habits(f.ctx, []domain.ID{f.student})
		return habits[f.student].Sessions > 0, err
	}},
	{"WeekTallies", func(f *filled, a *Academy) (bool, error) {
		return some(a.WeekTallies(f.ctx, []domain.ID{f.student}, []domain.Date{someDay}))
	}},
	{"StageCounts", func(f *filled, a *Academy) (bool, error) { return some(a.StageCounts(f.ctx, []domain.ID{f.pitch})) }},
	{"Acknowledgements", func(f *filled, a *Academy) (bool, error) {
		return some(a.Acknowledgements(f.ctx, []domain.ID{f.student}))
	}},
	{"SaveAcknowledgement", func(f *filled, a *Academy) (bool, error) {
		return changed(a.SaveAcknowledgement(f.ctx, academy.Acknowledgement{Student: f.student, Reason: advice.Flat, Until: someDay, At: monday}))
	}},
	{"DropAcknowledgement", func(f *filled, a *Academy) (bool, error) {
		return false, a.DropAcknowledgement(f.ctx, f.student, "", advice.Lapsed)
	}},
	{"StudentIDs", func(f *filled, a *Academy) (bool, error) {
		ids, err := a.StudentIDs(f.ctx)
		return slices.Contains(ids, f.student), err
	}},
	{"Log", func(f *filled, a *Academy) (bool, error) { return some(a.Log(f.ctx, f.student)) }},
	{"Kept", func(f *filled, a *Academy) (bool, error) {
		k, err := a.Kept(f.ctx, f.student)
		return len(k.Digests)+len(k.States)+len(k.Milestones)+len(k.Weeks)+len(k.Counts)+k.Habit.Sessions > 0, err
	}},
	{"ReplaceKept", func(f *filled, a *Academy) (bool, error) {
		return changed(a.ReplaceKept(f.ctx, f.student, practice.Kept{Habit: progress.Habit{Student: f.student}}))
	}},
	{"Record", func(f *filled, a *Academy) (bool, error) {
		// It can only write to its own log; what the log shows is below.
		return a.id == f.academy, a.Record(f.ctx, domain.Event{At: monday, Kind: "ball.dropped", Subject: f.student})
	}},
	{"Events", func(f *filled, a *Academy) (bool, error) {
		events, err := a.Events(f.ctx, 0, 1000)
		return slices.ContainsFunc(events, func(e domain.Event) bool { return e.Student == f.student }), err
	}},
	{"LastEvent", func(f *filled, a *Academy) (bool, error) {
		last, err := a.LastEvent(f.ctx)
		return last > 0 && a.id == f.academy, err
	}},
}

var firstTier = streak.Tier{Run: 9, Radius: 5 * domain.Foot}

// blind are the methods that show and change nothing that can be seen in their
// own answer; snapshot says whether they changed anything.
var blind = []string{"SetLink", "ReplaceReadings", "ReplaceDigests", "ForgetState", "ReplaceMilestones", "DropAcknowledgement"}

func TestEveryMethodHasItsTwin(t *testing.T) {
	covered := map[string]bool{}
	for _, s := range sights {
		covered[s.method] = true
	}
	store := reflect.TypeFor[*Academy]()
	for i := range store.NumMethod() {
		if name := store.Method(i).Name; !covered[name] {
			t.Errorf("%s has no line in sights: show that another academy sees nothing through it", name)
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
			t.Run(fmt.Sprintf("%d %s", i, s.method), func(t *testing.T) {
				inside := s.undone(t, f, f.world)
				if !inside && !slices.Contains(blind, s.method) {
					t.Errorf("the academy itself: nothing seen or changed")
				}
				if seen := s.undone(t, f, other); seen {
					t.Errorf("as another academy: something seen or changed")
				}
				if got := s.kept(t, f, other); got {
					if after := snapshot(t, db, f.academy); after != before {
						t.Errorf("as another academy: the rows changed (-before +after)\n%s", cmp.Diff(strings.Split(before, "\n"), strings.Split(after, "\n")))
					}
				}
			})
		}
	})
}

// undone runs a sight in an academy's transaction and takes it back. As another
// academy it may be refused, but only as absent or overtaken.
func (s sight) undone(t *testing.T, f *filled, in *world) (seen bool) {
	t.Helper()
	err := in.attempt(func(a *Academy) (err error) {
		seen, err = s.run(f, a)
		return errors.Join(err, errUndo)
	})
	if in.academy == f.academy {
		if !errors.Is(err, errUndo) || strings.TrimSpace(err.Error()) != errUndo.Error() {
			t.Errorf("the academy itself: %v", err)
		}
		return seen
	}
	switch kind := domain.KindOf(err); {
	case err == errUndo, kind == domain.NotFound, kind == domain.Stale, strings.TrimSpace(err.Error()) == errUndo.Error():
	default:
		t.Errorf("as another academy: got error %v, want none, not found or stale", err)
	}
	return seen && err != nil && domain.KindOf(err) != domain.NotFound && domain.KindOf(err) != domain.Stale
}

// kept runs a sight as another academy for good and reports whether it went
// through.
func (s sight) kept(t *testing.T, f *filled, in *world) bool {
	t.Helper()
	return in.attempt(func(a *Academy) error {
		_, err := s.run(f, a)
		return err
	}) == nil
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
	"skills", "programmes", "versions", "assignments", "sessions", "session_blocks", "comments", "tracks", "digests",
	"readings", "states", "milestones", "habits", "practice_weeks", "acknowledgements",
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
			g := *f
			w := *f.world
			g.world, w.ctx = &w, ctx
			_ = w.attempt(func(a *Academy) error {
				_, err := s.run(&g, a)
				return errors.Join(err, errUndo)
			})
			if count.Count() == 0 && s.method != "Record" {
				t.Errorf("%d %s: no statement was counted", i, s.method)
			}
		}
	})
}
