package integration_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"fringework/api"
)

var (
	asTable = header("Accept", "text/csv")
	ofTable = header("Content-Type", "text/csv")
)

// table reads an exported table with the standard library's reader.
func table(t testing.TB, a answer) (rows []map[string]string) {
	t.Helper()
	if media := a.want(200).header.Get("Content-Type"); media != "text/csv; charset=utf-8" {
		t.Errorf("%s comes as %s", a.what, media)
	}
	records, err := csv.NewReader(bytes.NewReader(a.body)).ReadAll()
	if err != nil || len(records) == 0 {
		t.Fatalf("%s: %v\n%s", a.what, err, a.body)
	}
	for _, r := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[name] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// lines reads an export of lines.
func lines[T any](t testing.TB, a answer) (rows []T) {
	t.Helper()
	for dec := json.NewDecoder(bytes.NewReader(a.want(200).body)); dec.More(); {
		var row T
		if err := dec.Decode(&row); err != nil {
			t.Fatalf("%s: %v\n%s", a.what, err, a.body)
		}
		rows = append(rows, row)
	}
	return rows
}

// Everything of a kind comes at once, to those who may read it.
func testExports(t *testing.T, s *service) {
	a := s.open(t, "Exporter")
	skill := a.coach.teach(a.student, "=HYPERLINK(\"Pitch\")", pitchSteps())
	card := object{"kind": "warmup", "skill_id": skill, "radius_m": wide, "seconds": 60, "attested": object{"balls": 9, "inside": 4, "holed": 1, "best_run": 2}}
	noted := sessionBody(1, ago(50), test(skill, in(6)), card)
	noted["note"] = "@home, \"wet\"\nand cold"
	a.student.store(newID(), noted, 201)
	a.student.practise(ago(40), test(skill, "+.+"))
	other := a.owner.join("Hidden Student", object{"role": "student"})
	other.practise(ago(30), test(skill, in(1)))

	sessions := table(t, a.coach.get("/v1/exports/sessions", asTable))
	if len(sessions) != 2 || sessions[0]["balls"] != "3" || sessions[1]["note"] != "'@home, \"wet\"\nand cold" || sessions[1]["card_inside"] != "4" || sessions[1]["seconds"] != "960" {
		t.Errorf("the coach's sessions are %v", sessions)
	}
	if all := lines[api.ExportedSession](t, a.owner.get("/v1/exports/sessions")); len(all) != 3 {
		t.Errorf("the owner's sessions are %+v", all)
	}
	until := "?until=" + ago(45).Format(time.RFC3339)
	if some := lines[api.ExportedSession](t, a.student.get("/v1/exports/sessions"+until)); len(some) != 1 || some[0].Note != noted["note"] {
		t.Errorf("the student's sessions until a time are %+v", some)
	}
	all := table(t, a.coach.get("/v1/exports/balls?student_id="+string(a.student.id), asTable))
	if len(all) != 10 || all[0]["outcome"] != "in" || all[9]["card_balls"] != "9" || all[9]["ball"] != "" || all[3]["skill"] != "'=HYPERLINK(\"Pitch\")" || all[3]["radius_m"] != fmt.Sprint(wide) {
		t.Errorf("the balls are %v", all)
	}
	if rows := lines[api.ExportedBall](t, a.coach.get("/v1/exports/balls")); len(rows) != 10 || rows[9].CardBestRun == nil || *rows[9].CardBestRun != 2 {
		t.Errorf("the balls in lines are %+v", rows)
	}
	milestones := lines[api.ExportedMilestone](t, a.coach.get("/v1/exports/milestones"))
	if len(milestones) == 0 || milestones[0].Run != progressOf(a.coach.caller, a.student.id).Skills[0].Milestones[0].Tier.Run {
		t.Errorf("the milestones are %+v", milestones)
	}
	progress := table(t, a.coach.get("/v1/exports/progress", header("Accept", "application/x-ndjson;q=0.5, text/*")))
	if len(progress) != 1 || progress[0]["balls"] != "9" || progress[0]["card_balls"] != "9" || progress[0]["passed"] != fmt.Sprint(len(milestones)) {
		t.Errorf("the progress is %v", progress)
	}
	whole := a.owner.get("/v1/exports/academy").want(200).body
	if z, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole))); err != nil || z.File[len(z.File)-1].Name != "manifest.json" {
		t.Errorf("the academy's archive: %v", err)
	}
	a.coach.get("/v1/exports/balls?student_id="+string(other.id)).problem(404, "not_found")
	a.coach.get("/v1/exports/progress", header("Accept", "image/png")).problem(406, "not_acceptable")
	if kinds := eventKinds(a.owner.caller); kinds["export.made"] != 8 {
		t.Errorf("the log has %d exports; want each of the 8 that were answered, and none of those that were refused", kinds["export.made"])
	}
	if none := table(t, a.coach.join("Nobody Yet", object{"role": "student"}).get("/v1/exports/balls", asTable)); len(none) != 0 {
		t.Errorf("nothing is exported as %v", none)
	}
}

