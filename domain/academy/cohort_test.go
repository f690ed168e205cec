package academy_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
)

// cohortHouse is the fixture with as many students more, who are linked to the
// coach, in UTC, at the end of May.
type cohortHouse struct {
	*fixture
	cohorts academy.CohortService
}

func openCohort(t *testing.T, students int) cohortHouse {
	t.Helper()
	h := open(t)
	for i := range students {
		id := pupil(i + 1)
		h.mem.AddMember(hollow, academy.Member{ID: id, Account: "acc-" + id, Role: domain.Student, Name: string(id), Email: string(id), TimeZone: "UTC", Revision: 1, JoinedAt: now})
		h.mem.AddLink(hollow, domaintest.CoachID, id)
	}
	h.mem.Set(noon(30))
	return cohortHouse{h, academy.CohortService{Store: h.mem.Cohorts(), Env: h.mem.Env()}}
}

func pupil(n int) domain.ID { return domain.ID(fmt.Sprintf("p-%02d", n)) }

// noon is that of a day of May, in UTC.
func noon(day int) time.Time { return time.Date(2026, time.May, day, 12, 0, 0, 0, time.UTC) }

// given gives a student a version from 4 May on.
func (h cohortHouse) given(student domain.ID, version int) academy.Assignment {
	h.t.Helper()
	return must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: version, Students: []domain.ID{student}, Start: may(4)}))(h.t)[0]
}

// strikes lets a student practise pitches on days of May, nine in a row, which passes
// the first step, on the last of them, and less before.
func (h cohortHouse) strikes(student domain.ID, days ...int) {
	h.t.Helper()
	for i, day := range days {
		n := 3
		if i == len(days)-1 {
			n = 9
		}
		h.practised(student, domain.ID(fmt.Sprintf("%s-%02d", student, day)), noon(day), h.pitch.ID, n, "", 0)
	}
}

func (h cohortHouse) cohort(a domain.Actor, f academy.CohortFilter) academy.Cohort {
	h.t.Helper()
	return must(h.cohorts.Cohort(ctx, a, h.programme, f))(h.t)
}

// twoVersions has everything that a course must tell apart, with six students on
// each version of a programme of two weeks, from 4 to 17 May.
func twoVersions(t *testing.T) cohortHouse {
	h := openCohort(t, 12)
	content := domaintest.Programme(h.pitch.ID, h.chip.ID)
	content.Weeks[0].Plans[0].Blocks[0].Drill.Text = "Three easy ones."
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, content))(t)
	h.publish()
	for i := 1; i <= 6; i++ {
		h.given(pupil(i), 1)
	}
	h.strikes(pupil(1), 4)
	h.strikes(pupil(2), 4, 5, 6)
	h.strikes(pupil(3), 6)
	h.strikes(pupil(5), 3)  // before the start
	h.strikes(pupil(6), 18) // after the end
	as := h.given(pupil(7), 2)
	must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(6)}))(t)
	must(h.people.Resume(ctx, coach, as.ID, 0, may(8)))(t)
	h.strikes(pupil(7), 10) // the seventh day, of which two were paused
	h.mem.Set(noon(9))
	must(h.people.End(ctx, coach, h.given(pupil(8), 2).ID, 0))(t)
	h.mem.Set(noon(30))
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{pupil(9)}, Start: may(31)}))(t)
	for i := 10; i <= 12; i++ {
		h.given(pupil(i), 2)
		h.strikes(pupil(i), 5)
	}
	return h
}

// waits writes what a course rests on: time, at risk, passed, left.
func waits(s estimate.Survival) (all [][4]int) {
	for _, x := range s.Steps {
		all = append(all, [4]int{int(x.Time), x.AtRisk, x.Passed, x.Left})
	}
	return all
}

