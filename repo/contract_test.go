package repo

import (
	"crypto/sha256"
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fringework/auth"
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
		print := s.Fingerprint()
		f.write(func(a *Academy) error { return a.SaveSession(ctx, s, print) })
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
			if gotPrint != print || !ok {
				t.Errorf("Stored: got print %x, %v, want %x", gotPrint, ok, print)
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
		digest := filledValue[progress.Digest]()
		digest.Session, digest.Skill, digest.Tally.Sessions = f.session, f.pitch, 1
		for i := range digest.Readings {
			r := &digest.Readings[i]
			r.Session, r.StartedAt, r.Attained.Session = f.session, digest.StartedAt, f.session
		}
		digest.Readings[1].Attained = nil
		habit := filledValue[progress.Habit]()
		habit.Student = f.student
		milestone := filledValue[progress.Milestone]()
		milestone.Student, milestone.Skill, milestone.Session = f.student, f.pitch, f.session
		k := practice.Kept{
			Digests: []progress.Digest{digest}, States: []progress.State{state}, Milestones: []progress.Milestone{milestone}, Habit: habit,
			Weeks:  []practice.Week{{Skill: f.pitch, Week: someDay, Tally: filledValue[progress.Tally]()}},
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
			same(t, "ReadingsOf", readings, map[domain.ID][]progress.Reading{f.pitch: digest.Readings})
			made, err3 := a.MilestonesOf(ctx, f.session)
			same(t, "MilestonesOf", made, k.Milestones)
			totals, err4 := a.Totals(ctx, f.student, f.pitch)
			same(t, "Totals", totals, state.Totals)
			n, err5 := a.SessionCount(ctx, f.student)
			same(t, "SessionCount", n, habit.Sessions)
			digests, err6 := a.DigestsOf(ctx, f.session)
			bare := digest
			bare.Readings = nil
			same(t, "DigestsOf", digests, []progress.Digest{bare})
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

func TestMembersLists(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
		ctx := w.ctx
		linked, junior, gone := w.member(domain.Student), w.member(domain.Student), w.member(domain.Student)
		guardian, second := w.member(domain.Guardian), w.member(domain.Coach)
		group := academy.Group{ID: newID(), Name: "Monday", Students: []domain.ID{linked, gone}, Revision: 1, CreatedAt: monday}
		w.auth(func(tx auth.Tx) error { return tx.Guard(ctx, w.academy, guardian, junior, monday) })
		w.write(func(a *Academy) error {
			m, err := a.Member(ctx, gone)
			m.RemovedAt, m.Revision = monday, 2
			return errors.Join(err, a.SetLink(ctx, w.coach, linked, true), a.SetLink(ctx, w.coach, linked, true), a.SetLink(ctx, w.coach, gone, true),
				a.SaveMember(ctx, m), a.SaveGroup(ctx, group))
		})
		all := []domain.ID{w.owner, w.coach, w.student, linked, junior, guardian, second}
		for _, c := range []struct {
			what string
			f    academy.MemberFilter
			want []domain.ID
		}{
			{"everybody", academy.MemberFilter{}, all},
			{"with those who left", academy.MemberFilter{Removed: true}, append(slices.Clone(all), gone)},
			{"students", academy.MemberFilter{Role: domain.Student}, []domain.ID{w.student, linked, junior}},
			{"owners", academy.MemberFilter{Role: domain.Owner}, []domain.ID{w.owner}},
			{"a group", academy.MemberFilter{Group: group.ID}, []domain.ID{linked}},
			{"a group with those who left", academy.MemberFilter{Group: group.ID, Removed: true}, []domain.ID{linked, gone}},
			{"as a coach", academy.MemberFilter{VisibleTo: w.coach}, []domain.ID{w.owner, w.coach, w.student, linked, second}},
			{"a coach's students", academy.MemberFilter{VisibleTo: w.coach, Role: domain.Student}, []domain.ID{w.student, linked}},
			{"as a coach without students", academy.MemberFilter{VisibleTo: second, Role: domain.Student}, nil},
			{"as a guardian", academy.MemberFilter{VisibleTo: guardian}, []domain.ID{junior, guardian}},
			{"as a student", academy.MemberFilter{VisibleTo: linked}, []domain.ID{linked}},
			{"as nobody", academy.MemberFilter{VisibleTo: newID()}, nil},
			{"a group that is not", academy.MemberFilter{Group: newID()}, nil},
		} {
			slices.Sort(c.want)
			w.read(func(a *Academy) error {
				var got []domain.ID
				for page := (domain.Page{Limit: 2}); ; page.After = got[len(got)-1] {
					ms, err := a.Members(ctx, c.f, page)
					if err != nil {
						return err
					}
					for _, m := range ms {
						got = append(got, m.ID)
					}
					if len(ms) < page.Limit {
						break
					}
				}
				same(t, c.what, got, c.want)
				return nil
			})
		}
		w.write(func(a *Academy) error {
			coaches, err := a.CoachesOf(ctx, linked)
			same(t, "CoachesOf", coaches, []domain.ID{w.coach})
			for _, c := range []struct {
				member, student domain.ID
				want            bool
			}{{w.coach, linked, true}, {guardian, junior, true}, {second, linked, false}, {linked, w.coach, false}} {
				if got, workErr := a.WorksWith(ctx, c.member, c.student); got != c.want || workErr != nil {
					t.Errorf("WorksWith(%s, %s): got %v and error %v, want %v", c.member, c.student, got, workErr, c.want)
				}
			}
			return errors.Join(err, a.SetLink(ctx, w.coach, linked, false), a.SetLink(ctx, w.coach, linked, false))
		})
		w.read(func(a *Academy) error {
			coaches, err := a.CoachesOf(ctx, linked)
			same(t, "CoachesOf after unlinking", coaches, []domain.ID(nil))
			return err
		})
	})
}

func TestGroupsAndInvitationsIntoThem(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
		ctx := w.ctx
		group := academy.Group{ID: newID(), Name: "Monday", Students: []domain.ID{w.student}, Revision: 1, CreatedAt: monday}
		other := academy.Group{ID: newID(), Name: "Tuesday", Revision: 1, CreatedAt: monday}
		w.write(func(a *Academy) error { return errors.Join(a.SaveGroup(ctx, group), a.SaveGroup(ctx, other)) })
		invitation := auth.Invitation{ID: newID(), Role: domain.Student, By: w.owner, Group: group.ID, Code: auth.DigestOf("code"), Created: monday, Expires: monday.Add(time.Hour)}
		w.auth(func(tx auth.Tx) error { return tx.AddInvitation(ctx, w.academy, invitation) })
		joined := w.member(domain.Student)
		w.auth(func(tx auth.Tx) error { return tx.Join(ctx, w.academy, group.ID, joined, monday) })
		w.read(func(a *Academy) error {
			got, err := a.Groups(ctx, domain.Page{Limit: 10})
			want := group
			want.Students = []domain.ID{w.student, joined}
			want.Revision = 2 // who changes the group now learns that somebody joined
			same(t, "Groups", got, []academy.Group{want, other})
			return err
		})
		w.write(func(a *Academy) error { return a.DeleteGroup(ctx, group.ID) })
		w.auth(func(tx auth.Tx) error {
			got, err := tx.Invitation(ctx, w.academy, invitation.ID)
			if got.Group != "" {
				t.Errorf("an invitation leads into a group that is gone: %s", got.Group)
			}
			return err
		})
		wantKind(t, "deleted group", w.attempt(func(a *Academy) error { _, err := a.Group(ctx, group.ID); return err }), domain.NotFound)
		wantKind(t, "deleting it again", w.attempt(func(a *Academy) error { return a.DeleteGroup(ctx, group.ID) }), domain.NotFound)
	})
}

