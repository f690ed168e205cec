package repo

import (
	"errors"
	"slices"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

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
			{"standing", academy.AssignmentFilter{Current: true}, domain.Page{Limit: 9}, []domain.ID{second, third}},
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
			same(t, "RecentOutings", outings, []progress.SessionTime{
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
