package academy_test

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
)

// taught plans a lesson of Ada's by the coach, so many days from now.
func (h *fixture) taught(days int, cue string) academy.Lesson {
	h.t.Helper()
	l := must(h.mem.Lessons().Plan(ctx, coach, academy.PlanRequest{Students: []domain.ID{ada}, First: h.mem.Now().AddDate(0, 0, days)}))(h.t)[0]
	if cue == "" {
		return l
	}
	return must(h.mem.Lessons().Change(ctx, coach, l.ID, 1, academy.LessonChange{StartsAt: l.StartsAt, Minutes: 45, Cue: cue, Drill: "Two tees.", Notes: "Weak grip."}))(h.t)
}

func TestPlanLessons(t *testing.T) {
	h := open(t)
	lessons := h.mem.Lessons()
	must(h.people.Consent(ctx, guardian, june, agreed))(t)
	at := time.Date(2026, time.May, 6, 9, 30, 31, 0, time.UTC)
	all := must(lessons.Plan(ctx, owner, academy.PlanRequest{Students: []domain.ID{ben, ada}, First: at, Minutes: 25}))(t)
	if len(all) != 2 || all[0].Student != ben || !all[0].StartsAt.Equal(at.Truncate(time.Minute)) || !all[1].StartsAt.Equal(at.Truncate(time.Minute).Add(25*time.Minute)) ||
		all[1].Coach != owner.Member || all[1].Revision != 1 || all[1].StudentName == "" {
		t.Errorf("planned %+v", all)
	}
	h.wantEvent(owner, "lesson.planned", all[1].ID, ada, map[string]any{"starts_at": all[1].StartsAt, "minutes": 25})
	if l := h.taught(1, ""); l.Minutes != academy.UsualLesson {
		t.Errorf("a lesson takes %d minutes unless it is said", l.Minutes)
	}
	log := len(h.mem.Events(hollow))
	wantError(t, "one of them hidden", failure(lessons.Plan(ctx, coach, academy.PlanRequest{Students: []domain.ID{ada, ben}, First: at})), domain.NotFound, "not_found")
	h.wantNoEvent(log)
	many := make([]domain.ID, 61)
	for i := range many {
		many[i] = domain.ID(fmt.Sprint("s", i))
	}
	for what, c := range map[string]struct {
		r    academy.PlanRequest
		want []string
	}{
		"nobody":      {academy.PlanRequest{First: at}, []string{"/student_ids", "names 0 students; name 1 to 60"}},
		"too many":    {academy.PlanRequest{Students: many, First: at}, []string{"/student_ids", "names 61 students; name 1 to 60"}},
		"twice":       {academy.PlanRequest{Students: []domain.ID{ada, ada}, First: at}, []string{"/student_ids", "names a student twice; name each once"}},
		"no time":     {academy.PlanRequest{Students: []domain.ID{ada}}, []string{"/starts_at", "is missing; give when the lesson begins"}},
		"far off":     {academy.PlanRequest{Students: []domain.ID{ada}, First: now.AddDate(2, 0, 1)}, []string{"/starts_at", "is 2028-05-05; give a time of the last ten years or the next two"}},
		"long ago":    {academy.PlanRequest{Students: []domain.ID{ada}, First: now.AddDate(-10, 0, -1)}, []string{"/starts_at", "is 2016-05-03; give a time of the last ten years or the next two"}},
		"too short":   {academy.PlanRequest{Students: []domain.ID{ada}, First: at, Minutes: 4}, []string{"/minutes", "is 4; give 5 to 480 minutes"}},
		"much longer": {academy.PlanRequest{Students: []domain.ID{ada}, First: at, Minutes: 481}, []string{"/minutes", "is 481; give 5 to 480 minutes"}},
	} {
		wantFields(t, what, failure(lessons.Plan(ctx, owner, c.r)), c.want...)
	}
}