func TestCurriculumLists(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		draft := must[curriculum.Programme](t)(f.curriculum(monday).Clone(ctx, f.asOwner(), f.programme, "Second")).Draft
		draft.Weeks[0].Title = "Changed"
		must[curriculum.Programme](t)(f.curriculum(monday).SaveDraft(ctx, f.asOwner(), f.programme, 0, draft))
		must[curriculum.Version](t)(f.curriculum(monday).Publish(ctx, f.asOwner(), f.programme, 0))
		must[curriculum.Skill](t)(f.curriculum(monday).ArchiveSkill(ctx, f.asOwner(), f.chip, true))
		must[curriculum.Programme](t)(f.curriculum(monday).ArchiveProgramme(ctx, f.asOwner(), f.programme, true))
		f.read(func(a *Academy) error {
			skills, err := a.Skills(ctx, domain.Page{Limit: 10}, false)
			if len(skills) != 1 || skills[0].ID != f.pitch {
				t.Errorf("skills in use: got %v, want the pitch", skills)
			}
			skills, err1 := a.Skills(ctx, domain.Page{Limit: 10, After: f.pitch}, true)
			if len(skills) != 1 || skills[0].ID != f.chip {
				t.Errorf("all skills after the pitch: got %v, want the chip", skills)
			}
			ps, err2 := a.Programmes(ctx, domain.Page{Limit: 10}, true)
			if len(ps) != 2 || len(ps[0].Draft.Weeks) != 0 || ps[0].Draft.Name != "Second" || ps[0].Published != 2 {
				t.Errorf("programmes: got %+v, want two without weeks", ps)
			}
			ps, err3 := a.Programmes(ctx, domain.Page{Limit: 10}, false)
			if len(ps) != 1 || ps[0].ID == f.programme {
				t.Errorf("programmes in use: got %v, want the clone", ps)
			}
			vs, err4 := a.Versions(ctx, f.programme)
			if len(vs) != 2 || vs[0].Number != 2 || vs[1].Number != 1 || vs[0].PublishedBy != f.owner || len(vs[0].Skills) != 0 {
				t.Errorf("versions: got %+v, want 2 and 1 without content", vs)
			}
			pinned, err5 := a.VersionsOf(ctx, []academy.Assignment{{Programme: f.programme, Version: 1}, {Programme: f.programme, Version: 1}, {Programme: newID(), Version: 2}})
			if v := pinned[academy.VersionKey{Programme: f.programme, Number: 1}]; len(pinned) != 1 || v.Content.Weeks[0].Title != "First" {
				t.Errorf("pinned versions: got %+v, want version 1 alone", pinned)
			}
			none, err6 := a.VersionsOf(ctx, nil)
			if len(none) != 0 {
				t.Errorf("no assignment pins %v", none)
			}
			return errors.Join(err, err1, err2, err3, err4, err5, err6)
		})
		wantKind(t, "absent version", f.attempt(func(a *Academy) error { _, err := a.Version(ctx, f.programme, 3); return err }), domain.NotFound)
		wantKind(t, "absent programme", f.attempt(func(a *Academy) error { _, err := a.Programme(ctx, newID()); return err }), domain.NotFound)
	})
}

