package domaintest

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// open opens a session as if to store a revision of it, and leaves it at that.
func (e *exam) open(q practice.Opening) (o practice.Opened) {
	e.Helper()
	write(e, e.s.Practice, func(tx practice.Store) (err error) {
		o, err = tx.Open(e.ctx, q)
		return err
	})
	return o
}

func (e *exam) save(c practice.Change) {
	e.Helper()
	write(e, e.s.Practice, func(tx practice.Store) error { return tx.Save(e.ctx, c) })
}

// counted fills in what is counted when a session is stored.
func counted(s practice.Session) practice.Session {
	s.Blocks = slices.Clone(s.Blocks)
	for i := range s.Blocks {
		s.Blocks[i].Counts = practice.CountBalls(s.Blocks[i].Balls)
	}
	return s
}

// sessions: a session comes back as each revision of it was saved: new, grown,
// edited, deleted and back again.
func (e *exam) sessions() {
	s := e.Planned(examID(), 1, 3)
	s.By, s.ReceivedAt, s.Missed = e.Coach, examNow, []progress.KindTime{{Kind: "warmup", Planned: 600, Spent: 1}}
	for i := range s.Blocks {
		s.Blocks[i].Planned = 10 * i
	}
	check := func(what string, s practice.Session, c practice.Change) {
		e.Helper()
		c.Session = counted(s)
		e.save(c)
		want := counted(s)
		e.same(what, get(e, e.s.Sessions, func(tx practice.ReadStore) (practice.Session, error) { return tx.Session(e.ctx, s.ID) }), want)
		o := e.open(practice.Opening{Session: s.ID, Student: e.Student})
		e.same(what+" opened", o.Before, want)
		if !o.Known || o.Fingerprint != c.Fingerprint {
			e.Errorf("%s: opened as known %v with the stamp %x, want %x", what, o.Known, o.Fingerprint, c.Fingerprint)
		}
		list := get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Session, error) {
			return tx.Sessions(e.ctx, practice.SessionFilter{Student: e.Student, Limit: 9})
		})
		log := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) ([]practice.Session, error) { return tx.Log(e.ctx, e.Student) })
		whole := get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Session, error) {
			return tx.Sessions(e.ctx, practice.SessionFilter{Student: e.Student, Limit: 9, Balls: true})
		})
		slices.SortFunc(log, func(a, b practice.Session) int { // which comes in any order
			return cmp.Or(b.StartedAt.Compare(a.StartedAt), cmp.Compare(b.ID, a.ID))
		})
		e.same(what+" listed with the balls", whole, log)
		kept := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (practice.Kept, error) { return tx.Kept(e.ctx, e.Student) })
		e.same(what+" among those that count", slices.Contains(kept.Counting, s.ID), s.Counts())
		is := func(x practice.Session) bool { return x.ID == s.ID }
		at, logged := slices.IndexFunc(list, is), slices.IndexFunc(log, is)
		if (at < 0) != s.Deleted() || (logged < 0) != s.Deleted() {
			e.Fatalf("%s: at %d of the list and %d of the log", what, at, logged)
		}
		if s.Deleted() {
			return
		}
		e.same(what+" in the log", log[logged], want)
		for i := range want.Blocks {
			want.Blocks[i].Balls = nil
		}
		e.same(what+" in the list", list[at], want)
	}
	stamp := func(n byte) practice.Change {
		return practice.Change{Fingerprint: [sha256.Size]byte{n, 255}, Known: n > 1, Habit: progress.Habit{Student: e.Student}}
	}
	check("new", s, stamp(1))

	grown := s
	grown.Revision, grown.Blocks = 2, slices.Clone(s.Blocks)
	grown.Blocks[2].Balls = append(slices.Clone(s.Blocks[2].Balls), practice.Ball{Outcome: streak.Holed, After: 40 * time.Minute})
	grown.Blocks = append(grown.Blocks, practice.Block{Kind: curriculum.Stations, Skill: e.Chip, Radius: domain.Metre, Seconds: 60})
	check("grown", grown, stamp(2))

	grown.Revision = 3 // by nothing but an end
	grown.EndedAt = grown.EndedAt.Add(time.Minute)
	check("ended", grown, stamp(3))

	edited := grown
	edited.Revision, edited.Note, edited.Missed, edited.Assignment, edited.Week, edited.Plan, edited.Version = 4, "", nil, "", 0, 0, 0
	edited.StartedAt, edited.EndedAt, edited.TimeZone = examStart.AddDate(0, -1, 0), time.Time{}, "Asia/Tokyo"
	edited.Blocks = grown.Blocks[1:2]
	check("edited", edited, stamp(4))

	gone := edited
	gone.Revision, gone.Blocks, gone.DeletedAt, gone.By = 9, nil, examNow, ""
	check("deleted", gone, stamp(9))

	back := grown
	back.Revision = 10
	check("back again", back, stamp(10))

	opened := back // and left: two balls
	opened.Revision, opened.Blocks = 11, back.Blocks[1:2]
	check("with too little to count", opened, stamp(11))
}