// TestCohortByHand: of eleven who began, one had passed the first step before. On day
// 1 one of ten passes, on day 2 three of nine, on day 3 two of six, on day 5, two of
// a pause left out, one of four; one of three is ended on day 6; two are followed to
// the end on day 14, of whom one passes a day later.
func TestCohortByHand(t *testing.T) {
	h := twoVersions(t)
	c := h.cohort(coach, academy.CohortFilter{})
	if c.Name != "Two weeks" || c.Programme != h.programme || len(c.Students) != 11 || c.By != academy.ByVersion {
		t.Fatalf("%s, %d students, by %q", c.Name, len(c.Students), c.By)
	}
	want := []academy.CohortPart{{Version: 1, Name: "version 1", Students: 6}, {Version: 2, Name: "version 2", Students: 5}}
	if !slices.Equal(c.Versions, want) || len(c.Groups) != 0 {
		t.Errorf("versions %v, groups %v", c.Versions, c.Groups)
	}
	if len(c.Steps) != 3 {
		t.Fatalf("%d steps, want two of pitch and one of chip", len(c.Steps))
	}
	first := c.Steps[0]
	if first.Skill != h.pitch.ID || first.Name != "Pitch" || first.Number != 1 || first.Tier.Run != 9 || first.Before != 1 || first.Passed != 7 || first.Next != 3 {
		t.Errorf("%+v", first)
	}
	if got, want := waits(first.All.Days), [][4]int{{1, 10, 1, 0}, {2, 9, 3, 0}, {3, 6, 2, 0}, {5, 4, 1, 0}, {6, 3, 0, 1}, {14, 2, 0, 2}}; !slices.Equal(got, want) {
		t.Errorf("days: %v, want %v", got, want)
	}
	if first.All.Days.Median != 3 {
		t.Errorf("median %v, want 3", first.All.Days.Median)
	}
	// Those who never practised, or after the end alone, were followed over no session.
	if got, want := waits(first.All.Sessions), [][4]int{{0, 10, 0, 3}, {1, 7, 6, 0}, {3, 1, 1, 0}}; !slices.Equal(got, want) {
		t.Errorf("sessions: %v, want %v", got, want)
	}
	if len(first.Parts) != 2 || first.Parts[0].Part.Students != 5 || first.Parts[1].Part.Version != 2 {
		t.Fatalf("parts %+v", first.Parts)
	}
	if got, want := waits(first.Parts[1].Days), [][4]int{{2, 5, 3, 0}, {5, 2, 1, 0}, {6, 1, 0, 1}}; !slices.Equal(got, want) {
		t.Errorf("version 2: %v, want %v", got, want)
	}
	again := estimate.LogRankOf([][]estimate.Wait{
		{{Time: 1, Passed: true}, {Time: 3, Passed: true}, {Time: 3, Passed: true}, {Time: 14}, {Time: 14}},
		{{Time: 5, Passed: true}, {Time: 6}, {Time: 2, Passed: true}, {Time: 2, Passed: true}, {Time: 2, Passed: true}},
	})
	if l := first.LogRank; l.CannotTell != "" || math.Abs(l.ChiSquare-again.ChiSquare) > 1e-12 || l.DF != 1 || l.ChiSquare == 0 {
		t.Errorf("log-rank %+v, want %+v", l, again)
	}
	if second := c.Steps[1]; second.Tier.Run != 18 || second.Number != 2 || second.Passed != 0 || second.Next != 8 || second.All.Days.Students != 11 {
		t.Errorf("%+v, want eleven who had it to pass and eight who have it next", second)
	}
	if chip := c.Steps[2]; chip.Name != "Chip" || chip.Number != 1 || chip.Next != 11 || chip.LogRank.CannotTell != estimate.NothingToCompare {
		t.Errorf("%+v", chip)
	}
}

// TestCohortStudents: each as long as followed, with the steps before and since.
func TestCohortStudents(t *testing.T) {
	h := twoVersions(t)
	c := h.cohort(owner, academy.CohortFilter{})
	of := func(id domain.ID) academy.CohortStudent {
		return c.Students[slices.IndexFunc(c.Students, func(s academy.CohortStudent) bool { return s.Student.ID == id })]
	}
	for _, w := range []struct {
		n, days, sessions, before, after, passed, since int
	}{
		{1, 14, 1, 0, 1, 1, 13}, {2, 14, 3, 0, 1, 1, 11}, {4, 14, 0, 0, 0, 0, 14}, {5, 14, 0, 1, 1, 0, 14}, {6, 14, 0, 0, 0, 0, 14},
		{7, 14, 1, 0, 1, 1, 9}, {8, 6, 0, 0, 0, 0, 6}, {12, 14, 1, 0, 1, 1, 12},
	} {
		s := of(pupil(w.n))
		k := s.Skills[0]
		if s.Days != w.days || s.Sessions != w.sessions || k.Before != w.before || k.After != w.after || k.Tiers != 2 || s.Passed != w.passed || s.Since != w.since || !s.Open {
			t.Errorf("%s: %+v, want %+v", s.Student.ID, s, w)
		}
	}
	if p := of(pupil(8)).Position.Phase; p != academy.Ended {
		t.Errorf("the phase of who was ended is %s", p)
	}
	if len(of(pupil(1)).Skills) != 2 || of(pupil(1)).Assignment.Version != 1 {
		t.Errorf("%+v", of(pupil(1)))
	}
	// While it runs, all are followed until today.
	h.mem.Set(noon(11))
	c = h.cohort(owner, academy.CohortFilter{Version: 1})
	if len(c.Students) != 6 || of(pupil(4)).Days != 8 || c.By != "" || c.Steps[0].LogRank.CannotTell != estimate.FewStudents || c.Steps[0].Parts != nil {
		t.Errorf("on 11 May with version 1: %d students, %d days, by %q", len(c.Students), of(pupil(4)).Days, c.By)
	}
}