func TestAssignmentsLists(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		ctx := f.ctx
		second := f.assign(f.spare, 1)
		must[academy.Assignment](t)(f.people(monday).End(ctx, f.asOwner(), f.assignment, 0))
		third := f.assign(f.student, 1) // once the first has ended
		for _, c := range []struct {
			what string
			f    academy.AssignmentFilter
			page domain.Page
			want []domain.ID
		}{
			{"all", academy.AssignmentFilter{}, domain.Page{Limit: 9}, []domain.ID{f.assignment, second, third}},
			{"a page", academy.AssignmentFilter{}, domain.Page{Limit: 1, After: f.assignment}, []domain.ID{second}},
			{"a student's", academy.AssignmentFilter{Student: f.student}, domain.Page{Limit: 9}, []domain.ID{f.assignment, third}},
			{"standing", academy.AssignmentFilter{Standing: true}, domain.Page{Limit: 9}, []domain.ID{second, third}},
			{"a coach's", academy.AssignmentFilter{VisibleTo: f.coach}, domain.Page{Limit: 9}, []domain.ID{f.assignment, third}},
			{"a student's own", academy.AssignmentFilter{VisibleTo: f.spare}, domain.Page{Limit: 9}, []domain.ID{second}},
			{"of a programme", academy.AssignmentFilter{Programme: f.programme}, domain.Page{Limit: 9}, []domain.ID{f.assignment, second, third}},
			{"of none", academy.AssignmentFilter{Programme: newID()}, domain.Page{Limit: 9}, nil},
		} {
			f.read(func(a *Academy) error {
				got, err := a.Assignments(ctx, c.f, c.page)
				same(t, c.what, each(got, func(as academy.Assignment) domain.ID { return as.ID }), c.want)
				return err
			})
		}
		f.read(func(a *Academy) error {
			got, err := a.AssignmentsOf(ctx, []domain.ID{f.student, f.spare})
			same(t, "AssignmentsOf", each(got, func(as academy.Assignment) domain.ID { return as.ID }), []domain.ID{second, third})
			done, doneErr := a.DoneInWeek(ctx, f.assignment, 1)
			same(t, "DoneInWeek", done, map[int]int{1: 1})
			none, noneErr := a.DoneInWeek(ctx, f.assignment, 2)
			same(t, "DoneInWeek of another", none, map[int]int{})
			as, asErr := a.Assignment(ctx, f.assignment)
			same(t, "Sessions", as.Sessions, 1) // not lost when the assignment was saved
			return errors.Join(err, doneErr, noneErr, asErr)
		})
	})
}