// staleSessions: of two who store a session at once, the second must look again.
func (e *exam) staleSessions() {
	s := e.Planned(examID(), 2, 3)
	e.save(practice.Change{Session: counted(s), Fingerprint: s.Fingerprint(), Habit: progress.Habit{Student: e.Student}})
	try := func(what string, revision int, student domain.ID, known bool) {
		next := counted(s)
		next.Revision, next.Student = revision, student
		if student != e.Student {
			next.Assignment, next.Week, next.Plan, next.Version = "", 0, 0, 0
		}
		refuse(e, what, e.s.Practice, domain.Stale, func(tx practice.Store) error {
			return tx.Save(e.ctx, practice.Change{Session: next, Known: known, Habit: progress.Habit{Student: student}})
		})
	}
	try("taken for new", 3, e.Student, false)
	try("the same revision", 2, e.Student, true)
	try("an earlier revision", 1, e.Student, true)
	try("another student's", 3, e.Spare, true)
	e.same("what stands", get(e, e.s.Sessions, func(tx practice.ReadStore) (practice.Session, error) { return tx.Session(e.ctx, s.ID) }), counted(s))
}

// opening gives all that a revision depends on.
func (e *exam) opening() {
	o := e.open(e.openingOf())
	student := get(e, e.s.Sessions, func(tx practice.ReadStore) (academy.Member, error) { return tx.Member(e.ctx, e.Student) })
	o.Student.Email, student.Email = "", "" // which nobody asks for
	e.same("the student", o.Student, student)
	e.same("the assignment", [4]any{o.Assignment.ID, o.Assignment.Student, o.Assignment.Programme, o.Assignment.Version}, [4]any{e.Assignment, e.Student, e.Programme, 1})
	e.same("the version", o.Version, get(e, e.s.Assignments, func(tx academy.AssignmentStore) (curriculum.Version, error) { return tx.Version(e.ctx, e.Programme, 1) }))
	kept := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (practice.Kept, error) { return tx.Kept(e.ctx, e.Student) })
	e.same("the habit", o.Habit, kept.Habit)
	tracks := get(e, e.s.Sessions, func(tx practice.ReadStore) (map[domain.ID]progress.Track, error) {
		return tx.Tracks(e.ctx, e.Student, []domain.ID{e.Pitch, e.Chip, examID()})
	})
	want := map[domain.ID]progress.Record{}
	for _, skill := range []domain.ID{e.Pitch, e.Chip} {
		r := progress.Record{Track: tracks[skill], Whole: true}
		r.Track.Student, r.Track.Skill = e.Student, skill
		for _, s := range kept.States {
			if s.Skill == skill {
				r.State = s
			}
		}
		for _, p := range kept.Periods {
			if p.Skill == skill {
				r.Periods = append(r.Periods, p)
			}
		}
		want[skill] = r
	}
	e.same("the records", o.Records, want)
	q := e.openingOf()
	q.Skills = []domain.ID{examID()}
	e.same("records of what was stored, and of no skill that is not", o.Records, e.open(q).Records)

	for what, c := range map[string]struct {
		asker domain.ID
		want  bool
	}{"coach": {e.Coach, true}, "guardian": {e.Guardian, true}, "owner": {e.Owner, false}, "software": {"", false}, "student": {e.Student, false}} {
		q := e.openingOf()
		q.Asker = c.asker
		e.same("linked to the "+what, e.open(q).Linked, c.want)
	}
	q = e.openingOf()
	q.Version = 0
	e.same("the version pinned", e.open(q).Version.Number, 1)
	q.Version = 8
	e.same("a version never published", e.open(q).Version, curriculum.Version{})
	q.Assignment = examID()
	o = e.open(q)
	e.same("no assignment", [2]any{o.Assignment.ID, o.Version.Number}, [2]any{domain.ID(""), 0})

	whose := e.open(practice.Opening{Session: e.Session, Asker: e.Coach})
	if !whose.Known || whose.Before.Student != e.Student || whose.Student.ID != e.Student || !whose.Linked || len(whose.Records) != 2 {
		e.Errorf("opened without a student: %+v", whose)
	}
	nobodys := e.open(practice.Opening{Session: examID(), Asker: e.Coach})
	if nobodys.Known || nobodys.Student.ID != "" || nobodys.Linked {
		e.Errorf("a session that is not, of nobody, was opened as %+v", nobodys)
	}
	nobody := e.open(practice.Opening{Session: examID(), Student: examID(), Skills: []domain.ID{e.Pitch}})
	if nobody.Student.ID != "" || nobody.Known || nobody.Habit.Sessions != 0 {
		e.Errorf("opened for nobody: %+v", nobody)
	}
	fresh := e.open(practice.Opening{Session: examID(), Student: e.Spare, Skills: []domain.ID{e.Pitch}, Start: examStart, End: examStart.Add(time.Hour)})
	if fresh.Known || fresh.Student.ID != e.Spare || fresh.Habit.Sessions != 0 || len(fresh.Overlapping) != 0 {
		e.Errorf("opened for a student without anything: %+v", fresh)
	}
	e.same("a record of nothing", fresh.Records, map[domain.ID]progress.Record{e.Pitch: {Track: progress.Track{Student: e.Spare, Skill: e.Pitch}, Whole: true}})
}