func TestChangeLesson(t *testing.T) {
	h := open(t)
	lessons := h.mem.Lessons()
	l := h.taught(0, "Brush the grass")
	if l.Revision != 2 || l.Cue != "Brush the grass" || l.Minutes != 45 || l.Notes != "Weak grip." {
		t.Errorf("changed to %+v", l)
	}
	h.wantEvent(coach, "lesson.changed", l.ID, ada, map[string]any{"revision": 2, "starts_at": l.StartsAt, "minutes": 45, "cue": true})
	change := academy.LessonChange{StartsAt: l.StartsAt, Minutes: 45}
	wantError(t, "stale", failure(lessons.Change(ctx, coach, l.ID, 1, change)), domain.Stale, "stale")
	wantError(t, "hidden", failure(lessons.Change(ctx, coach2, l.ID, 0, change)), domain.NotFound, "not_found")
	change.Cue, change.Drill, change.Notes = strings.Repeat("ö", 141), strings.Repeat("ö", 501), strings.Repeat("ö", 4001)
	wantFields(t, "too much", failure(lessons.Change(ctx, coach, l.ID, 0, change)), "/cue", "has 141 characters; use at most 140",
		"/drill", "has 501 characters; use at most 500", "/notes", "has 4001 characters; use at most 4000")
	change.Cue, change.Drill, change.Notes = "One\ntwo", "", ""
	wantFields(t, "lines", failure(lessons.Change(ctx, coach, l.ID, 0, change)), "/cue", "has several lines; a cue is one thing in one line")

	junes := must(lessons.Plan(ctx, owner, academy.PlanRequest{Students: []domain.ID{june}, First: now}))(t)[0]
	for what, c := range map[string]academy.LessonChange{"cue": {Cue: "Soft"}, "drill": {Drill: "Ten"}, "notes": {Notes: "Shy"}} {
		c.StartsAt, c.Minutes = now, 30
		wantError(t, "a junior's "+what, failure(lessons.Change(ctx, owner, junes.ID, 0, c)), domain.Conflict, "consent_missing")
	}
	must(lessons.Change(ctx, owner, junes.ID, 0, academy.LessonChange{StartsAt: now.Add(time.Hour), Minutes: 30}))(t) // a time alone tells nothing
}