// A table of sessions is imported whole or not at all, and once.
func testImports(t *testing.T, s *service) {
	a := s.open(t, "Importer")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	const path = "/v1/imports/sessions"
	send := func(by *person, query, text string) answer { return by.do("POST", path+query, text, ofTable) }
	start := ago(60).Format(time.RFC3339)
	name := a.student.name
	text := "started_at,student,kind,skill,radius_m,seconds,outcome,leave_m,card_balls,card_inside,note\r\n" +
		strings.Repeat(start+","+name+",test,pitch,2,900,in,0.5,,,'=1+1\r\n", 3) +
		start + "," + name + ",test,pitch,2,900,out,,,,\r\n" +
		start + "," + name + ",technique,Pitch,2,300,,,20,12,\r\n" +
		ago(30).Format(time.RFC3339) + "," + name + ",test,Pitch,2,600,holed,,,,\r\n"
	var report api.ImportReport
	send(a.coach, "?dry_run=true", text).want(200).into(&report)
	if want := (api.ImportReport{DryRun: true, Rows: 6, Sessions: 2, Created: 2}); report != want {
		t.Errorf("a dry run says %+v; want %+v", report, want)
	}
	if found := read[api.SessionPage](a.student.caller, "/v1/sessions"); len(found.Items) != 0 {
		t.Errorf("a dry run stored %+v", found)
	}
	send(a.coach, "", text).want(200)
	send(a.coach, "", "\ufeff"+strings.ReplaceAll(text, ",", ";")).want(200).into(&report)
	if want := (api.ImportReport{Rows: 6, Sessions: 2, Unchanged: 2}); report != want {
		t.Errorf("the same again says %+v; want %+v", report, want)
	}
	balls := table(t, a.student.get("/v1/exports/balls", asTable))
	if len(balls) != 6 || balls[1]["leave_m"] != "0.5" || balls[1]["note"] != "'=1+1" || balls[5]["card_inside"] != "12" || balls[5]["block"] != "2" {
		t.Errorf("what was imported is %v", balls)
	}
	// What is exported can be imported, and is what is there.
	exported := string(a.student.get("/v1/exports/balls", asTable).body)
	send(a.student, "", exported).want(200).into(&report)
	if want := (api.ImportReport{Rows: 6, Sessions: 2, Unchanged: 2}); report != want {
		t.Errorf("an export imported says %+v; want %+v", report, want)
	}
	// A step passed in a table is passed, and progress is what a rebuild makes it.
	own := "started_at,kind,skill_id,radius_m,seconds,outcome\n" +
		strings.Repeat(ago(20).UTC().Format("2006-01-02 15:04")+",test,"+string(skill)+","+fmt.Sprint(wide)+",900,in\n", 12)
	send(a.student, "", own).want(200)
	if made := progressOf(a.coach.caller, a.student.id).Skills[0].Milestones; len(made) == 0 {
		t.Error("no step was passed by the table")
	}

	// Everything wrong is told with its line and column.
	bad := "started_at,student,kind,skill,radius_m,seconds,outcome,leave_m\n" +
		"yesterday," + name + ",test,Pitch,2,900,in,\n" +
		start + ",Nobody At All,test,Pitch,2,900,in,\n" +
		"2026-01-02T10:00:00Z," + name + ",test,Putt,\"2,0\",900,in,\n"
	p := send(a.coach, "?dry_run=true", bad).problem(422, "import_invalid")
	for i, want := range []api.ProblemField{{Line: 2, Column: "started_at"}, {Line: 3, Column: "student"}, {Line: 4, Column: "skill"}, {Line: 4, Column: "radius_m"}} {
		if i >= len(p.Errors) || p.Errors[i].Line != want.Line || p.Errors[i].Column != want.Column {
			t.Fatalf("the errors are %+v", p.Errors)
		}
	}
	for wrong, want := range map[string]api.ProblemField{
		"2026-01-02T10:00:00Z," + name + ",test,Pitch,2,900,in,0.1\n2026-01-02T10:00:00Z," + name + ",test,Pitch,2,900,in,9\n": {Line: 3, Column: "leave_m"},
		"2026-01-02T10:00:00Z," + name + ",nap,Pitch,2,900,in,\n":                                                              {Line: 2, Column: "kind"},
		"2026-01-02T10:00:00Z," + name + ",test,Pitch,2,900,good,\n":                                                           {Line: 2, Column: "outcome"},
		"2026-01-02T10:00:00Z," + name + ",test,Pitch,2,900\n":                                                                 {Line: 2},
		start + "," + name + ",test,Pitch,2,900,out,\n":                                                                        {Line: 2, Column: "revision"},
		"2026-01-02T10:00:00Z," + name + ",test,Pitch,2,900,,\n2026-01-02T10:00:00Z," + name + ",test,Pitch,2,900,in,\n":       {Line: 2, Column: "outcome"},
		"": {Line: 1},
	} {
		head := "started_at,student,kind,skill,radius_m,seconds,outcome,leave_m\n"
		p := send(a.coach, "", head+wrong).problem(422, "import_invalid")
		if got := p.Errors[0]; len(p.Errors) != 1 || got.Line != want.Line || got.Column != want.Column || got.Detail == "" {
			t.Errorf("%q: %+v; want line %d, column %q", wrong, p.Errors, want.Line, want.Column)
		}
	}
	p = send(a.coach, "", "started_at,colour,colour\n").problem(422, "import_invalid")
	if len(p.Errors) < 3 || p.Errors[0].Column != "colour" {
		t.Errorf("a wrong head: %+v", p.Errors)
	}
	a.coach.do("POST", path, "{}").problem(415, "media_type")
}