// anothersSession: a session of another student is opened as theirs.
func (e *exam) anothersSession() {
	q := e.openingOf()
	q.Student, q.Assignment = e.Spare, ""
	o := e.open(q)
	if !o.Known || o.Before.Student != e.Student || o.Student.ID != e.Spare || o.Linked || o.Habit.Sessions != 0 {
		e.Errorf("opened for another student: %+v", o)
	}
	for skill, r := range o.Records {
		if r.Track.Student != e.Spare || len(r.Periods) != 0 || r.State.Totals.Sessions != 0 {
			e.Errorf("record at %s for another student: %+v", skill, r)
		}
	}
}

// sessionLists: pages, bounds and ties, the latest first; the recent ones as
// time, oldest first.
func (e *exam) sessionLists() {
	student := e.Join(e, domain.Student)
	hours := []int{0, 1, 1, 1, 2} // the middle three share a start
	var ids []domain.ID
	for i, hour := range hours {
		s := practice.Session{ID: examID(), Student: student, StartedAt: examStart.Add(time.Duration(hour) * time.Hour), Revision: 1}
		if i == 4 {
			s.Missed, s.EndedAt = []progress.KindTime{{Kind: "test", Planned: 60}}, s.StartedAt
			s.Blocks = []practice.Block{{Kind: curriculum.Random, Skill: e.Chip, Radius: domain.Metre, Seconds: 120}}
			for n := range 4 {
				s.Blocks[0].Balls = append(s.Blocks[0].Balls, practice.Ball{Outcome: streak.Out, After: time.Duration(20+30*n) * time.Second})
			}
		}
		ids = append(ids, s.ID)
		e.save(bare(s))
	}
	newest := slices.Clone(ids)
	slices.Reverse(newest)
	list := func(f practice.SessionFilter) []domain.ID {
		f.Student = student
		got := get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Session, error) { return tx.Sessions(e.ctx, f) })
		return idsOf(got, func(s practice.Session) domain.ID { return s.ID })
	}
	var walked []domain.ID
	for f := (practice.SessionFilter{Limit: 2}); ; {
		page := list(f)
		walked = append(walked, page...)
		if len(page) < f.Limit {
			break
		}
		f.BeforeID = page[len(page)-1]
		f.Before = examStart.Add(time.Duration(hours[slices.Index(ids, f.BeforeID)]) * time.Hour)
	}
	e.same("walking the pages", walked, newest)
	e.same("from", list(practice.SessionFilter{From: examStart.Add(time.Hour), Limit: 9}), newest[:4])
	e.same("until", list(practice.SessionFilter{Until: examStart.Add(time.Hour), Limit: 9}), newest[4:])
	e.same("before all at an instant", list(practice.SessionFilter{Before: examStart.Add(time.Hour), Limit: 9}), newest[4:])
	times := func(except domain.ID, limit int) []progress.SessionTime {
		return get(e, e.s.Practice, func(tx practice.Store) ([]progress.SessionTime, error) {
			return tx.RecentTimes(e.ctx, student, except, limit)
		})
	}
	last := progress.SessionTime{
		Session: ids[4], StartedAt: examStart.Add(2 * time.Hour), Times: []progress.KindTime{{Kind: "random", Spent: 120}, {Kind: "test", Planned: 60}},
		Paces: []progress.KindPace{{Kind: "random", Balls: 3, Seconds: 90}},
	}
	e.same("RecentTimes", times(examID(), 2), []progress.SessionTime{{Session: ids[3], StartedAt: examStart.Add(time.Hour)}, last})
	e.same("RecentTimes but for one", times(ids[3], 2), []progress.SessionTime{{Session: ids[2], StartedAt: examStart.Add(time.Hour)}, last})
	e.same("all RecentTimes", len(times("", 99)), 5)
}