func TestWhoReadsALesson(t *testing.T) {
	h := open(t)
	lessons, media := h.mem.Lessons(), h.mem.LessonMedia()
	past, coming := h.taught(0, "Brush the grass"), h.taught(9, "Soft hands")
	for _, l := range []academy.Lesson{past, coming} {
		must(media.Add(ctx, coach, l.ID, 30, clip(9)))(t)
	}
	app := domain.Actor{Academy: hollow, Member: coach.Member, Role: domain.Coach, App: "a"}
	for what, c := range map[string]struct {
		who          domain.Actor
		notes, media bool
		ahead        bool
	}{
		"the coach": {coach, true, true, true}, "the owner": {owner, true, true, true}, "the student": {domaintest.AsAda, false, true, false},
		"software": {key, false, false, false}, "a coach's app": {app, false, false, false},
	} {
		got := must(lessons.Get(ctx, c.who, past.ID))(t)
		if got.Cue != past.Cue || (got.Notes != "") != c.notes || (len(got.Media) > 0) != c.media {
			t.Errorf("%s reads %+v", what, got)
		}
		next := must(lessons.Get(ctx, c.who, coming.ID))(t)
		if (next.Cue != "") != c.ahead || (next.Drill != "") != c.ahead || (len(next.Media) > 0) != c.ahead || next.StartsAt.IsZero() {
			t.Errorf("%s reads of one to come %+v", what, next)
		}
	}
	list := must(lessons.List(ctx, domaintest.AsAda, academy.LessonFilter{Limit: 9}))(t)
	if len(list) != 2 || list[0].Cue != "" || list[1].Cue != past.Cue || list[1].Notes != "" {
		t.Errorf("the student's list is %+v", list)
	}
	if l, ok := academy.StandingCue(list, may(4), time.UTC); !ok || l.ID != past.ID {
		t.Errorf("the cue that stands is of %+v, %v", l, ok)
	}
	if _, ok := academy.StandingCue(list, may(3), time.UTC); ok {
		t.Error("a cue stands before its day")
	}
	h.mem.Set(now.AddDate(0, 0, 9).Truncate(24 * time.Hour)) // the morning of the next
	list = must(lessons.List(ctx, domaintest.AsAda, academy.LessonFilter{Student: ada, Limit: 9}))(t)
	if l, _ := academy.StandingCue(list, may(13), time.UTC); l.Cue != coming.Cue {
		t.Errorf("on its day the cue is %q", l.Cue)
	}
	for what, err := range map[string]error{
		"get": failure(lessons.Get(ctx, coach2, past.ID)), "list": failure(lessons.List(ctx, coach2, academy.LessonFilter{Student: ada, Limit: 9})),
		"prepare": failure(lessons.Prepare(ctx, coach2, past.ID)), "delete": lessons.Delete(ctx, coach2, past.ID), "absent": failure(lessons.Get(ctx, coach, "no")),
		"media": failure(media.Add(ctx, coach2, past.ID, 30, clip(9))), "a photo": failure(media.Find(ctx, coach2, past.ID, past.ID)), "absent media": failure(media.Add(ctx, coach, "no", 30, clip(9))),
	} {
		wantError(t, what, err, domain.NotFound, "not_found")
	}
	if got := must(lessons.List(ctx, coach2, academy.LessonFilter{Limit: 9}))(t); len(got) != 0 {
		t.Errorf("another coach lists %+v", got)
	}
	if err := lessons.Delete(ctx, coach, past.ID); err != nil {
		t.Fatal(err)
	}
	h.wantEvent(coach, "lesson.deleted", past.ID, ada, map[string]any{"media": 1})
	if use := must(media.Use(ctx, coach))(t); use != (academy.MediaUse{Count: 1, Bytes: 9}) {
		t.Errorf("left is %+v", use)
	}
}

func TestPrepare(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	lessons := h.mem.Lessons()
	h.mem.Set(now.AddDate(0, 0, 20))
	h.practised(ada, "s1", now.Add(time.Hour), h.pitch.ID, 2, as.ID, 1)
	h.practised(ada, "s2", now.AddDate(0, 0, 2), h.pitch.ID, 2, as.ID, 1)
	first := h.taught(-15, "Brush the grass") // of 9 May
	second := h.taught(0, "")
	later := practice.Session{ID: "s3", Student: ada, StartedAt: now.AddDate(0, 0, 10), EndedAt: now.AddDate(0, 0, 10).Add(time.Hour), TimeZone: "UTC", Revision: 1, Note: "Windy.",
		Blocks: []practice.Block{testBlock(h.pitch.ID, 3), testBlock(h.chip.ID, 2)}}
	must(h.practice.Put(ctx, owner, later))(t)

	p := must(lessons.Prepare(ctx, coach, first.ID))(t)
	if p.Previous != nil || !p.Since.Equal(first.StartsAt.AddDate(0, 0, -28)) || p.Lesson.Notes == "" {
		t.Errorf("the first is prepared by %+v", p)
	}
	p = must(lessons.Prepare(ctx, coach, second.ID))(t)
	if p.Previous == nil || p.Previous.Cue != first.Cue || !p.Since.Equal(first.StartsAt) || p.Row.Student.ID != ada {
		t.Errorf("previous is %+v since %v", p.Previous, p.Since)
	}
	if p.Practice.Sessions != 1 || p.Practice.Balls != 5 {
		t.Errorf("practised since: %+v, want 5 balls in one session", p.Practice)
	}
	if want := []academy.Written{{Kind: academy.WrittenNote, Session: "s3", Text: "Windy.", At: later.StartedAt}}; !reflect.DeepEqual(p.Written, want) {
		t.Errorf("written: %+v", p.Written)
	}
	for _, s := range p.Skills {
		if s.State.Skill != h.pitch.ID {
			continue
		}
		if s.Before == nil || s.Now == nil || s.Before.Mean >= s.Now.Mean || s.Since.Balls != 3 || len(s.Passed) != 0 || !s.Stuck || s.Radius == 0 {
			t.Errorf("the pitch is %+v", s)
		}
	}
	h.practised(ada, "s4", now.AddDate(0, 0, 12), h.pitch.ID, 20, as.ID, 2)
	p = must(lessons.Prepare(ctx, coach, second.ID))(t)
	for _, s := range p.Skills {
		if s.State.Skill == h.pitch.ID && (len(s.Passed) == 0 || s.Stuck) {
			t.Errorf("after a step was passed: %+v", s)
		}
	}
}

