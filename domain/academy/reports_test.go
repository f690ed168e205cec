package academy_test

import (
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

var aToken = [32]byte{1, 2, 3}

func TestShareReport(t *testing.T) {
	h := open(t)
	reports := h.mem.Reports()
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 9, as.ID, 1)
	l := must(reports.Share(ctx, coach, ada, 14, "A good spring.", aToken))(t)
	if !l.Expires.Equal(now.AddDate(0, 0, 14)) || l.By != coach.Member || l.Token != aToken || !l.Open(now) {
		t.Errorf("got %+v, want it open for a fortnight", l)
	}
	h.wantEvent(coach, "report.shared", l.ID, ada, map[string]any{"days": 14})
	shared := func() (academy.SharedReport, error) { return reports.Shared(ctx, hollow, aToken) }
	r := must(shared())(t)
	if r.Row.Student.ID != ada || r.Academy.Name != "Hollow Green" || r.By != "Carl" || r.Link.Words != "A good spring." || len(r.Work) != 1 || r.Work[0].Week == nil {
		t.Errorf("shown %+v, want Ada's with her week", r)
	}
	if r.Row.Skills[0].State.Held+r.Row.Skills[1].State.Held != 1 {
		t.Errorf("shown %+v, want one step passed", r.Row.Skills)
	}
	none := func(why string) {
		t.Helper()
		_, err := shared()
		wantError(t, why, err, domain.NotFound, "no_report")
	}
	if _, err := reports.Shared(ctx, hollow, [32]byte{9}); domain.KindOf(err) != domain.NotFound {
		t.Errorf("an unknown token: %v", err)
	}
	if _, err := reports.Shared(ctx, domaintest.Other, aToken); domain.KindOf(err) != domain.NotFound {
		t.Errorf("in another academy: %v", err)
	}
	if _, err := reports.Shared(ctx, "none", aToken); domain.KindOf(err) != domain.NotFound {
		t.Errorf("in no academy: %v", err)
	}
	h.mem.Pass(14*24*time.Hour - time.Second)
	must(shared())(t)
	h.mem.Pass(time.Second)
	none("expired")
	h.mem.Set(now)
	must(0, reports.Withdraw(ctx, coach, ada, l.ID))(t)
	h.wantEvent(coach, "report.withdrawn", l.ID, ada, nil)
	log := len(h.mem.Events(hollow))
	must(0, reports.Withdraw(ctx, coach, ada, l.ID))(t)
	h.wantNoEvent(log)
	none("withdrawn")
	if list := must(reports.Links(ctx, coach, ada))(t); len(list) != 1 || !list[0].Ended.Equal(now) || list[0].Open(now) {
		t.Errorf("listed %+v, want it ended", list)
	}
}

// What is no more to be shown: of one who left, and of a junior without consent.
func TestSharedReportEnds(t *testing.T) {
	h := open(t)
	reports := h.mem.Reports()
	wantError(t, "a junior without consent", failure(reports.Share(ctx, coach, june, 14, "", aToken)), domain.Conflict, "consent_missing")
	must(0, h.consent(true))(t)
	must(reports.Share(ctx, coach, june, 90, "", aToken))(t)
	if r := must(reports.Shared(ctx, hollow, aToken))(t); r.Row.Student.ID != june || len(r.Work) != 0 {
		t.Errorf("shown %+v, want June's", r)
	}
	must(0, h.consent(false))(t)
	wantError(t, "consent withdrawn", failure(reports.Shared(ctx, hollow, aToken)), domain.NotFound, "no_report")
	must(0, h.consent(true))(t)
	must(0, h.people.RemoveMember(ctx, owner, june))(t)
	wantError(t, "left", failure(reports.Shared(ctx, hollow, aToken)), domain.NotFound, "no_report")
}

func TestShareRefusals(t *testing.T) {
	h := open(t)
	reports := h.mem.Reports()
	for _, days := range []int{0, 91} {
		err := failure(reports.Share(ctx, coach, ada, days, "", aToken))
		wantFields(t, "days", err, "/days", "is "+map[int]string{0: "0", 91: "91"}[days]+"; give 1 to 90 days")
	}
	wantFields(t, "words", failure(reports.Share(ctx, coach, ada, 1, strings.Repeat("x", 2001), aToken)), "/words", "has 2001 characters; use at most 2000")
	absent := domain.ErrNotFound("student").Error()
	for what, err := range map[string]error{
		"sharing another coach's": failure(reports.Share(ctx, coach2, ada, 7, "", aToken)), "listing another coach's": failure(reports.Links(ctx, coach2, ada)),
		"withdrawing another coach's": reports.Withdraw(ctx, coach2, ada, "none"),
	} {
		if err == nil || err.Error() != absent {
			t.Errorf("%s: got %v, want %s", what, err, absent)
		}
	}
	if err := reports.Withdraw(ctx, coach, ada, "none"); domain.KindOf(err) != domain.NotFound {
		t.Errorf("withdrawing none: %v", err)
	}
	for i := range 20 {
		must(reports.Share(ctx, coach, ada, 1, "", [32]byte{byte(i + 50)}))(t)
	}
	wantError(t, "one too many", failure(reports.Share(ctx, coach, ada, 1, "", aToken)), domain.Conflict, "too_many_links")
	h.mem.Pass(24 * time.Hour)
	must(reports.Share(ctx, coach, ada, 1, "", aToken))(t) // those before have expired
}

func TestReportFaults(t *testing.T) {
	h := open(t)
	reports := h.mem.Reports()
	h.assign(ada, 4)
	l := must(reports.Share(ctx, coach, ada, 7, "", aToken))(t)
	for what, do := range map[string]func() error{
		"Share": func() error { return failure(reports.Share(ctx, coach, ada, 7, "", [32]byte{77})) }, "Links": func() error { return failure(reports.Links(ctx, coach, ada)) },
		"Shared": func() error { return failure(reports.Shared(ctx, hollow, aToken)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return reports.Withdraw(ctx, coach, ada, l.ID) }); err != nil {
		t.Error(err)
	}
}