// overlapping: sessions overlap when their times, from the start included to the
// end excluded, have something in common.
func (e *exam) overlapping() {
	student := e.Join(e, domain.Student)
	minutes := func(n int) time.Time { return examStart.Add(time.Duration(n) * time.Minute) }
	session := func(from, until int) practice.Session {
		return practice.Session{ID: examID(), Student: student, StartedAt: minutes(from), EndedAt: minutes(until), Revision: 1}
	}
	going := func(from, seconds int) practice.Session {
		s := session(from, from)
		s.EndedAt = time.Time{}
		b := practice.Block{Kind: curriculum.Test, Skill: e.Chip, Radius: domain.Metre, Seconds: seconds / 2}
		s.Blocks = []practice.Block{b, b}
		s.Blocks[1].Seconds = seconds - seconds/2
		return s
	}
	kept := map[string]practice.Session{
		"hour": session(0, 60), "after it": session(60, 90), "going": going(100, 600), "empty": session(30, 30),
		"longest": session(24*60, 40*60), "endless": going(200*60, 999_999),
	}
	deleted := session(0, 60)
	deleted.DeletedAt = examNow
	e.save(bare(deleted))
	for _, s := range kept {
		e.save(bare(s))
	}
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
		var want []domain.ID
		for _, name := range c.want {
			want = append(want, kept[name].ID)
		}
		id := func(s practice.Session) domain.ID { return s.ID }
		got := get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Session, error) { return tx.Overlapping(e.ctx, c.s) })
		e.same(c.what, idsOf(got, id), want)
		o := e.open(practice.Opening{Session: c.s.ID, Student: student, Start: c.s.StartedAt, End: c.s.Until()})
		e.same(c.what+", opened", o.Overlapping, got)
		for _, s := range got {
			e.same(c.what+": blocks", len(s.Blocks), 0)
		}
	}
}

// periodsOf makes a record of one tier out of sessions, so many days after the
// first; said tells which of them say something about the tier.
func (e *exam) record(days []int, said func(i int) bool) progress.Record {
	t := progress.Track{Student: e.Spare, Skill: e.Pitch}
	t, _ = t.Assigned(streak.Ladder{Tiers: pitchTiers.Tiers[:1]}, examNow)
	var summaries []progress.SessionSummary
	for i, day := range days {
		at := examStart.AddDate(-5, 0, day)
		r := progress.TierResult{Session: examID(), StartedAt: at, Day: domain.DateOf(at, time.UTC), Tier: pitchTiers.Tiers[0]}
		if said(i) {
			r.Judged, r.Inside, r.Best = 20, 3+i%9, streak.Run{Length: 1 + i%3}
		}
		summaries = append(summaries, progress.SessionSummary{
			Session: r.Session, StartedAt: at, Week: r.Day.Monday(), Skill: e.Pitch, Tally: progress.Tally{Sessions: 1, Balls: r.Judged, Inside: r.Inside},
			Results: []progress.TierResult{r},
		})
	}
	return progress.Recompute(t, summaries)
}