// clip is a clip of so many bytes.
func clip(size int) academy.Content {
	return academy.Content{Type: "video/mp4", Bytes: bytes.Repeat([]byte{7}, size)}
}

func TestAddMedia(t *testing.T) {
	h := open(t)
	media := h.mem.LessonMedia()
	l := h.taught(0, "Brush the grass")
	m := must(media.Add(ctx, coach, l.ID, 1, clip(academy.MediaPart+1)))(t)
	if m.KeepUntil != may(4) || m.By != coach.Member || m.Size != academy.MediaPart+1 || m.Parts() != 2 {
		t.Errorf("kept %+v", m)
	}
	h.wantEvent(coach, "lesson-media.added", l.ID, ada, map[string]any{"type": "video/mp4", "size": m.Size, "keep_until": "2026-05-04"})
	if got := must(media.Find(ctx, domaintest.AsAda, l.ID, m.ID))(t); got != m {
		t.Errorf("found %+v, want %+v", got, m)
	}
	if part := must(media.Part(ctx, domaintest.AsAda, m, 1))(t); len(part) != 1 {
		t.Errorf("the second part has %d bytes", len(part))
	}
	for what, c := range map[string]struct {
		days    int
		content academy.Content
		field   string
		say     string
	}{
		"no days":   {0, clip(1), "/days", "is 0; give the 1 to 365 days that you agreed with the student"},
		"many days": {366, clip(1), "/days", "is 366; give the 1 to 365 days that you agreed with the student"},
		"nothing":   {9, clip(0), "", "is no photo or clip; send a JPEG or PNG photo, or an MP4 or WebM clip"},
		"a page":    {9, academy.Content{Type: "text/html", Bytes: []byte("x")}, "", "is no photo or clip; send a JPEG or PNG photo, or an MP4 or WebM clip"},
		"too large": {9, clip(academy.MaxMedia + 1), "", "is 8 MB; send at most 8 MB"},
	} {
		wantFields(t, what, failure(media.Add(ctx, coach, l.ID, c.days, c.content)), c.field, c.say)
	}
	for range 5 {
		must(media.Add(ctx, coach, l.ID, 365, clip(1)))(t)
	}
	wantError(t, "a seventh", failure(media.Add(ctx, coach, l.ID, 9, clip(1))), domain.Conflict, "media_many")
	if err := media.Delete(ctx, domaintest.AsAda, l.ID, m.ID); err != nil {
		t.Fatal(err)
	}
	h.wantEvent(domaintest.AsAda, academy.MediaDeleted, l.ID, ada, map[string]any{"why": "asked"})
	wantError(t, "deleted", media.Delete(ctx, coach, l.ID, m.ID), domain.NotFound, "not_found")
}

