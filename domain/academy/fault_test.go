package academy_test

import (
	"errors"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/domaintest"
)

// TestEveryFault: whichever store call fails, the failure comes out and nothing
// is kept.
func TestEveryFault(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 9, as.ID, 1)
	h.pitch.Text = "Up."
	must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, h.pitch))(t)
	h.pitch.Ladder.Tiers[0].Run = 8
	must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, h.pitch))(t)
	h.publish()
	must(h.mem.Rounds().Put(ctx, coach, aRound(ada, "r0", 1)))(t)
	g := must(h.people.CreateGroup(ctx, owner, "G", []domain.ID{ben}))(t)
	lesson := h.taught(-1, "Brush the grass")
	media := must(h.mem.LessonMedia().Add(ctx, coach, lesson.ID, 9, clip(9)))(t)
	s, r, page := h.people, h.reading, domain.Page{Limit: 9}
	name := academy.MemberChange{Name: new("New")}
	for _, c := range []struct {
		what string
		do   func() error
	}{
		{"Academy", func() error { return failure(s.Academy(ctx, coach)) }},
		{"ChangeAcademy", func() error {
			return failure(s.ChangeAcademy(ctx, owner, academy.SettingsChange{Name: new("New"), TimeZone: new("UTC")}))
		}},
		{"Members", func() error { return failure(s.Members(ctx, coach, academy.MemberFilter{}, page)) }},
		{"Member", func() error { return failure(s.Member(ctx, coach, ada)) }},
		{"ChangeMember", func() error { return failure(s.ChangeMember(ctx, coach, ada, 0, name)) }},
		{"RemoveMember", func() error { return s.RemoveMember(ctx, owner, domaintest.Coach2ID) }},
		{"Link", func() error { return s.Link(ctx, owner, domaintest.CoachID, ben, true) }},
		{"CoachesOf", func() error { return failure(s.CoachesOf(ctx, coach, ada)) }},
		{"Consent", func() error { return failure(s.Consent(ctx, guardian, june, agreed)) }},
		{"Groups", func() error { return failure(s.Groups(ctx, coach, page)) }},
		{"Group", func() error { return failure(s.Group(ctx, coach, g.ID)) }},
		{"CreateGroup", func() error { return failure(s.CreateGroup(ctx, coach, "H", []domain.ID{ada})) }},
		{"ChangeGroup", func() error { return failure(s.ChangeGroup(ctx, owner, g.ID, 0, "H", []domain.ID{june})) }},
		{"Assign", func() error {
			return failure(s.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Group: g.ID, Students: []domain.ID{june}, Start: may(4)}))
		}},
		{"Assignment", func() error { _, _, err := s.Assignment(ctx, coach, as.ID); return err }},
		{"Assignments", func() error { return failure(s.Assignments(ctx, coach, academy.AssignmentFilter{}, page)) }},
		{"Pause", func() error { return failure(s.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(20)})) }},
		{"Move", func() error { return failure(s.Move(ctx, coach, as.ID, 0, 2, true)) }},
		{"Many", func() error {
			results, err := s.Many(ctx, coach, academy.ManyRequest{Action: academy.PauseAll, Students: []domain.ID{june}, Group: g.ID, Pause: academy.Pause{From: may(29)}})
			for _, r := range results {
				err = errors.Join(err, r.Err)
			}
			return err
		}},
		{"GroupProgrammes", func() error { return failure(s.GroupProgrammes(ctx, coach, g.ID)) }},
		{"CheckGift", func() error {
			return s.CheckGift(ctx, coach, academy.AssignRequest{Programme: h.programme, Version: 1, Start: may(4)})
		}},
		{"GiveOnJoining", func() error {
			return s.GiveOnJoining(ctx, coach, ben, now, academy.AssignRequest{Programme: h.programme, Version: 1, Start: may(4)})
		}},
		{"Now", func() error { return failure(r.Now(ctx, coach, ada)) }},
		{"Learning", func() error { return failure(r.Learning(ctx, coach, ada)) }},
		{"Quiet", func() error { _, _, err := h.mem.Quiet().Say(ctx, coach, ada, true); return err }},
		{"Progress", func() error { return failure(r.Progress(ctx, coach, ada)) }},
		{"PutRound", func() error { return failure(h.mem.Rounds().Put(ctx, coach, aRound(ada, "r1", 1))) }},
		{"GetRound", func() error { return failure(h.mem.Rounds().Get(ctx, coach, "r0")) }},
		{"Rounds", func() error {
			return failure(h.mem.Rounds().List(ctx, coach, academy.RoundFilter{Student: ada, Limit: 9}))
		}},
		{"Course", func() error { return failure(h.mem.Rounds().Course(ctx, coach, ada)) }},
		{"DeleteRound", func() error { return h.mem.Rounds().Delete(ctx, owner, "r0", "", 2) }},
		{"TakenRound", func() error {
			if err := failure(h.mem.Rounds().Put(ctx, owner, aRound(ben, "r0", 3))); domain.KindOf(err) != domain.Conflict {
				return err
			}
			return nil
		}},
		{"PlanLessons", func() error {
			return failure(h.mem.Lessons().Plan(ctx, coach, academy.PlanRequest{Students: []domain.ID{ada}, First: now}))
		}},
		{"ChangeLesson", func() error {
			return failure(h.mem.Lessons().Change(ctx, coach, lesson.ID, 0, academy.LessonChange{StartsAt: now, Minutes: 30, Cue: "Soft"}))
		}},
		{"GetLesson", func() error { return failure(h.mem.Lessons().Get(ctx, coach, lesson.ID)) }},
		{"Lessons", func() error {
			return failure(h.mem.Lessons().List(ctx, coach, academy.LessonFilter{Student: ada, Limit: 9}))
		}},
		{"Prepare", func() error { return failure(h.mem.Lessons().Prepare(ctx, coach, lesson.ID)) }},
		{"AddMedia", func() error { return failure(h.mem.LessonMedia().Add(ctx, coach, lesson.ID, 9, clip(1))) }},
		{"FindMedia", func() error { return failure(h.mem.LessonMedia().Find(ctx, coach, lesson.ID, media.ID)) }},
		{"MediaPart", func() error { return failure(h.mem.LessonMedia().Part(ctx, coach, media, 0)) }},
		{"MediaUse", func() error { return failure(h.mem.LessonMedia().Use(ctx, coach)) }},
		{"DeleteMedia", func() error { return h.mem.LessonMedia().Delete(ctx, coach, lesson.ID, media.ID) }},
		{"DeleteLesson", func() error { return h.mem.Lessons().Delete(ctx, coach, lesson.ID) }},
		{"History", func() error { return failure(r.History(ctx, coach, ada, h.pitch.ID)) }},
		{"Dashboard", func() error { return failure(r.Dashboard(ctx, coach, academy.DashboardFilter{})) }},
		{"Cohort", func() error {
			return failure(academy.CohortService{Store: h.mem.Cohorts(), Env: h.mem.Env()}.Cohort(ctx, coach, h.programme, academy.CohortFilter{}))
		}},
		{"Acknowledge", func() error {
			return failure(h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ada, Skill: h.pitch.ID, Reason: advice.Flat}, 1))
		}},
		{"Acknowledge no more", func() error {
			return failure(h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ada, Reason: advice.Flat}, 0))
		}},
		{"NextWeek", func() error { return failure(h.mem.Proposing().NextWeek(ctx, coach, "", advice.Reader{})) }},
		{"DeleteGroup", func() error { return s.DeleteGroup(ctx, owner, g.ID, 0) }},
		{"End", func() error { return failure(s.End(ctx, coach, as.ID, 0)) }},
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, c.do); err != nil {
			t.Errorf("%s: %v", c.what, err)
		}
	}
}
