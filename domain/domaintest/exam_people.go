package domaintest

import (
	"encoding/json"
	"errors"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// members: lists narrow, page, and show to each whom they may see.
func (e *exam) members() {
	linked, gone, second := e.Join(e, domain.Student), e.Join(e, domain.Student), e.Join(e, domain.Coach)
	group := academy.Group{ID: examID(), Name: "Mondays", Students: []domain.ID{linked, gone}, Revision: 1, CreatedAt: examNow}
	write(e, e.s.Groups, func(tx academy.GroupStore) error { return tx.SaveGroup(e.ctx, group) })
	write(e, e.s.People, func(tx academy.Store) error {
		m, err := tx.Member(e.ctx, gone)
		m.RemovedAt, m.Revision = examNow, 2
		return errors.Join(err, tx.SetLink(e.ctx, e.Coach, linked, true), tx.SetLink(e.ctx, e.Coach, linked, true), tx.SetLink(e.ctx, e.Coach, gone, true), tx.SaveMember(e.ctx, m))
	})
	everybody := []domain.ID{e.Owner, e.Coach, e.Guardian, e.Student, e.Spare, linked, second}
	for _, c := range []struct {
		what string
		f    academy.MemberFilter
		want []domain.ID
	}{
		{"everybody", academy.MemberFilter{}, everybody},
		{"with those who left", academy.MemberFilter{Removed: true}, append(slices.Clone(everybody), gone)},
		{"students", academy.MemberFilter{Role: domain.Student}, []domain.ID{e.Student, e.Spare, linked}},
		{"owners", academy.MemberFilter{Role: domain.Owner}, []domain.ID{e.Owner}},
		{"a group", academy.MemberFilter{Group: group.ID}, []domain.ID{linked}},
		{"a group with those who left", academy.MemberFilter{Group: group.ID, Removed: true}, []domain.ID{linked, gone}},
		{"a group that is not", academy.MemberFilter{Group: examID()}, nil},
		{"as a coach", academy.MemberFilter{VisibleTo: e.Coach}, []domain.ID{e.Owner, e.Coach, e.Student, linked, second}},
		{"a coach's students", academy.MemberFilter{VisibleTo: e.Coach, Role: domain.Student}, []domain.ID{e.Student, linked}},
		{"as a coach without students", academy.MemberFilter{VisibleTo: second, Role: domain.Student}, nil},
		{"as a guardian", academy.MemberFilter{VisibleTo: e.Guardian}, []domain.ID{e.Guardian, e.Student}},
		{"as a student", academy.MemberFilter{VisibleTo: linked}, []domain.ID{linked}},
		{"as nobody", academy.MemberFilter{VisibleTo: examID()}, nil},
	} {
		slices.Sort(c.want)
		got := get(e, e.s.Reading, func(tx academy.ReadStore) (got []domain.ID, err error) {
			for page := (domain.Page{Limit: 2}); ; page.After = got[len(got)-1] {
				ms, err := tx.Members(e.ctx, c.f, page)
				if err != nil {
					return nil, err
				}
				got = append(got, idsOf(ms, func(m academy.Member) domain.ID { return m.ID })...)
				if len(ms) < page.Limit {
					return got, nil
				}
			}
		})
		e.same(c.what, got, c.want)
	}
}

// links: who works with whom; who left coaches nobody.
func (e *exam) links() {
	second := e.Join(e, domain.Coach)
	uncoached := func() []domain.ID {
		return get(e, e.s.Reading, func(tx academy.ReadStore) ([]domain.ID, error) { return tx.Uncoached(e.ctx) })
	}
	e.same("Uncoached", uncoached(), []domain.ID{e.Spare})
	coaches := func() []domain.ID {
		return get(e, e.s.People, func(tx academy.Store) ([]domain.ID, error) { return tx.CoachesOf(e.ctx, e.Student) })
	}
	write(e, e.s.People, func(tx academy.Store) error { return tx.SetLink(e.ctx, second, e.Student, true) })
	e.same("CoachesOf", coaches(), []domain.ID{e.Coach, second})
	for _, c := range []struct {
		member, student domain.ID
		want            bool
	}{{e.Coach, e.Student, true}, {e.Guardian, e.Student, true}, {second, e.Student, true}, {e.Coach, e.Spare, false}, {e.Student, e.Coach, false}, {e.Owner, e.Student, false}} {
		got := get(e, e.s.Sessions, func(tx practice.ReadStore) (bool, error) { return tx.WorksWith(e.ctx, c.member, c.student) })
		e.same("WorksWith", got, c.want)
	}
	write(e, e.s.People, func(tx academy.Store) error {
		m, err := tx.Member(e.ctx, second)
		m.RemovedAt, m.Revision = examNow, 2
		return errors.Join(err, tx.SaveMember(e.ctx, m))
	})
	e.same("CoachesOf after one left", coaches(), []domain.ID{e.Coach})
	e.same("Uncoached after one left", uncoached(), []domain.ID{e.Spare})
	write(e, e.s.People, func(tx academy.Store) error {
		return errors.Join(tx.SetLink(e.ctx, e.Coach, e.Student, false), tx.SetLink(e.ctx, e.Coach, e.Student, false))
	})
	e.same("CoachesOf after unlinking", coaches(), []domain.ID(nil))
	alone := []domain.ID{e.Student, e.Spare}
	slices.Sort(alone)
	e.same("Uncoached after unlinking", uncoached(), alone)
	write(e, e.s.People, func(tx academy.Store) error { return tx.SetLink(e.ctx, second, e.Spare, true) })
	e.same("Uncoached with one who left", uncoached(), alone)
	write(e, e.s.People, func(tx academy.Store) error {
		m, err := tx.Member(e.ctx, e.Coach)
		m.RemovedAt, m.Revision = examNow, 2
		return errors.Join(err, tx.SaveMember(e.ctx, m))
	})
	e.same("Uncoached where only owners teach", uncoached(), []domain.ID(nil))
}

// groups: students in order, no group twice, none once deleted.
func (e *exam) groups() {
	second := academy.Group{ID: examID(), Name: "Tuesdays", Revision: 1, CreatedAt: examNow, By: e.Coach}
	write(e, e.s.Groups, func(tx academy.GroupStore) error { return tx.SaveGroup(e.ctx, second) })
	g := get(e, e.s.Groups, func(tx academy.GroupStore) (academy.Group, error) { return tx.Group(e.ctx, e.Group) })
	g.Students, g.Revision, g.Name = []domain.ID{e.Spare, e.Student}, 2, "Late risers"
	write(e, e.s.Groups, func(tx academy.GroupStore) error { return tx.SaveGroup(e.ctx, g) })
	slices.Sort(g.Students)
	list := func(p domain.Page) []academy.Group {
		return get(e, e.s.Groups, func(tx academy.GroupStore) ([]academy.Group, error) { return tx.Groups(e.ctx, p) })
	}
	e.same("Groups", list(all), []academy.Group{g, second})
	e.same("a page", list(domain.Page{Limit: 1, After: g.ID}), []academy.Group{second})
	write(e, e.s.Groups, func(tx academy.GroupStore) error { return tx.DeleteGroup(e.ctx, g.ID) })
	e.same("Groups after one was deleted", list(all), []academy.Group{second})
	refuse(e, "deleting it again", e.s.Groups, domain.NotFound, func(tx academy.GroupStore) error { return tx.DeleteGroup(e.ctx, g.ID) })
	e.same("members of the group", get(e, e.s.Reading, func(tx academy.ReadStore) ([]academy.Member, error) {
		return tx.Members(e.ctx, academy.MemberFilter{Group: g.ID}, all)
	}), []academy.Member(nil))
}

// assignments: lists narrow, those taken back are told apart, and saving one
// does not touch its count of sessions.
func (e *exam) assignments() {
	second := e.Assign(e, e.Spare)
	as := get(e, e.s.Assignments, func(tx academy.AssignmentStore) (academy.Assignment, error) {
		return tx.Assignment(e.ctx, e.Assignment)
	})
	e.same("its sessions", as.Sessions, 1)
	as.EndedAt, as.Revision, as.Sessions = examNow, as.Revision+1, 0
	as.Pauses = []academy.Pause{{From: examDay, Until: examDay.AddDays(3), Reason: "Rain"}, {From: examDay.AddDays(9)}}
	as.Credits = []academy.Credit{{Version: 1, Weeks: []int{2, 0}}, {Version: 3, Weeks: []int{1}}}
	write(e, e.s.Assignments, func(tx academy.AssignmentStore) error { return tx.SaveAssignment(e.ctx, as) })
	third := e.Assign(e, e.Student)
	as.Sessions = 1
	e.same("Assignment", get(e, e.s.Assignments, func(tx academy.AssignmentStore) (academy.Assignment, error) {
		return tx.Assignment(e.ctx, e.Assignment)
	}), as)
	for _, c := range []struct {
		what string
		f    academy.AssignmentFilter
		page domain.Page
		want []domain.ID
	}{
		{"all", academy.AssignmentFilter{}, all, []domain.ID{e.Assignment, second, third}},
		{"a page", academy.AssignmentFilter{}, domain.Page{Limit: 1, After: e.Assignment}, []domain.ID{second}},
		{"a student's", academy.AssignmentFilter{Student: e.Student}, all, []domain.ID{e.Assignment, third}},
		{"current ones", academy.AssignmentFilter{Current: true}, all, []domain.ID{second, third}},
		{"a coach's", academy.AssignmentFilter{VisibleTo: e.Coach}, all, []domain.ID{e.Assignment, third}},
		{"a guardian's", academy.AssignmentFilter{VisibleTo: e.Guardian}, all, []domain.ID{e.Assignment, third}},
		{"a student's own", academy.AssignmentFilter{VisibleTo: e.Spare}, all, []domain.ID{second}},
		{"of a programme", academy.AssignmentFilter{Programme: e.Programme}, all, []domain.ID{e.Assignment, second, third}},
		{"of none", academy.AssignmentFilter{Programme: examID()}, all, nil},
	} {
		got := get(e, e.s.Assignments, func(tx academy.AssignmentStore) ([]academy.Assignment, error) {
			return tx.Assignments(e.ctx, c.f, c.page)
		})
		e.same(c.what, idsOf(got, func(a academy.Assignment) domain.ID { return a.ID }), c.want)
	}
	current := e.storedOf(e.Student, e.Spare, examID()).Assignments
	e.same("current assignments", idsOf(current, func(a academy.Assignment) domain.ID { return a.ID }), []domain.ID{second, third})
	for week, want := range map[int]map[int]int{1: {1: 1}, 2: {}} {
		e.same("DoneInWeek", get(e, e.s.Reading, func(tx academy.ReadStore) (academy.WeekDone, error) {
			return tx.DoneInWeek(e.ctx, academy.Assignment{ID: e.Assignment}, week)
		}).Sessions, want)
	}
	for week, want := range map[int]map[int]int{1: {}, 2: {1: 1}} { // as its credits say
		e.same("DoneInWeek after a move", get(e, e.s.Reading, func(tx academy.ReadStore) (academy.WeekDone, error) { return tx.DoneInWeek(e.ctx, as, week) }).Sessions, want)
	}
	refuse(e, "the same programme twice at a time", e.s.Assignments, domain.Conflict, func(tx academy.AssignmentStore) error {
		return tx.SaveAssignment(e.ctx, academy.Assignment{ID: examID(), Student: e.Student, Programme: e.Programme, Version: 1, Start: examDay, Revision: 1, CreatedAt: examNow})
	})
}

// storedOf reads what is stored of students.
func (e *exam) storedOf(students ...domain.ID) academy.Stored {
	return get(e, e.s.Reading, func(tx academy.ReadStore) (academy.Stored, error) { return tx.Stored(e.ctx, students) })
}

// priors: what was learned last, and what it is learned from, in a fixed order.
func (e *exam) priors() {
	p := priorsOf(e.Pitch, 0, 1.0/3, 7)
	p.Rates[progress.Stage{Skill: e.Chip, Held: 2}] = estimate.Prior{A: 1e-9, B: 1e9}
	p.Form = estimate.FormKinds{0.1, 0.2, 1.0 / 3}
	write(e, e.s.Learning, func(tx academy.LearnStore) error { return tx.SavePriors(e.ctx, p) })
	e.same("Priors to learn", get(e, e.s.Learning, func(tx academy.LearnStore) (progress.Priors, error) { return tx.Priors(e.ctx) }), p)
	e.same("Priors to read", e.storedOf().Priors, p)
	write(e, e.s.Learning, func(tx academy.LearnStore) error { return tx.SavePriors(e.ctx, progress.Priors{}) })
	none := get(e, e.s.Learning, func(tx academy.LearnStore) (progress.Priors, error) { return tx.Priors(e.ctx) })
	e.same("none", none.Equal(progress.Priors{}), true)
	counts := get(e, e.s.Learning, func(tx academy.LearnStore) ([]progress.StageCount, error) { return tx.StageCounts(e.ctx) })
	var want []progress.StageCount
	for _, s := range e.storedOf(e.Student).States {
		c := progress.StageCount{Skill: s.Skill, Held: s.Held, Form: s.Assessment.Form.Kinds}
		c.Balls, c.Inside = s.Recent.Judged, s.Recent.Inside
		want = append(want, c)
	}
	e.same("StageCounts", counts, want)
	e.Assign(e, e.Spare) // who has states without a ball, of which nothing is learned
	e.same("StageCounts with somebody who never practised", get(e, e.s.Learning, func(tx academy.LearnStore) ([]progress.StageCount, error) { return tx.StageCounts(e.ctx) }), want)
}

// insights: what was learned last and on what, and what it is learned from.
func (e *exam) insights() {
	pitch, chip := e.insight(e.Pitch), e.insight(e.Chip)
	chip.Circles, chip.Levels, chip.Fade = nil, nil, estimate.Fade{Breaks: 2, CannotTell: estimate.FewBreaks}
	at := examNow.Add(90 * time.Minute)
	of := func(skill domain.ID) (i progress.Insight) {
		write(e, e.s.Insights, func(tx academy.InsightStore) error {
			got, learned, err := tx.Insight(e.ctx, skill)
			if i = got; !learned.IsZero() {
				e.same("learned at", learned, at)
			}
			return err
		})
		return i
	}
	changes := func() (now, learned int64) {
		write(e, e.s.Insights, func(tx academy.InsightStore) (err error) {
			now, learned, err = tx.PracticeChanges(e.ctx)
			return err
		})
		return now, learned
	}
	before, _ := changes()
	write(e, e.s.Insights, func(tx academy.InsightStore) error {
		return tx.SaveInsights(e.ctx, before, at, []progress.Insight{pitch, chip})
	})
	e.same("pitch", of(e.Pitch), pitch)
	e.same("chip", of(e.Chip), chip)
	now, learned := changes()
	e.same("changes when learned", []int64{now, learned}, []int64{before, before})
	e.Put(e, e.GoingOn(3))
	if now, learned = changes(); now <= learned || learned != before {
		e.Errorf("after more practice: %d changes, learned of %d; want more than %d, and that", now, learned, before)
	}
	at = at.Add(time.Hour)
	write(e, e.s.Insights, func(tx academy.InsightStore) error { return tx.SaveInsights(e.ctx, now, at, []progress.Insight{chip}) })
	e.same("pitch no more", of(e.Pitch), progress.Insight{Skill: e.Pitch})
	e.same("chip again", of(e.Chip), chip)
	refuse(e, "an unknown skill", e.s.Insights, domain.NotFound, func(tx academy.InsightStore) error {
		return tx.SaveInsights(e.ctx, now, at, []progress.Insight{e.insight(examID())})
	})

	since := func(number int) (all []progress.Period) {
		write(e, e.s.Insights, func(tx academy.InsightStore) error {
			all = nil
			return tx.PeriodsSince(e.ctx, number, func(p progress.Period) { all = append(all, p) })
		})
		return all
	}
	var want []progress.Period
	for _, skill := range slices.Sorted(slices.Values([]domain.ID{e.Pitch, e.Chip})) {
		record := get(e, e.s.Reading, func(tx academy.ReadStore) (progress.Record, error) {
			return tx.SkillRecord(e.ctx, e.Student, skill, 1000, 0)
		})
		for _, p := range record.Periods {
			p.Student, p.Skill = e.Student, skill
			want = append(want, p)
		}
	}
	if len(want) == 0 {
		e.Fatal("there are no periods")
	}
	e.same("periods", since(0), want)
	last := want[0].Number
	e.same("periods since the last", since(last), want)
	e.same("periods later", len(since(last+1)), 0)
}

// acknowledgements: one for each student, skill and reason, the last that was
// said.
func (e *exam) acknowledgements() {
	k := e.silence(e.Spare, "", advice.Lapsed)
	again := k
	again.Note, again.Until = "Back in June.", examDay.AddDays(40)
	list := func(students ...domain.ID) []academy.Acknowledgement {
		return e.storedOf(students...).Acknowledgements
	}
	write(e, e.s.Acknowledgements, func(tx academy.AcknowledgementStore) error {
		return errors.Join(tx.SaveAcknowledgement(e.ctx, k), tx.SaveAcknowledgement(e.ctx, again))
	})
	first := e.silence(e.Student, e.Pitch, advice.Flat)
	e.same("both students'", list(e.Spare, e.Student), []academy.Acknowledgement{first, again})
	e.same("one's", list(e.Spare), []academy.Acknowledgement{again})
	write(e, e.s.Acknowledgements, func(tx academy.AcknowledgementStore) error {
		return errors.Join(tx.DropAcknowledgement(e.ctx, e.Student, e.Pitch, advice.Flat), tx.DropAcknowledgement(e.ctx, e.Student, e.Pitch, advice.Flat),
			tx.DropAcknowledgement(e.ctx, e.Spare, e.Pitch, advice.Lapsed))
	})
	e.same("one was dropped", list(e.Spare, e.Student), []academy.Acknowledgement{again})
}

// refusals: one for each student, skill and kind, the last that was said, with the
// chances to the last bit.
func (e *exam) refusals() {
	list := func(students ...domain.ID) []academy.Refusal {
		return get(e, e.s.Proposals, func(tx academy.ProposalStore) ([]academy.Refusal, error) { return tx.Refusals(e.ctx, students) })
	}
	first, other, spare := e.refusal(e.Student, curriculum.ExtraStep), e.refusal(e.Student, curriculum.OtherShares), e.refusal(e.Spare, curriculum.ExtraStep)
	again := other
	again.Until, again.Then, again.By = examDay.AddDays(30), 1.0/3, e.Owner
	write(e, e.s.Proposals, func(tx academy.ProposalStore) error {
		return errors.Join(tx.SaveRefusal(e.ctx, other), tx.SaveRefusal(e.ctx, again), tx.SaveRefusal(e.ctx, spare))
	})
	e.same("one student's", list(e.Student), []academy.Refusal{again, first})
	e.same("both students'", len(list(e.Spare, e.Student)), 3)
	write(e, e.s.Proposals, func(tx academy.ProposalStore) error {
		return errors.Join(tx.DropRefusal(e.ctx, first.RefusalKey), tx.DropRefusal(e.ctx, first.RefusalKey))
	})
	e.same("one was dropped", list(e.Student), []academy.Refusal{again})
	fades := get(e, e.s.Proposals, func(tx academy.ProposalStore) (map[domain.ID]estimate.Fade, error) {
		return tx.Fades(e.ctx, []domain.ID{e.Pitch, e.Chip})
	})
	e.same("fades", fades, map[domain.ID]estimate.Fade{e.Pitch: e.insight(e.Pitch).Fade})
}

// adjustments: latest first, as they were given, undone once.
func (e *exam) adjustments() {
	list := func(standing bool) []academy.Adjustment {
		return get(e, e.s.Adjustments, func(tx academy.AdjustmentStore) ([]academy.Adjustment, error) {
			return tx.Adjustments(e.ctx, e.Student, standing)
		})
	}
	first := e.adjustment(e.Adjustment)
	all := []academy.Adjustment{first}
	for _, what := range []curriculum.Adjustment{
		{Kind: curriculum.ExtraStep, Skill: e.Pitch, Tier: streak.Tier{Run: 5, Radius: examRadius, Holed: 1}, Begins: true},
		{Kind: curriculum.OtherRadius, Skill: e.Pitch, Radius: domain.Metre, Only: []curriculum.BlockKind{curriculum.Random, curriculum.Technique}},
		{Kind: curriculum.OtherDistances, Skill: e.Chip, Distances: []domain.Length{9 * domain.Metre, 14 * domain.Metre}},
		{Kind: curriculum.OtherDistances, Skill: e.Pitch, DistancePart: 67},
		{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Test, Share: 30}, {Kind: curriculum.Random, Share: 30}}},
		{Kind: curriculum.OtherWarmup, Skill: e.Chip, Drill: curriculum.Drill{Text: "Low ones.", Clubs: []string{"eight"}, Radius: domain.Metre}},
		{Kind: curriculum.ShorterSessions, Minutes: 35},
	} {
		a := e.adjustment(examID())
		a.Adjustment, a.Until, a.Throughout = what, examDay.AddDays(20), what.Kind == curriculum.OtherShares
		write(e, e.s.Adjustments, func(tx academy.AdjustmentStore) error { return tx.SaveAdjustment(e.ctx, a) })
		all = append([]academy.Adjustment{a}, all...)
	}
	e.same("all", list(false), all)
	e.same("stored", e.storedOf(e.Student, e.Spare).Adjustments, all)
	e.same("another's", e.storedOf(e.Spare).Adjustments, []academy.Adjustment(nil))
	opened := func() []academy.Adjustment {
		var o practice.Opened
		write(e, e.s.Practice, func(tx practice.Store) (err error) {
			o, err = tx.Open(e.ctx, practice.Opening{Session: examID(), Student: e.Student, Assignment: e.Assignment})
			return err
		})
		return o.Adjustments
	}
	e.same("opened", opened(), all)
	first.EndedAt, first.EndedBy, first.Revision = examNow.Add(time.Hour), e.Owner, 2
	write(e, e.s.Adjustments, func(tx academy.AdjustmentStore) error { return tx.SaveAdjustment(e.ctx, first) })
	e.same("those that stand", list(true), all[:7])
	e.same("stored then", e.storedOf(e.Student).Adjustments, all[:7])
	all[7] = first
	e.same("all then", list(false), all)
	e.same("opened then", opened(), all)
	e.same("one", get(e, e.s.Adjustments, func(tx academy.AdjustmentStore) (academy.Adjustment, error) {
		return tx.Adjustment(e.ctx, e.Adjustment)
	}), first)
	refuse(e, "undone twice", e.s.Adjustments, domain.Stale, func(tx academy.AdjustmentStore) error { return tx.SaveAdjustment(e.ctx, first) })
}