// An academy goes by the commands from engine to engine, and from each comes the
// same archive.
func TestAcademyMoves(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	refused := func(want string, args ...string) {
		t.Helper()
		if code, _, errs := run(t, "", args...); code != 1 || !strings.Contains(errs, want) {
			t.Errorf("%v: %d %s; want it refused with %q", args, code, errs, want)
		}
	}
	must(t, "demo", "--once", "--weeks", "8", "--dir", file("demo"))
	from := "sqlite:" + filepath.Join(file("demo"), "fringework.db")
	id := regexp.MustCompile(`[0-9a-f-]{36}`).FindString(must(t, "admin", "academies", "--database", from))
	must(t, "admin", "export-academy", id, "--secrets", "--out", file("0.zip"), "--database", from)
	refused("0.zip is there already", "admin", "export-academy", id, "--out", file("0.zip"), "--database", from)
	refused("there is no academy nobody", "admin", "export-academy", "nobody", "--out", file("none.zip"), "--database", from)
	refused("has the academy already", "admin", "import-academy", file("0.zip"), "--database", from)
	stamped := regexp.MustCompile(`"made_at": "[^"]*"`)
	first := unpacked(t, file("0.zip"))
	for i, e := range []engine{engines[1], engines[0]} {
		there := e.fresh(t)
		must(t, "admin", "import-academy", file(fmt.Sprintf("%d.zip", i)), "--database", there)
		if out := must(t, "rebuild", "--database", there); !strings.Contains(out, " 0 differences") {
			t.Errorf("on %s a rebuild finds\n%s", e.name, out)
		}
		next := file(fmt.Sprintf("%d.zip", i+1))
		must(t, "admin", "export-academy", id, "--secrets", "--out", next, "--database", there)
		second := unpacked(t, next)
		for name, text := range first {
			if stamped.ReplaceAllString(text, "") != stamped.ReplaceAllString(second[name], "") {
				t.Errorf("from %s, %s differs", e.name, name)
			}
		}
		if len(second) != len(first) || len(first) < 10 {
			t.Errorf("from %s come %d parts; want %d", e.name, len(second), len(first))
		}
	}
}

// unpacked reads the parts of an archive.
func unpacked(t testing.TB, name string) map[string]string {
	t.Helper()
	archive, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = archive.Close() }() // only read
	parts := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		parts[f.Name] = string(text)
	}
	return parts
}
