package repo

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// same tells how what came back differs from what was put in.
func same(t testing.TB, what string, got, want any) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("%s (-want +got)\n%s", what, d)
	}
}

// Whatever is put in comes out the same.
func TestStoredAsGiven(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		skill := filledValue[curriculum.Skill]()
		skill.ID, skill.Revision = newID(), 1
		programme := filledValue[curriculum.Programme]()
		programme.ID, programme.Revision, programme.CreatedBy = newID(), 1, f.owner
		version := filledValue[curriculum.Version]()
		version.Programme, version.PublishedBy = programme.ID, f.owner
		assignment := filledValue[academy.Assignment]()
		assignment.ID, assignment.Student, assignment.Programme, assignment.Version = newID(), f.student, programme.ID, version.Number
		assignment.Revision, assignment.CreatedBy, assignment.Sessions = 1, f.coach, 0
		group := academy.Group{ID: newID(), Name: "Juniors", Students: []domain.ID{f.student, f.spare}, Revision: 1, CreatedAt: monday}
		slices.Sort(group.Students)
		f.write(func(a *store) error {
			return errors.Join(a.SaveSkill(ctx, skill), a.SaveProgramme(ctx, programme), a.AddVersion(ctx, version), a.SaveAssignment(ctx, assignment), a.SaveGroup(ctx, group))
		})
		var member academy.Member
		f.write(func(a *store) (err error) {
			if member, err = a.Member(ctx, f.student); err != nil {
				return err
			}
			member.Role, member.Name, member.TimeZone, member.Units = domain.Student, "Ash ⛳", "Asia/Tokyo", academy.InMetres
			member.Junior, member.ConsentAt, member.ConsentBy, member.RemovedAt, member.Revision = true, monday, f.owner, monday, 2
			return a.SaveMember(ctx, member)
		})
		f.write(func(a *store) error {
			return a.SaveAcademy(ctx, academy.Academy{ID: f.academy, Name: "Renamed", TimeZone: "Asia/Tokyo"})
		})
		f.read(func(a *store) error {
			skills, err := a.SkillsByID(ctx, []domain.ID{skill.ID, newID()})
			same(t, "SkillsByID", skills, map[domain.ID]curriculum.Skill{skill.ID: skill})
			got, err1 := a.Programme(ctx, programme.ID)
			same(t, "Programme", got, programme)
			gotVersion, err2 := a.Version(ctx, version.Programme, version.Number)
			same(t, "Version", gotVersion, version)
			gotAssignment, err3 := a.Assignment(ctx, assignment.ID)
			same(t, "Assignment", gotAssignment, assignment)
			gotGroup, err4 := a.Group(ctx, group.ID)
			same(t, "Group", gotGroup, group)
			gotMember, err5 := a.Member(ctx, f.student)
			same(t, "Member", gotMember, member)
			gotAcademy, err6 := a.Academy(ctx)
			same(t, "Academy", gotAcademy, academy.Academy{ID: f.academy, Name: "Renamed", TimeZone: "Asia/Tokyo", CreatedAt: monday})
			return errors.Join(err, err1, err2, err3, err4, err5, err6)
		})
	})
}

func TestSessionStoredAsGiven(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		s := f.plannedSession(newID(), 3, 12)
		s.Missed = []progress.KindTime{{Kind: "warmup", Planned: 900, Spent: 1}}
		s.By, s.ReceivedAt, s.Version = f.coach, monday, 1
		for i := range s.Blocks {
			s.Blocks[i].Planned = i
			s.Blocks[i].Counts = practice.CountBalls(s.Blocks[i].Balls)
		}
		f.write(func(a *store) error {
			return a.Save(ctx, practice.Change{Session: s, Fingerprint: s.Fingerprint(), Habit: progress.Habit{Student: f.student}})
		})
		counted := s
		counted.Blocks = slices.Clone(s.Blocks)
		for i := range counted.Blocks {
			counted.Blocks[i].Balls = nil
		}
		open := func(q practice.Opening) (o practice.Opened) {
			f.write(func(a *store) (err error) { o, err = a.Open(ctx, q); return err })
			return o
		}
		q := practice.Opening{Session: s.ID, Student: f.student}
		o := open(q)
		same(t, "opened", o.Before, s)
		if o.Fingerprint != s.Fingerprint() || !o.Known {
			t.Errorf("opened: got stamp %x, %v, want %x", o.Fingerprint, o.Known, s.Fingerprint())
		}
		q.Session = newID()
		if o := open(q); o.Known {
			t.Error("an unknown session was opened as known")
		}
		f.read(func(a *store) error {
			got, err := a.Session(ctx, s.ID)
			same(t, "Session", got, s)
			list, listErr := a.Sessions(ctx, practice.SessionFilter{Student: f.student, Limit: 10})
			same(t, "Sessions", list[slices.IndexFunc(list, func(x practice.Session) bool { return x.ID == s.ID })], counted)
			return errors.Join(err, listErr)
		})
		gone := s
		gone.Blocks, gone.Missed, gone.Revision, gone.DeletedAt, gone.EndedAt = nil, nil, 4, monday, time.Time{}
		f.write(func(a *store) error { return a.Save(ctx, bare(gone)) })
		f.read(func(a *store) error {
			got, err := a.Session(ctx, s.ID)
			same(t, "deleted Session", got, gone)
			list, listErr := a.Sessions(ctx, practice.SessionFilter{Student: f.student, Limit: 10})
			log, logErr := a.Log(ctx, f.student)
			if len(list) != 2 || len(log) != 2 {
				t.Errorf("got %d in the list and %d in the log, want the two that stand", len(list), len(log))
			}
			return errors.Join(err, listErr, logErr)
		})
		wantKind(t, "absent session", f.attempt(func(a *store) error { _, err := a.Session(ctx, newID()); return err }), domain.NotFound)
	})
}

