package academy_test

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

func (h *fixture) insights() academy.InsightService {
	return academy.InsightService{Store: h.mem.Insights(), Env: h.mem.Env()}
}

// played lets a student play pitches and chips, some inside, each at its circle.
func (h *fixture) played(student, id domain.ID, at time.Time, pitches, chips int) {
	h.t.Helper()
	s := practice.Session{ID: id, Student: student, StartedAt: at, EndedAt: at.Add(time.Hour), TimeZone: "UTC", Revision: 1}
	for skill, c := range map[domain.ID]struct {
		radius domain.Length
		inside int
	}{h.pitch.ID: {5 * domain.Foot, pitches}, h.chip.ID: {3 * domain.Foot, chips}} {
		b := practice.Block{Kind: curriculum.Test, Skill: skill, Radius: c.radius, Seconds: 900}
		for i := range 20 {
			ball := practice.Ball{Outcome: streak.Out}
			if i < c.inside {
				ball.Outcome = streak.In
			}
			b.Balls = append(b.Balls, ball)
		}
		s.Blocks = append(s.Blocks, b)
	}
	must(h.practice.Put(ctx, owner, s))(h.t)
}

// TestInsights: learned in the background from everybody, told with the levels
// of one's own students.
func TestInsights(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	h.assign(ben, 4)
	s := h.insights()
	before := must(s.Skill(ctx, coach, h.pitch.ID))(t)
	if !before.LearnedAt.IsZero() || len(before.Circles) > 0 || before.Insight.Skill != h.pitch.ID {
		t.Errorf("before anything was learned: %+v", before)
	}
	long := now.AddDate(0, 0, -400)
	for i, at := range []time.Time{long, now.AddDate(0, 0, -5), now.AddDate(0, 0, -2)} {
		h.played(ada, domain.ID("a"+string('0'+rune(i))), at, 15, 9)
		h.played(ben, domain.ID("b"+string('0'+rune(i))), at, 12, 4)
	}
	if err := s.Learn(ctx, hollow); err != nil {
		t.Fatal(err)
	}
	got := must(s.Skill(ctx, coach, h.pitch.ID))(t)
	if !got.LearnedAt.Equal(now) || len(got.Circles) != 1 || got.Levels != nil {
		t.Fatalf("%+v", got)
	}
	// Two students are too few to tell, which is told; what is too old is left out.
	if c := got.Circles[0]; c.Radius != 5*domain.Foot || c.Students != 2 || c.Balls != 80 || c.CannotTell != estimate.FewStudents {
		t.Errorf("%+v", c)
	}
	if got.Fade.CannotTell != estimate.FewBreaks {
		t.Errorf("%+v", got.Fade)
	}
	for name, c := range map[string]struct {
		actor domain.Actor
		sees  []domain.ID
	}{"coach": {coach, []domain.ID{ada}}, "coach2": {coach2, []domain.ID{ben}}, "owner": {owner, []domain.ID{ada, ben}}, "key": {key, []domain.ID{ada, ben}}} {
		told := must(s.Skill(ctx, c.actor, h.pitch.ID))(t).Students
		if len(told) != len(c.sees) {
			t.Errorf("%s sees %+v, want %v", name, told, c.sees)
			continue
		}
		for i, id := range c.sees {
			if told[i].Student.ID != id || told[i].StudentLevel.Student != string(id) || told[i].Balls != 80 || told[i].LevelInterval80.Lo >= told[i].Level {
				t.Errorf("%s sees %+v, want %s", name, told[i], id)
			}
		}
	}
	all := must(s.Skill(ctx, owner, h.pitch.ID))(t).Students
	if all[0].Level <= all[1].Level {
		t.Errorf("Ada, who is better, has the level %v, Ben %v", all[0].Level, all[1].Level)
	}

	// Learned again only when there is something new.
	h.mem.Pass(time.Hour)
	if err := s.Learn(ctx, hollow); err != nil {
		t.Fatal(err)
	}
	if again := must(s.Skill(ctx, owner, h.chip.ID))(t); !again.LearnedAt.Equal(now) {
		t.Errorf("learned again at %v", again.LearnedAt)
	}
	h.played(ada, "a9", now, 3, 1)
	if err := s.Learn(ctx, hollow); err != nil {
		t.Fatal(err)
	}
	if again := must(s.Skill(ctx, owner, h.chip.ID))(t); !again.LearnedAt.Equal(now.Add(time.Hour)) || again.Circles[0].Balls != 100 {
		t.Errorf("after more practice: %+v", again)
	}
}

// TestInsightsOfAYear: fading is learned from the period that it is and the
// eleven before.
func TestInsightsOfAYear(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	first := time.UnixMilli(int64(progress.PeriodOf(now)-11) * 30 * 24 * 3_600_000).UTC()
	for i, at := range []time.Time{first.AddDate(0, 0, -12), first, first.AddDate(0, 0, 12), first.AddDate(0, 0, 24)} {
		h.played(ada, domain.ID("a"+string('0'+rune(i))), at, 15, 9)
	}
	if err := h.insights().Learn(ctx, hollow); err != nil {
		t.Fatal(err)
	}
	// The first of three breaks began before that.
	if f := must(h.insights().Skill(ctx, coach, h.pitch.ID))(t).Fade; f.Breaks != 2 || f.Students != 1 {
		t.Errorf("%+v, want two breaks", f)
	}
}

// TestInsightsOfNoSkill: another academy's skill is not there.
func TestInsightsOfNoSkill(t *testing.T) {
	h := open(t)
	for name, a := range map[string]domain.Actor{"coach": coach, "other owner": domaintest.AsOther} {
		skill := h.pitch.ID
		if name == "coach" {
			skill = "none"
		}
		_, err := h.insights().Skill(ctx, a, skill)
		wantError(t, name, err, domain.NotFound, "not_found")
	}
}

// TestInsightFaults: whichever store call fails, the failure comes out.
func TestInsightFaults(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	h.played(ada, "a0", now.AddDate(0, 0, -5), 15, 9)
	s := h.insights()
	for name, do := range map[string]func() error{
		"learn": func() error { return s.Learn(ctx, hollow) },
		"read":  func() error { return failure(s.Skill(ctx, owner, h.pitch.ID)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A transaction that is run again learns nothing twice.
	h.played(ada, "a1", now.AddDate(0, 0, -2), 15, 9)
	h.mem.Retry(2)
	if err := s.Learn(ctx, hollow); err != nil {
		t.Fatal(err)
	}
	if got := must(s.Skill(ctx, owner, h.pitch.ID))(t); got.Circles[0].Balls != 40 || len(got.Students) != 1 {
		t.Errorf("run three times: %+v", got)
	}
}