// log: events in order, without gaps, and nothing of what was taken back.
func (e *exam) log() {
	last := func() int64 {
		return get(e, e.s.Events, func(tx academy.EventStore) (int64, error) { return tx.LastEvent(e.ctx) })
	}
	before := last()
	event := func(i int) domain.Event {
		return domain.Event{At: examNow.Add(time.Duration(i) * time.Second), Actor: e.Coach, Kind: "ball.struck", Subject: e.Session, Student: e.Student,
			Data: map[string]any{"n": int64(9_007_199_254_740_993), "i": i, "text": "<ö>"}}
	}
	for i := range 3 {
		write(e, e.s.People, func(tx academy.Store) error {
			return errors.Join(tx.Record(e.ctx, event(2*i)), tx.Record(e.ctx, event(2*i+1)))
		})
		stop := errors.New("stop")
		err := e.s.Practice.Write(e.ctx, e.Academy, func(tx practice.Store) error {
			return errors.Join(tx.Record(e.ctx, event(99)), stop)
		})
		if !errors.Is(err, stop) {
			e.Errorf("taken back: got error %v, want %v", err, stop)
		}
	}
	write(e, e.s.Groups, func(tx academy.GroupStore) error {
		return tx.Record(e.ctx, domain.Event{At: examNow, Kind: "academy.swept", Subject: e.Academy})
	})
	events := func(after int64, limit int) []domain.Event {
		return get(e, e.s.Events, func(tx academy.EventStore) ([]domain.Event, error) { return tx.Events(e.ctx, after, limit) })
	}
	whole := events(0, 1000)
	for i, x := range whole {
		if x.Seq != int64(i)+1 {
			e.Errorf("event %d has number %d", i+1, x.Seq)
		}
	}
	e.same("LastEvent", last(), before+7)
	e.same("how many", len(whole), int(before)+7)
	for i, x := range events(before, 6) {
		want := event(i)
		want.Seq = before + int64(i) + 1
		if got := plain(e, x.Data); got != plain(e, want.Data) {
			e.Errorf("data of event %d: got %s, want %s", i, got, plain(e, want.Data))
		}
		x.Data, want.Data = nil, nil
		e.same("event", x, want)
	}
	system := events(before+6, 9)
	e.same("the system's", system, []domain.Event{{Seq: before + 7, At: examNow, Kind: "academy.swept", Subject: e.Academy, Data: system[0].Data}})
	e.same("data of none", len(system[0].Data), 0)
	part := events(before+2, 3)
	if len(part) != 3 || part[0].Seq != before+3 {
		e.Errorf("three after two: got %v", part)
	}
	e.same("after the last", events(before+7, 9), []domain.Event(nil))
}

func plain(e *exam, data map[string]any) string {
	text, err := json.Marshal(data)
	if err != nil {
		e.Fatal(err)
	}
	return string(text)
}

// priorsOf is what was learned of the rate at one stage.
func priorsOf(skill domain.ID, held int, a, b float64) progress.Priors {
	return progress.Priors{Rates: map[progress.Stage]estimate.Prior{{Skill: skill, Held: held}: {A: a, B: b}}}
}