// periods: an opening gives at least the latest ones, those that were asked for
// and those that the session was in, and tells whether they are all.
func (e *exam) periods() {
	every := func(n, step int) []int {
		days := make([]int, n)
		for i := range days {
			days[i] = i * step
		}
		return days
	}
	always, seldom := func(int) bool { return true }, func(i int) bool { return i%4 == 0 }
	for what, r := range map[string]progress.Record{
		"none": e.record(nil, always), "one": e.record([]int{3}, always), "a few": e.record(every(5, 9), always),
		"two years, often": e.record(every(250, 3), always), "years, seldom": e.record(every(60, 25), always),
		"years that say little": e.record(every(400, 4), seldom), "nothing said": e.record(every(90, 11), func(int) bool { return false }),
		"all in one": e.record(every(70, 0), always), "full by a hair": e.record(every(estimate.Window+1, 30), always), "one more": e.record(every(estimate.Window+2, 30), always),
	} {
		write(e, e.s.Assignments, func(tx academy.AssignmentStore) error { return tx.ReplaceRecord(e.ctx, r) })
		all := get(e, e.s.Practice, func(tx practice.Store) ([]progress.Period, error) { return tx.Periods(e.ctx, e.Spare, e.Pitch) })
		e.same(what+": Periods", all, r.Periods)
		for _, start := range []time.Time{examStart, examStart.AddDate(-5, 0, 0), examStart.AddDate(-4, -6, 0), examStart.AddDate(-20, 0, 0)} {
			q := practice.Opening{Session: examID(), Student: e.Spare, Skills: []domain.ID{e.Pitch}, Start: start, End: start.Add(time.Hour)}
			got := e.open(q).Records[e.Pitch]
			e.same(what+": track", got.Track, r.Track)
			e.same(what+": state", got.State, r.State)
			want, _ := progress.Latest(r.Periods, progress.PeriodOf(start))
			e.holds(what+" opened", got, r.Periods, want)
		}
		for _, ask := range []struct{ sessions, since int }{{1, 1 << 20}, {estimate.Window, 1 << 20}, {estimate.Window, progress.PeriodOf(examStart.AddDate(-5, 5, 0))}, {1, 0}} {
			got := get(e, e.s.Reading, func(tx academy.ReadStore) (progress.Record, error) {
				return tx.SkillRecord(e.ctx, e.Spare, e.Pitch, ask.sessions, ask.since)
			})
			said, want := 0, []progress.Period(nil)
			for _, p := range slices.Backward(r.Periods) {
				if said < ask.sessions || p.Number >= ask.since {
					want = append(want, p)
				}
				said += p.Said()
			}
			slices.Reverse(want)
			e.same(what+": track read", got.Track, r.Track)
			e.holds(fmt.Sprintf("%s read, %d sessions since %d", what, ask.sessions, ask.since), got, r.Periods, want)
		}
	}

	// A session is opened with the period that it was in until now.
	r := e.record(every(250, 3), always)
	write(e, e.s.Assignments, func(tx academy.AssignmentStore) error { return tx.ReplaceRecord(e.ctx, r) })
	first := r.Periods[0].Sessions[0]
	s := practice.Session{ID: first.Session, Student: e.Spare, StartedAt: first.StartedAt, EndedAt: first.StartedAt.Add(time.Hour), Revision: 1,
		Blocks: []practice.Block{{Kind: curriculum.Test, Skill: e.Pitch, Radius: examRadius, Seconds: 60}}}
	e.save(bare(s))
	got := e.open(practice.Opening{Session: s.ID, Student: e.Spare, Start: examStart, End: examStart.Add(time.Hour)}).Records[e.Pitch]
	want, _ := progress.Latest(r.Periods, progress.PeriodOf(s.StartedAt), progress.PeriodOf(examStart))
	e.holds("moved", got, r.Periods, want)

	// What changes of a record is kept, and what is empty forgotten.
	moved, changed, ok := (progress.Record{Track: r.Track, State: r.State, Periods: r.Periods, Whole: true}).Revise(first.Session, nil)
	alone := r.Periods[1].Number
	for _, gone := range r.Periods[1].Sessions {
		var more []progress.Period
		moved, more, _ = moved.Revise(gone.Session, nil)
		changed = append(changed, more...)
	}
	if !ok || len(changed) < 2 {
		e.Fatalf("the record did not change: %v", changed)
	}
	byNumber := map[int]progress.Period{}
	for _, p := range changed {
		byNumber[p.Number] = p
	}
	if len(byNumber[alone].Sessions) != 0 {
		e.Fatalf("period %d is not empty", alone)
	}
	c := bare(s)
	c.Session.Revision, c.Known = 2, true
	c.Skills = []practice.SkillChange{{State: moved.State, Periods: []progress.Period{byNumber[r.Periods[0].Number], byNumber[alone]}}}
	e.save(c)
	e.same("Periods after a change", get(e, e.s.Practice, func(tx practice.Store) ([]progress.Period, error) { return tx.Periods(e.ctx, e.Spare, e.Pitch) }), moved.Periods)
	e.same("state after a change", e.storedOf(e.Spare).States, []progress.State{moved.State})
	c.Session.Revision = 3
	c.Skills = []practice.SkillChange{{State: moved.State, Forget: true}}
	e.save(c)
	e.same("state after it was forgotten", len(e.storedOf(e.Spare).States), 0)
}