// TestCohortFilters: groups can be compared as well; who is in several is in none of
// them then, and a part with too few is not compared.
func TestCohortFilters(t *testing.T) {
	h := openCohort(t, 12)
	var ids []domain.ID
	for i := 1; i <= 11; i++ {
		h.given(pupil(i), 1)
		ids = append(ids, pupil(i))
	}
	h.strikes(pupil(1), 5)
	group := func(name string, students ...domain.ID) domain.ID {
		return must(h.people.CreateGroup(ctx, coach, name, students))(t).ID
	}
	early := group("Early", ids[:6]...)
	late := group("Late", ids[5:]...) // the sixth is in both
	group("Nobody of these", pupil(12))
	c := h.cohort(coach, academy.CohortFilter{})
	if c.By != academy.ByGroup || len(c.Groups) != 2 || c.Groups[0].Students != 6 || c.Groups[1].Students != 6 {
		t.Fatalf("by %q: %+v", c.By, c.Groups)
	}
	if first := c.Steps[0]; len(first.Parts) != 2 || first.Parts[0].Part.Students != 5 || first.Parts[1].Days.Students != 5 || first.LogRank.DF != 1 {
		t.Errorf("%+v", first)
	}
	if c := h.cohort(coach, academy.CohortFilter{By: academy.ByVersion}); c.By != "" || len(c.Steps[0].Parts) != 0 {
		t.Errorf("by version: %q, %+v", c.By, c.Steps[0].Parts)
	}
	if c := h.cohort(coach, academy.CohortFilter{Group: late}); len(c.Students) != 6 || c.Students[0].Student.ID != pupil(6) || len(c.Students[0].Groups) != 2 || c.By != "" {
		t.Errorf("the late group: %+v", c.Students)
	}
	if s := c.Students[0]; !slices.Equal(s.Groups, []domain.ID{early}) {
		t.Errorf("groups of the first: %v", s.Groups)
	}
	// One fewer in a part, and there is nothing to compare.
	must(h.people.ChangeGroup(ctx, coach, late, 0, "Late", ids[6:10]))(t)
	if c := h.cohort(coach, academy.CohortFilter{}); c.By != "" {
		t.Errorf("with four in a group: by %q", c.By)
	}
	// A part whose students had mostly passed a step before is not compared at it.
	must(h.people.ChangeGroup(ctx, coach, late, 0, "Late", ids[6:]))(t)
	h.strikes(pupil(8), 2)
	c = h.cohort(coach, academy.CohortFilter{})
	if c.By != academy.ByGroup || c.Steps[0].LogRank.CannotTell != estimate.FewStudents || c.Steps[1].LogRank.CannotTell != estimate.NothingToCompare || len(c.Steps[1].Parts) != 2 {
		t.Errorf("by %q: %+v", c.By, c.Steps)
	}
}

// TestCohortIsOfTheLastTime: who is given the programme again counts by that.
func TestCohortIsOfTheLastTime(t *testing.T) {
	h := openCohort(t, 1)
	h.strikes(pupil(1), 5)
	h.mem.Set(noon(8))
	must(h.people.End(ctx, coach, h.given(pupil(1), 1).ID, 0))(t)
	h.mem.Set(noon(9))
	as := must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{pupil(1)}, Start: may(9)}))(t)[0]
	s := h.cohort(coach, academy.CohortFilter{}).Students[0]
	if s.Assignment.ID != as.ID || s.Days != 1 || s.Skills[0].Before != 1 || s.Passed != 0 {
		t.Errorf("%+v", s)
	}
	// Ended on the day before its start it never was.
	h.mem.Set(noon(10))
	must(h.people.End(ctx, coach, as.ID, 0))(t)
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{pupil(1)}, Start: may(12)}))(t)
	last := must(h.people.Assignments(ctx, coach, academy.AssignmentFilter{Student: pupil(1), Current: true}, domain.Page{Limit: 2}))(t)[0]
	must(h.people.End(ctx, coach, last.ID, 0))(t)
	h.mem.Set(noon(20))
	if c := h.cohort(coach, academy.CohortFilter{}); len(c.Students) != 0 || len(c.Steps) != 0 {
		t.Errorf("%+v", c.Students)
	}
}

// TestCohortSees: a coach sees the students linked to them, and nobody a programme
// that is not there; the times kept are added up.
func TestCohortSees(t *testing.T) {
	h := twoVersions(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", noon(5), h.pitch.ID, 3, as.ID, 1)
	h.assign(ben, 4)
	if c := h.cohort(domaintest.AsCoach2, academy.CohortFilter{}); len(c.Students) != 1 || c.Students[0].Student.ID != ben {
		t.Errorf("the other coach sees %+v", c.Students)
	}
	c := h.cohort(coach, academy.CohortFilter{})
	if len(c.Students) != 12 || c.Planned != 1 || len(c.Times) != 4 || c.Times[3].Kind != "test" || c.Times[3].Planned != 900 || c.Times[3].Spent != 900 || c.Times[0].Spent != 0 {
		t.Errorf("%d students, %d sessions: %+v", len(c.Students), c.Planned, c.Times)
	}
	wantError(t, "no such programme", failure(h.cohorts.Cohort(ctx, coach, "none", academy.CohortFilter{})), domain.NotFound, "not_found")
	if got := academy.CohortBys(); !slices.Equal(got, []academy.CohortBy{academy.ByVersion, academy.ByGroup}) {
		t.Errorf("%v", got)
	}
}