func TestMediaQuota(t *testing.T) {
	h := open(t)
	media := h.mem.LessonMedia()
	l := h.taught(0, "")
	err := media.Store.Write(ctx, hollow, func(tx academy.MediaStore) error {
		return tx.AddMedia(ctx, academy.Media{ID: "big", Lesson: l.ID, Student: ada, Type: "video/mp4", Size: academy.MediaQuota - 9, KeepUntil: may(30)}, nil)
	})
	if err != nil {
		t.Fatal(err)
	}
	must(media.Add(ctx, coach, l.ID, 9, clip(9)))(t)
	wantError(t, "a byte too many", failure(media.Add(ctx, coach, l.ID, 9, clip(1))), domain.Conflict, "media_full")
}

// A junior's photo needs a guardian's word, and goes once that is taken back.
func TestJuniorsMedia(t *testing.T) {
	h := open(t)
	media := h.mem.LessonMedia()
	l := must(h.mem.Lessons().Plan(ctx, owner, academy.PlanRequest{Students: []domain.ID{june}, First: now}))(t)[0]
	say := func(given bool, agreed *bool) {
		must(h.people.Consent(ctx, guardian, june, academy.ConsentChange{Given: given, Media: agreed}))(t)
	}
	wantError(t, "no consent", failure(media.Add(ctx, owner, l.ID, 9, clip(9))), domain.Conflict, "consent_missing")
	say(true, nil)
	wantError(t, "not to media", failure(media.Add(ctx, owner, l.ID, 9, clip(9))), domain.Conflict, "media_not_agreed")
	say(true, new(true))
	m := must(media.Add(ctx, owner, l.ID, 9, clip(9)))(t)
	must(media.Find(ctx, guardian, l.ID, m.ID))(t)
	if n := must(media.Expire(ctx, hollow))(t); n != 0 {
		t.Errorf("%d were deleted that were agreed to", n)
	}
	say(true, new(false))
	wantError(t, "taken back", failure(media.Find(ctx, owner, l.ID, m.ID)), domain.NotFound, "not_found")
	if n := must(media.Expire(ctx, hollow))(t); n != 1 {
		t.Errorf("%d were deleted, want 1", n)
	}
	log := h.mem.Events(hollow)
	if e := log[len(log)-1]; e.Kind != academy.MediaDeleted || e.Data["why"] != "consent" || e.Student != june || e.Actor != "" {
		t.Errorf("told %+v", e)
	}
}

// Media are kept through their last day, which is the student's own.
func TestExpire(t *testing.T) {
	h := open(t)
	media := h.mem.LessonMedia()
	l := h.taught(0, "")
	m := must(media.Add(ctx, coach, l.ID, 3, clip(9)))(t) // 4, 5 and 6 May
	zone := time.UTC
	if of := must(h.people.Member(ctx, coach, ada))(t); of.Zone() != nil {
		zone = of.Zone()
	}
	end := may(7).Start(zone)
	h.mem.Set(end.Add(-time.Minute))
	must(media.Find(ctx, domaintest.AsAda, l.ID, m.ID))(t)
	if n := must(media.Expire(ctx, hollow))(t); n != 0 {
		t.Errorf("%d were deleted on the last day", n)
	}
	h.mem.Set(end)
	wantError(t, "after the last day", failure(media.Find(ctx, domaintest.AsAda, l.ID, m.ID)), domain.NotFound, "not_found")
	for range 5 {
		must(media.Add(ctx, coach, l.ID, 1, clip(1)))(t)
	}
	for range 9 { // more than are deleted at once
		more := h.taught(0, "")
		for range 6 {
			must(media.Add(ctx, coach, more.ID, 1, clip(1)))(t)
		}
	}
	h.mem.Set(end.AddDate(0, 0, 2))
	if n := must(media.Expire(ctx, hollow))(t); n != 60 {
		t.Errorf("%d were deleted, want 60", n)
	}
	if use := must(media.Use(ctx, coach))(t); use.Count != 0 {
		t.Errorf("left are %+v", use)
	}
}