// holds wants some of all periods, in order, those wanted among them, and told
// right whether they are all.
func (e *exam) holds(what string, got progress.Record, all, want []progress.Period) {
	e.Helper()
	at := -1
	for _, p := range got.Periods {
		i := slices.IndexFunc(all, func(x progress.Period) bool { return x.Number == p.Number })
		if i <= at {
			e.Errorf("%s: period %d is not one, or out of order", what, p.Number)
			return
		}
		at = i
		e.same(fmt.Sprintf("%s: period %d", what, p.Number), p, all[i])
	}
	for _, p := range want {
		if !slices.ContainsFunc(got.Periods, func(x progress.Period) bool { return x.Number == p.Number }) {
			e.Errorf("%s: period %d is missing among %d of %d", what, p.Number, len(got.Periods), len(all))
		}
	}
	if whole := len(got.Periods) == len(all); got.Whole != whole {
		e.Errorf("%s: %d of %d periods, told to be all: %v", what, len(got.Periods), len(all), got.Whole)
	}
}

// kept: everything that follows from the sessions, replaced as a whole.
func (e *exam) kept() {
	look := func() practice.Kept {
		return get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (practice.Kept, error) { return tx.Kept(e.ctx, e.Student) })
	}
	log := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) ([]practice.Session, error) { return tx.Log(e.ctx, e.Student) })
	tracks := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) ([]progress.Track, error) { return tx.AllTracks(e.ctx, e.Student) })
	implied := practice.Recompute(e.Student, log, tracks)
	e.same("kept as the log implies", look(), implied)
	if len(implied.States) != 2 || len(implied.Periods) < 2 || len(implied.Counts) != 1 || len(implied.Counting) != 1 || implied.Habit.Sessions != 2 {
		e.Errorf("the fixture keeps %+v", implied)
	}
	other := get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (practice.Kept, error) { return tx.Kept(e.ctx, e.Spare) })
	done := func() map[int]int {
		return get(e, e.s.Reading, func(tx academy.ReadStore) (academy.WeekDone, error) {
			return tx.DoneInWeek(e.ctx, academy.Assignment{ID: e.Assignment}, 1)
		}).Sessions
	}
	for _, k := range []practice.Kept{
		{Habit: progress.Habit{Student: e.Student}},
		{States: implied.States[:1], Habit: implied.Habit, Counts: []practice.AssignmentCount{{Assignment: e.Assignment, Sessions: 7}}},
		implied,
	} {
		write(e, e.s.Rebuilding, func(tx practice.RebuildStore) error { return tx.ReplaceKept(e.ctx, e.Student, k) })
		e.same("replaced", look(), k)
		want := map[int]int{}
		if len(k.Counting) > 0 {
			want[1] = 1
		}
		e.same("DoneInWeek by what is kept", done(), want)
	}
	e.same("another student's", get(e, e.s.Rebuilding, func(tx practice.RebuildStore) (practice.Kept, error) { return tx.Kept(e.ctx, e.Spare) }), other)
	// Judging anew replaces the record of one skill with its track.
	r := progress.Recompute(progress.Track{Student: e.Student, Skill: e.Chip}, nil)
	plays := get(e, e.s.Assignments, func(tx academy.AssignmentStore) ([]progress.Play, error) { return tx.History(e.ctx, e.Student, e.Chip) })
	if len(plays) != 2 || !plays[0].StartedAt.Before(plays[1].StartedAt) {
		e.Errorf("History: got %+v, want two plays, the earlier first", plays)
	}
	write(e, e.s.Assignments, func(tx academy.AssignmentStore) error { return tx.ReplaceRecord(e.ctx, r) })
	after := look()
	e.same("the other skill", len(after.Periods), len(implied.Periods)-len(slices.DeleteFunc(slices.Clone(implied.Periods), func(p progress.Period) bool { return p.Skill != e.Chip })))
}