// tier of the readings below.
var twoInARow = streak.Tier{Run: 2, Radius: 5 * domain.Foot}

// read makes what a session says of twoInARow: a run of so many, and a hit at
// an instant if there is one.
func readingOf(session domain.ID, started time.Time, run streak.Run, hit time.Time, judged int) progress.Digest {
	r := progress.Reading{Session: session, StartedAt: started, Day: someDay, Tier: twoInARow, Judged: judged, Best: run}
	if !hit.IsZero() {
		r.Attained = &progress.Hit{Session: session, Block: 1, Ball: 2, At: hit}
	}
	return progress.Digest{Session: session, StartedAt: started, Week: someDay, Tally: progress.Tally{Sessions: 1}, Readings: []progress.Reading{r}}
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
		digests := []progress.Digest{
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
				if err := a.ReplaceDigests(ctx, f.spare, d.Session, []progress.Digest{d}); err != nil {
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
			same(t, "RecentReadings", each(recent, func(r progress.Reading) domain.ID { return r.Session }), []domain.ID{sessions[2], sessions[0], sessions[4]})
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

func TestSessionLists(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
		ctx := w.ctx
		var ids []domain.ID // oldest first; the middle three share a start
		for i, hour := range []int{0, 1, 1, 1, 2} {
			s := practice.Session{ID: newID(), Student: w.student, StartedAt: start.Add(time.Duration(hour) * time.Hour), Revision: 1}
			ids = append(ids, s.ID)
			if i == 4 {
				s.Missed = []progress.KindTime{{Kind: "test", Planned: 60}}
			}
			w.write(func(a *Academy) error { return a.SaveSession(ctx, s, [32]byte{}) })
		}
		newest := slices.Clone(ids)
		slices.Reverse(newest)
		list := func(f practice.SessionFilter) (got []domain.ID) {
			f.Student = w.student
			w.read(func(a *Academy) error {
				all, err := a.Sessions(ctx, f)
				got = each(all, func(s practice.Session) domain.ID { return s.ID })
				return err
			})
			return got
		}
		var walked []domain.ID
		for f := (practice.SessionFilter{Limit: 2}); ; {
			page := list(f)
			walked = append(walked, page...)
			if len(page) < f.Limit {
				break
			}
			f.BeforeID = page[len(page)-1]
			f.Before = start.Add(time.Duration([]int{0, 1, 1, 1, 2}[slices.Index(ids, f.BeforeID)]) * time.Hour)
		}
		same(t, "walking the pages", walked, newest)
		same(t, "from", list(practice.SessionFilter{From: start.Add(time.Hour), Limit: 9}), newest[:4])
		same(t, "until", list(practice.SessionFilter{Until: start.Add(time.Hour), Limit: 9}), newest[4:])
		same(t, "before all at an instant", list(practice.SessionFilter{Before: start.Add(time.Hour), Limit: 9}), newest[4:])
		w.read(func(a *Academy) error {
			outings, err := a.RecentOutings(ctx, w.student, 2)
			same(t, "RecentOutings", outings, []progress.Outing{
				{Session: ids[3], StartedAt: start.Add(time.Hour)},
				{Session: ids[4], StartedAt: start.Add(2 * time.Hour), Times: []progress.KindTime{{Kind: "test", Planned: 60}}},
			})
			return err
		})
	})
}

// Sessions overlap when their times, from the start included to the end
// excluded, have something in common.
func TestOverlapping(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
		skill := w.newSkill("Lob", curriculum.Lob, streak.Ladder{Tiers: []streak.Tier{{Run: 3, Radius: domain.Metre}}})
		minutes := func(n int) time.Time { return start.Add(time.Duration(n) * time.Minute) }
		session := func(from, until int) practice.Session {
			return practice.Session{ID: newID(), Student: w.student, StartedAt: minutes(from), EndedAt: minutes(until), Revision: 1}
		}
		going := func(from, seconds int) practice.Session {
			s := session(from, from)
			s.EndedAt = time.Time{}
			s.Blocks = []practice.Block{{Kind: curriculum.Test, Skill: skill, Radius: domain.Metre, Seconds: seconds / 2}, {Kind: curriculum.Test, Skill: skill, Radius: domain.Metre, Seconds: seconds - seconds/2}}
			return s
		}
		kept := map[string]practice.Session{
			"hour": session(0, 60), "after it": session(60, 90), "going": going(100, 600), "empty": session(30, 30),
			"longest": session(24*60, 40*60), "endless": going(200*60, 999_999),
		}
		deleted := session(0, 60)
		deleted.DeletedAt = monday
		other := session(0, 60)
		other.Student = w.member(domain.Student)
		w.write(func(a *Academy) error {
			errs := []error{a.SaveSession(w.ctx, deleted, [32]byte{}), a.SaveSession(w.ctx, other, [32]byte{})}
			for _, s := range kept {
				errs = append(errs, a.SaveSession(w.ctx, s, [32]byte{}))
			}
			return errors.Join(errs...)
		})
		for _, c := range []struct {
			what string
			s    practice.Session
			want []string
		}{
			{"inside", session(10, 20), []string{"hour"}},
			{"around both", session(-10, 120), []string{"hour", "after it", "going"}},
			{"touching", session(90, 100), nil},
			{"over the seam", session(59, 61), []string{"hour", "after it"}},
			{"a moment", session(30, 30), nil},
			{"in the last minute of what goes on", session(109, 120), []string{"going"}},
			{"when its time is up", session(110, 120), nil},
			{"going on itself", going(-1, 120), []string{"hour"}},
			{"going on, over before", going(-2, 120), nil},
			{"end of the longest", session(40*60-1, 41*60), []string{"longest"}},
			{"after the longest", session(40*60, 41*60), nil},
			{"an endless one lasts sixteen hours", session(216*60-1, 217*60), []string{"endless"}},
			{"and no more", session(216*60, 217*60), nil},
			{"the session itself", kept["hour"], nil},
		} {
			w.read(func(a *Academy) error {
				got, err := a.Overlapping(w.ctx, c.s)
				want := each(c.want, func(name string) domain.ID { return kept[name].ID })
				same(t, c.what, each(got, func(s practice.Session) domain.ID { return s.ID }), want)
				return err
			})
		}
	})
}

