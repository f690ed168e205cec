package repo

import (
	"crypto/sha256"
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
	"fringework/domain/streak"
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
		f.write(func(a *Academy) error {
			return errors.Join(a.SaveSkill(ctx, skill), a.SaveProgramme(ctx, programme), a.AddVersion(ctx, version), a.SaveAssignment(ctx, assignment), a.SaveGroup(ctx, group))
		})
		var member academy.Member
		f.write(func(a *Academy) (err error) {
			if member, err = a.Member(ctx, f.student); err != nil {
				return err
			}
			member.Role, member.Name, member.TimeZone, member.Units = domain.Student, "Ash ⛳", "Asia/Tokyo", academy.InMetres
			member.Junior, member.ConsentAt, member.ConsentBy, member.RemovedAt, member.Revision = true, monday, f.owner, monday, 2
			return a.SaveMember(ctx, member)
		})
		f.write(func(a *Academy) error {
			return a.SaveAcademy(ctx, academy.Academy{ID: f.academy, Name: "Renamed", TimeZone: "Asia/Tokyo"})
		})
		f.read(func(a *Academy) error {
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
		s.By, s.ReceivedAt = f.coach, monday
		for i := range s.Blocks {
			s.Blocks[i].Planned = i
			s.Blocks[i].Counts = countBalls(s.Blocks[i].Balls)
		}
		stamp := s.Fingerprint()
		f.write(func(a *Academy) error { return a.SaveSession(ctx, s, stamp) })
		bare := s
		bare.Blocks = nil
		counted := s
		counted.Blocks = slices.Clone(s.Blocks)
		for i := range counted.Blocks {
			counted.Blocks[i].Balls = nil
		}
		f.read(func(a *Academy) error {
			got, err := a.Session(ctx, s.ID)
			same(t, "Session", got, s)
			stored, gotPrint, ok, storedErr := a.Stored(ctx, s.ID)
			same(t, "Stored", stored, bare)
			if gotPrint != stamp || !ok {
				t.Errorf("Stored: got stamp %x, %v, want %x", gotPrint, ok, stamp)
			}
			list, listErr := a.Sessions(ctx, practice.SessionFilter{Student: f.student, Limit: 10})
			same(t, "Sessions", list[slices.IndexFunc(list, func(x practice.Session) bool { return x.ID == s.ID })], counted)
			_, _, ok, absentErr := a.Stored(ctx, newID())
			if ok {
				t.Error("Stored of an unknown session: got one")
			}
			return errors.Join(err, storedErr, listErr, absentErr)
		})
		gone := s
		gone.Blocks, gone.Missed, gone.Revision, gone.DeletedAt, gone.EndedAt = nil, nil, 4, monday, time.Time{}
		f.write(func(a *Academy) error { return a.SaveSession(ctx, gone, [sha256.Size]byte{}) })
		f.read(func(a *Academy) error {
			got, err := a.Session(ctx, s.ID)
			same(t, "deleted Session", got, gone)
			list, listErr := a.Sessions(ctx, practice.SessionFilter{Student: f.student, Limit: 10})
			log, logErr := a.Log(ctx, f.student)
			if len(list) != 1 || len(log) != 1 {
				t.Errorf("got %d in the list and %d in the log, want the one that stands", len(list), len(log))
			}
			return errors.Join(err, listErr, logErr)
		})
		wantKind(t, "absent session", f.attempt(func(a *Academy) error { _, err := a.Session(ctx, newID()); return err }), domain.NotFound)
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
		digest := filledValue[progress.SessionSummary]()
		digest.Session, digest.Skill, digest.Tally.Sessions = f.session, f.pitch, 1
		for i := range digest.Results {
			r := &digest.Results[i]
			r.Session, r.StartedAt, r.Attained.Session = f.session, digest.StartedAt, f.session
		}
		digest.Results[1].Attained = nil
		habit := filledValue[progress.Habit]()
		habit.Student = f.student
		milestone := filledValue[progress.Milestone]()
		milestone.Student, milestone.Skill, milestone.Session = f.student, f.pitch, f.session
		k := practice.Kept{
			Digests: []progress.SessionSummary{digest}, States: []progress.State{state}, Milestones: []progress.Milestone{milestone}, Habit: habit,
			Weeks:  []practice.SkillWeek{{Skill: f.pitch, Week: someDay, Tally: filledValue[progress.Tally]()}},
			Counts: []practice.AssignmentCount{{Assignment: f.assignment, Sessions: 7}},
		}
		f.write(func(a *Academy) error {
			return errors.Join(a.SaveTrack(ctx, track), a.ReplaceKept(ctx, f.student, k))
		})
		f.read(func(a *Academy) error {
			got, err := a.Kept(ctx, f.student)
			same(t, "Kept", got, k)
			tracks, err1 := a.Tracks(ctx, f.student, []domain.ID{f.pitch, newID()})
			same(t, "Tracks", tracks, map[domain.ID]progress.Track{f.pitch: track})
			readings, err2 := a.ReadingsOf(ctx, f.session)
			same(t, "ReadingsOf", readings, map[domain.ID][]progress.TierResult{f.pitch: digest.Results})
			made, err3 := a.MilestonesOf(ctx, f.session)
			same(t, "MilestonesOf", made, k.Milestones)
			totals, err4 := a.Totals(ctx, f.student, f.pitch)
			same(t, "Totals", totals, state.Totals)
			n, err5 := a.SessionCount(ctx, f.student)
			same(t, "SessionCount", n, habit.Sessions)
			digests, err6 := a.DigestsOf(ctx, f.session)
			bare := digest
			bare.Results = nil
			same(t, "DigestsOf", digests, []progress.SessionSummary{bare})
			return errors.Join(err, err1, err2, err3, err4, err5, err6)
		})
		f.write(func(a *Academy) error {
			return a.ReplaceKept(ctx, f.student, practice.Kept{Habit: progress.Habit{Student: f.student}})
		})
		f.read(func(a *Academy) error {
			got, err := a.Kept(ctx, f.student)
			same(t, "Kept after nothing", got, practice.Kept{Habit: progress.Habit{Student: f.student}})
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
			w.write(func(a *Academy) error {
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
		w.write(func(a *Academy) error {
			return a.Record(w.ctx, domain.Event{At: monday, Kind: "academy.swept", Subject: w.academy})
		})
		w.read(func(a *Academy) error {
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
		if err := w.attempt(func(a *Academy) error {
			return a.Record(w.ctx, domain.Event{Kind: "bad", Data: map[string]any{"f": func() {}}})
		}); err == nil {
			t.Error("an event that JSON cannot write was recorded")
		}
		nowhere := &world{t: t, db: db, ctx: w.ctx, academy: newID()}
		wantKind(t, "event of no academy", nowhere.attempt(func(a *Academy) error {
			return a.Record(w.ctx, domain.Event{At: monday, Kind: "x", Subject: newID()})
		}), domain.NotFound)
	})
}

// tier of the readings below.
var twoInARow = streak.Tier{Run: 2, Radius: 5 * domain.Foot}

// readingOf makes what a session says of twoInARow: a run of so many, and a hit at
// an instant if there is one.
func readingOf(session domain.ID, started time.Time, run streak.Run, hit time.Time, judged int) progress.SessionSummary {
	r := progress.TierResult{Session: session, StartedAt: started, Day: someDay, Tier: twoInARow, Judged: judged, Best: run}
	if !hit.IsZero() {
		r.Attained = &progress.Hit{Session: session, Block: 1, Ball: 2, At: hit}
	}
	return progress.SessionSummary{Session: session, StartedAt: started, Week: someDay, Tally: progress.Tally{Sessions: 1}, Results: []progress.TierResult{r}}
}

// The reads that progress is derived from: the first hit, the last readings,
// the best run, the latest start, with ties as the domain breaks them.
func TestReadingsByIndex(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		var sessions []domain.ID
		for range 5 {
			sessions = append(sessions, newID())
		}
		hour := func(n int) time.Time { return start.Add(time.Duration(n) * time.Hour) }
		digests := []progress.SessionSummary{
			readingOf(sessions[0], hour(2), streak.Run{Length: 4, Holed: 1}, hour(9), 8),
			readingOf(sessions[1], hour(1), streak.Run{Length: 4, Holed: 2}, hour(5), 8), // same hit as the next, smaller identity
			readingOf(sessions[2], hour(1), streak.Run{Length: 3, Holed: 3}, hour(5), 8),
			readingOf(sessions[3], hour(7), streak.Run{}, time.Time{}, 0), // says nothing
			readingOf(sessions[4], hour(6), streak.Run{Length: 1}, time.Time{}, 3),
		}
		f.write(func(a *Academy) error {
			for i, d := range digests {
				d.Skill = f.chip
				s := practice.Session{ID: d.Session, Student: f.spare, StartedAt: d.StartedAt, Revision: 1}
				if err := errors.Join(a.SaveSession(ctx, s, [32]byte{}), a.ReplaceDigests(ctx, f.spare, d.Session, digests[i:i])); err != nil {
					return err
				}
				if err := a.ReplaceDigests(ctx, f.spare, d.Session, []progress.SessionSummary{d}); err != nil {
					return err
				}
			}
			return nil
		})
		other := streak.Tier{Run: 3, Radius: 5 * domain.Foot}
		f.read(func(a *Academy) error {
			made, err := a.FirstHits(ctx, f.spare, f.chip, []streak.Tier{other, twoInARow})
			want := progress.Milestone{Student: f.spare, Skill: f.chip, Tier: twoInARow, Hit: progress.Hit{Session: sessions[1], Block: 1, Ball: 2, At: hour(5)}}
			same(t, "FirstHits", made, []progress.Milestone{want})
			none, err1 := a.FirstHits(ctx, f.spare, f.chip, nil)
			same(t, "FirstHits of no tiers", none, []progress.Milestone(nil))
			recent, err2 := a.RecentReadings(ctx, f.spare, f.chip, twoInARow, 3)
			same(t, "RecentReadings", each(recent, func(r progress.TierResult) domain.ID { return r.Session }), []domain.ID{sessions[2], sessions[0], sessions[4]})
			best, err3 := a.BestRun(ctx, f.spare, f.chip, twoInARow)
			same(t, "BestRun", best, streak.Run{Length: 4, Holed: 2})
			nothing, err4 := a.BestRun(ctx, f.spare, f.chip, other)
			same(t, "BestRun of another tier", nothing, streak.Run{})
			latest, err5 := a.LatestStart(ctx, f.spare, f.chip)
			same(t, "LatestStart", latest, hour(7))
			never, err6 := a.LatestStart(ctx, f.spare, f.pitch)
			same(t, "LatestStart of another skill", never, time.Time{})
			return errors.Join(err, err1, err2, err3, err4, err5, err6)
		})
		// More tiers than one statement asks for.
		many := make([]streak.Tier, 250)
		for i := range many {
			many[i] = streak.Tier{Run: i + 2, Radius: 5 * domain.Foot}
		}
		f.read(func(a *Academy) error {
			made, err := a.FirstHits(ctx, f.spare, f.chip, append(many, twoInARow))
			if len(made) != 2 {
				t.Errorf("FirstHits of 251 tiers, one of them twice: got %d, want 2", len(made))
			}
			return err
		})
	})
}

// A practice week is kept while it has a session.
func TestWeeksComeAndGo(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		week := someDay.AddDays(-70)
		one := progress.Tally{Sessions: 1, Balls: 9, Inside: 5, Holed: 1, Seconds: 600, AttestedBalls: 3, AttestedInside: 2, AttestedHoled: 1}
		tally := func() (got progress.Tally) {
			f.read(func(a *Academy) error {
				all, err := a.WeekTallies(ctx, []domain.ID{f.student, f.spare}, []domain.Date{week, week.AddDays(7)})
				if len(all) > 1 {
					t.Errorf("got %d weeks, want one at most", len(all))
				}
				for _, x := range all {
					got = x.Tally
				}
				return err
			})
			return got
		}
		add := func(d progress.Tally) {
			f.write(func(a *Academy) error { return a.AddToWeek(ctx, f.student, f.pitch, week, d) })
		}
		add(one)
		add(one)
		same(t, "twice", tally(), one.Plus(one))
		add(progress.Tally{}.Minus(one))
		same(t, "once", tally(), one)
		add(progress.Tally{Balls: 1, Seconds: -1})
		same(t, "changed", tally(), one.Plus(progress.Tally{Balls: 1, Seconds: -1}))
		add(progress.Tally{}.Minus(tally()))
		same(t, "gone", tally(), progress.Tally{})
		wantKind(t, "taking from a week that is not", f.attempt(func(a *Academy) error {
			return a.AddToWeek(ctx, f.student, f.pitch, week, progress.Tally{Sessions: -1})
		}), domain.NotFound)
	})
}