// everybody: whoever ever was a student is rebuilt.
func (e *exam) everybody() {
	write(e, e.s.People, func(tx academy.Store) error { // one becomes a coach, one leaves
		m, err := tx.Member(e.ctx, e.Student)
		m.Role, m.Revision = domain.Coach, m.Revision+1
		gone, goneErr := tx.Member(e.ctx, e.Spare)
		gone.RemovedAt, gone.Revision = examNow, gone.Revision+1
		return errors.Join(err, goneErr, tx.SaveMember(e.ctx, m), tx.SaveMember(e.ctx, gone))
	})
	e.same("StudentIDs", get(e, e.s.Rebuilding, func(tx practice.RebuildStore) ([]domain.ID, error) { return tx.StudentIDs(e.ctx) }), []domain.ID{e.Student, e.Spare})
}

// comments: in the order in which they were made.
func (e *exam) comments() {
	second := practice.Comment{ID: examID(), Session: e.Session, Author: e.Student, ReplyTo: e.Comment, Text: "Thanks ⛳", At: examNow}
	third := practice.Comment{ID: examID(), Session: e.Session, Text: "By software.", At: examNow.Add(-time.Hour)}
	write(e, e.s.Comments, func(tx practice.CommentStore) error {
		return errors.Join(tx.AddComment(e.ctx, third), tx.AddComment(e.ctx, second))
	})
	e.same("Comments", get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Comment, error) { return tx.Comments(e.ctx, e.Session) }),
		[]practice.Comment{{ID: e.Comment, Session: e.Session, Author: e.Owner, Text: "Well struck ⛳", At: examNow}, second, third})
	second.Text, second.EditedAt = "Thank you", examNow.Add(time.Minute)
	gone := third
	gone.Text, gone.DeletedAt = "", examNow.Add(time.Hour)
	write(e, e.s.Comments, func(tx practice.CommentStore) error {
		return errors.Join(tx.SaveComment(e.ctx, second), tx.SaveComment(e.ctx, gone), tx.RemoveComment(e.ctx, practice.Comment{ID: e.Comment, Session: e.Session}))
	})
	e.same("after changes", get(e, e.s.Comments, func(tx practice.CommentStore) ([]practice.Comment, error) { return tx.Comments(e.ctx, e.Session) }),
		[]practice.Comment{second, gone})
	for what, c := range map[string]practice.Comment{"removed": {ID: e.Comment, Session: e.Session}, "under another session": {ID: second.ID, Session: e.Growing}} {
		refuse(e, what, e.s.Comments, domain.NotFound, func(tx practice.CommentStore) error { return tx.SaveComment(e.ctx, c) })
		refuse(e, what, e.s.Comments, domain.NotFound, func(tx practice.CommentStore) error { return tx.RemoveComment(e.ctx, c) })
	}
}

// pauses: a session that grew is untold until it is told of, by whatever event.
func (e *exam) pauses() {
	untold := func(id domain.ID) bool {
		e.Helper()
		return get(e, e.s.Pauses, func(tx practice.PauseStore) (bool, error) { return tx.Untold(e.ctx, id) })
	}
	if !untold(e.Growing) || untold(e.Session) || untold(examID()) {
		e.Errorf("untold: growing %v, ended %v, absent %v", untold(e.Growing), untold(e.Session), untold(examID()))
	}
	write(e, e.s.Pauses, func(tx practice.PauseStore) error {
		held, err := tx.Untold(e.ctx, e.Growing) // which locks it
		if !held {
			e.Error("told of while writing")
		}
		return errors.Join(err, tx.MarkTold(e.ctx, e.Growing), tx.MarkTold(e.ctx, examID()))
	})
	e.same("told of", untold(e.Growing), false)
	e.Put(e, e.GoingOn(3))
	e.same("grown again", untold(e.Growing), true)
	ended := e.GoingOn(4)
	ended.EndedAt = ended.StartedAt.Add(time.Hour)
	e.Put(e, ended)
	e.same("ended", untold(e.Growing), false)
}