func TestCommentsInOrder(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		second := practice.Comment{ID: newID(), Session: f.session, Author: f.student, Text: "Thanks ⛳", At: monday}
		f.write(func(a *Academy) error { return a.AddComment(f.ctx, second) })
		f.read(func(a *Academy) error {
			got, err := a.Comments(f.ctx, f.session)
			same(t, "Comments", got, []practice.Comment{{ID: f.comment, Session: f.session, Author: f.owner, Text: "Well struck.", At: monday}, second})
			return err
		})
		wantKind(t, "comment on nothing", f.attempt(func(a *Academy) error {
			return a.AddComment(f.ctx, practice.Comment{ID: newID(), Session: newID(), Text: "?", At: monday})
		}), domain.NotFound)
	})
}

// Everybody who ever was a student is rebuilt.
func TestStudentIDs(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		f.write(func(a *Academy) error { // the student became a coach
			m, err := a.Member(f.ctx, f.student)
			m.Role, m.Revision = domain.Coach, m.Revision+1
			return errors.Join(err, a.SaveMember(f.ctx, m))
		})
		f.read(func(a *Academy) error {
			got, err := a.StudentIDs(f.ctx)
			same(t, "StudentIDs", got, []domain.ID{f.student, f.spare})
			return err
		})
	})
}
