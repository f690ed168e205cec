package integration_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	ics "github.com/emersion/go-ical"

	"fringework/api"
	"fringework/domain"
)

// A student's season is read and set by the student and by who teaches them. A
// competition's date moves what is proposed for the next three weeks, and back, byte for
// byte; accepted in one request it is undone again. The calendar shows it.
func testSeason(t *testing.T, s *service) {
	a := s.open(t, "Seasoned")
	adult := a.coach.join("Adelheid Seasoned", object{"role": "student"})
	path := "/v1/students/" + string(adult.id) + "/season"
	if none := read[api.Season](adult.caller, path); none.Goal != "" || none.ChangedAt != nil || len(none.Competitions) != 0 {
		t.Errorf("before it is set: %+v", none)
	}
	skill := a.coach.skill("Pitch", pitchSteps()).ID
	content := course("Towards May", slices.Repeat([]domain.ID{skill}, 12)...)
	for _, w := range content["weeks"].([]object) {
		w["plans"].([]object)[0]["blocks"] = []object{block("technique", 40), block("playout", 30), block("test", 30)}
	}
	a.coach.assign(a.coach.publish(content), ago(24*8), adult)
	adult.practise(ago(24), test(skill, strings.Repeat(in(3)+"..", 8)))

	const proposals = "/v1/proposals"
	next := func() []byte { t.Helper(); return a.coach.get(proposals).want(200).body }
	without := next()
	monday, err := time.Parse(time.DateOnly, read[api.Proposals](a.coach.caller, proposals).Students[0].Monday)
	if err != nil {
		t.Fatal(err)
	}
	day := func(n int) string { return monday.AddDate(0, 0, n).Format(time.DateOnly) }
	var set api.Season
	adult.put(path, object{"goal": "Half of them up and down", "competitions": []object{{"name": "Spring cup", "date": day(19)}}}).want(200).into(&set)
	if set.Goal != "Half of them up and down" || len(set.Competitions) != 1 || set.Competitions[0].Days != 1 || set.Competitions[0].ID == "" || set.ChangedAt == nil {
		t.Errorf("set: %+v", set)
	}
	tapers := func() (all []api.AdjustmentBody) {
		t.Helper()
		for _, x := range read[api.Proposals](a.coach.caller, proposals).Students[0].Items {
			if x.Move == "taper" {
				all = append(all, *x.Adjustment)
			}
		}
		return all
	}
	from := func(all []api.AdjustmentBody) (days []string) {
		for _, b := range all {
			days = append(days, b.From+" "+b.Until)
		}
		return days
	}
	first, weeks := next(), tapers()
	if got := from(weeks); !slices.Equal(got, []string{day(0) + " " + day(6), day(7) + " " + day(13), day(14) + " " + day(18)}) {
		t.Fatalf("proposed for %v; want the three weeks before %s", got, day(19))
	}
	if b := weeks[0]; b.Kind != "shares" || b.Shares[0] != (api.KindShare{Kind: "playout", Share: 40}) || b.Shares[1] != (api.KindShare{Kind: "technique", Share: 30}) || !strings.HasPrefix(b.Text, "Spring cup is on ") {
		t.Errorf("proposed %+v", b)
	}
	moveTo := func(date string) {
		t.Helper()
		c := set.Competitions[0]
		a.coach.put(path, object{"goal": set.Goal, "competitions": []object{{"id": c.ID, "name": c.Name, "date": date, "days": 2}}}).want(200)
	}
	moveTo(day(26))
	if got := from(tapers()); !slices.Equal(got, []string{day(7) + " " + day(13), day(14) + " " + day(20)}) {
		t.Errorf("a week later: proposed for %v", got)
	}
	moveTo(day(19))
	if back := next(); !bytes.Equal(back, first) {
		t.Errorf("moved back it is\n%s\nwant\n%s", back, first)
	}
	var results api.AdjustmentResults
	a.coach.post("/v1/adjustments", object{"items": weeks}).want(200).into(&results)
	for _, r := range results.Results {
		if r.Problem != nil {
			t.Fatalf("refused: %+v", r.Problem)
		}
	}
	if got := read[api.Proposals](a.coach.caller, proposals).Students[0]; len(got.Given) != 3 || len(tapers()) != 0 {
		t.Errorf("accepted: given %+v", got.Given)
	}
	for _, r := range results.Results {
		a.coach.post("/v1/adjustments/"+string(r.Adjustment.ID)+"/end", nil).want(200)
	}
	if back := next(); !bytes.Equal(back, first) {
		t.Errorf("undone it is\n%s\nwant\n%s", back, first)
	}

	calendar := func(p *person) map[string]ics.Event {
		t.Helper()
		at := s.caller(t).get(addressOf(made[api.CalendarLinkCreated](p.caller, "/v1/me/calendar", nil))).want(200)
		cal, err := ics.NewDecoder(bytes.NewReader(at.body)).Decode()
		if err != nil {
			t.Fatalf("%v\n%s", err, at.body)
		}
		found := map[string]ics.Event{}
		for _, e := range cal.Events() {
			summary, _ := e.Props.Text(ics.PropSummary)
			found[summary] = e
		}
		return found
	}
	cup, shown := calendar(adult)["Competition: Spring cup"]
	if !shown {
		t.Fatal("the calendar has no competition")
	}
	start, _ := cup.DateTimeStart(time.UTC)
	end, _ := cup.DateTimeEnd(time.UTC)
	if uid, _ := cup.Props.Text(ics.PropUID); start.Format(time.DateOnly) != day(19) || end.Sub(start) != 48*time.Hour || !strings.HasPrefix(uid, string(set.Competitions[0].ID)) {
		t.Errorf("it is from %v to %v, and called %s", start, end, uid)
	}
	junior := "/v1/students/" + string(a.student.id) + "/season"
	a.student.put(junior, object{"competitions": []object{{"name": "Against Tom", "date": day(19)}}}).want(200)
	if events := calendar(a.student); events["Competition"].Component == nil {
		t.Errorf("a junior's calendar has %v", events)
	}
	if got := read[api.Season](a.guardian.caller, junior); got.Competitions[0].Name != "Against Tom" {
		t.Errorf("the guardian reads %+v", got)
	}
	a.guardian.put(junior, object{}).problem(403, "role_refused")

	adult.put(path, object{}).want(200)
	if again := next(); !bytes.Equal(again, without) {
		t.Errorf("without a season it is\n%s\nwant\n%s", again, without)
	}
	adult.put(path, object{"off_season": object{"from": day(-9), "until": day(40)}}).want(200)
	if p := read[api.Proposals](a.coach.caller, proposals); !slices.ContainsFunc(p.Absent, func(x api.AbsentStudent) bool { return x.Student.ID == adult.id && x.Why == "off_season" }) {
		t.Errorf("in the off-season: %+v", p.Absent)
	}
	wrongAt(t, adult.put(path, object{"competitions": []object{{"name": "", "date": "2026-02-30"}}}).problem(422, "season_invalid"), "/competitions/0/name", "is empty")
	wrongAt(t, adult.put(path, object{"off_season": object{"from": day(3), "until": day(2)}}).problem(422, "season_invalid"), "/off_season/until", "before the first day")
	told := 0
	for _, e := range allEvents(a.owner.in(t).caller) {
		if e.Kind == "season.changed" && e.SubjectID == adult.id {
			told++
		}
	}
	if told != 5 {
		t.Errorf("the log has %d changes of the season, want 5", told)
	}
}