func TestKeptAsGiven(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		track := filledValue[progress.Track]()
		track.Student, track.Skill = f.student, f.pitch
		state := filledValue[progress.State]()
		state.Student, state.Skill = f.student, f.pitch
		state.Recent.Judged = state.Recent.Inside + 1
		periods := []progress.Period{filledPeriod(f.student, f.pitch), filledPeriod(f.student, f.pitch)}
		periods[1].Number++
		var times []progress.SessionTime
		for range 3 {
			times = append(times, filledValue[progress.SessionTime]())
		}
		k := practice.Kept{
			States: []progress.State{state}, Periods: periods, Habit: progress.HabitOf(f.student, 7, times),
			Counts: []practice.AssignmentCount{{Assignment: f.assignment, Sessions: 7}},
		}
		f.write(func(a *store) error {
			return errors.Join(a.ReplaceRecord(ctx, progress.Record{Track: track, State: progress.State{Student: f.student, Skill: f.pitch}}), a.ReplaceKept(ctx, f.student, k))
		})
		f.read(func(a *store) error {
			got, err := a.Kept(ctx, f.student)
			same(t, "Kept", got, k)
			tracks, err1 := a.Tracks(ctx, f.student, []domain.ID{f.pitch, newID()})
			same(t, "Tracks", tracks, map[domain.ID]progress.Track{f.pitch: track})
			all, err2 := a.Periods(ctx, f.student, f.pitch)
			same(t, "Periods", all, periods)
			habits, err3 := a.Habits(ctx, []domain.ID{f.student, f.spare})
			same(t, "Habits", habits, map[domain.ID]progress.Habit{f.student: k.Habit, f.spare: {Student: f.spare}})
			states, err4 := a.States(ctx, []domain.ID{f.student, f.spare})
			same(t, "States", states[0], state)
			return errors.Join(err, err1, err2, err3, err4)
		})
		nothing := practice.Kept{Habit: progress.Habit{Student: f.student}}
		f.write(func(a *store) error { return a.ReplaceKept(ctx, f.student, nothing) })
		f.read(func(a *store) error {
			got, err := a.Kept(ctx, f.student)
			same(t, "Kept after nothing", got, nothing)
			return err
		})
	})
}

// The log keeps what it was told, in order, without gaps, and without losing a
// digit of a number.
func TestEventsAsRecorded(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
		for i := range 3 {
			w.write(func(a *store) error {
				for j := range 2 {
					e := domain.Event{At: monday, Actor: w.coach, Kind: "ball.struck", Subject: newID(), Student: w.student,
						Data: map[string]any{"n": int64(9_007_199_254_740_993), "i": i, "j": j, "text": "<ö>"}}
					if err := a.Record(w.ctx, e); err != nil {
						return err
					}
				}
				return nil
			})
		}
		w.write(func(a *store) error {
			return a.Record(w.ctx, domain.Event{At: monday, Kind: "academy.swept", Subject: w.academy})
		})
		w.read(func(a *store) error {
			all, err := a.Events(w.ctx, 0, 100)
			for i, e := range all {
				if e.Seq != int64(i)+1 {
					t.Errorf("event %d has number %d", i+1, e.Seq)
				}
			}
			if len(all) != 7 {
				t.Fatalf("got %d events, want 7", len(all))
			}
			got := all[4].Data
			for key, want := range map[string]string{"n": "9007199254740993", "i": "2", "j": "0"} {
				if n, ok := got[key].(interface{ String() string }); !ok || n.String() != want {
					t.Errorf("data %s: got %v, want %s", key, got[key], want)
				}
			}
			if got["text"] != "<ö>" || all[4].Actor != w.coach || all[4].Student != w.student || !all[4].At.Equal(monday) {
				t.Errorf("got %+v", all[4])
			}
			if last := all[6]; last.Actor != "" || last.Student != "" || len(last.Data) != 0 {
				t.Errorf("event of the system: got %+v", last)
			}
			part, partErr := a.Events(w.ctx, 2, 3)
			if len(part) != 3 || part[0].Seq != 3 {
				t.Errorf("after 2, at most 3: got %v", part)
			}
			last, lastErr := a.LastEvent(w.ctx)
			if last != 7 {
				t.Errorf("LastEvent: got %d, want 7", last)
			}
			return errors.Join(err, partErr, lastErr)
		})
		if err := w.attempt(func(a *store) error {
			return a.Record(w.ctx, domain.Event{Kind: "bad", Data: map[string]any{"f": func() {}}})
		}); err == nil {
			t.Error("an event that JSON cannot write was recorded")
		}
		nowhere := &world{t: t, db: db, ctx: w.ctx, academy: newID()}
		wantKind(t, "event of no academy", nowhere.attempt(func(a *store) error {
			return a.Record(w.ctx, domain.Event{At: monday, Kind: "x", Subject: newID()})
		}), domain.NotFound)
	})
}
