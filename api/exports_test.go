package api

import (
	"encoding/csv"
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
)

// No text of a table begins as a formula does, numbers stay numbers, and what was
// made harmless is read back as it was.
func TestCellsAreNoFormulas(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "'=1", "''", "Milo", "", "5-6", "é=1", "'54 wedge", "'"} {
		cell := cellOf(text)
		if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
			t.Errorf("%q is written as %q", text, cell)
		}
		if back := plain(cell); back != text {
			t.Errorf("%q is written as %q and read as %q", text, cell, back)
		}
	}
	if got := plain("'54 wedge"); got != "'54 wedge" {
		t.Errorf("an apostrophe that makes nothing harmless is read as %q", got)
	}
	leave := -0.5
	row := ExportedBall{SessionID: "-x", Revision: 2, LeaveM: &leave, DistanceM: 1e-7, Note: "two\nlines, \"quoted\"", StartedAt: time.Date(2026, 5, 4, 12, 0, 0, 5e6, time.UTC)}
	var text strings.Builder
	table := newTable(&text)
	if err := table.WriteAll([][]string{columnsOf(reflect.TypeFor[ExportedBall]()), cellsOf(reflect.ValueOf(row))}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "\r\n") {
		t.Error("the lines do not end as RFC 4180 says")
	}
	records, err := csv.NewReader(strings.NewReader(text.String())).ReadAll()
	if err != nil || len(records) != 2 {
		t.Fatalf("%v, %v", records, err)
	}
	cells := map[string]string{}
	for i, name := range records[0] {
		cells[name] = records[1][i]
	}
	for name, want := range map[string]string{"session_id": "'-x", "revision": "2", "leave_m": "-0.5", "distance_m": "0.0000001",
		"note": "two\nlines, \"quoted\"", "started_at": "2026-05-04T12:00:00.005Z", "ended_at": "", "week": "", "card_balls": ""} {
		if cells[name] != want {
			t.Errorf("%s is written as %q; want %q", name, cells[name], want)
		}
	}
}

// The form of an export is the one that the client likes best.
func TestExportMedia(t *testing.T) {
	t.Parallel()
	for accept, want := range map[string]string{
		"": mediaLines, "*/*": mediaLines, "text/csv": mediaTable, "application/x-ndjson": mediaLines, "text/*": mediaTable,
		"application/x-ndjson;q=0.2, text/csv;q=0.9": mediaTable, "text/csv, application/x-ndjson": mediaLines,
		"text/csv;q=0, */*": mediaLines, "image/png": "", "text/csv;q=0": "", "application/*;q=0.1, */*;q=0.5": mediaTable, "nonsense": "",
	} {
		got, err := exportMedia(accept)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%q gives %q, %v; want %q", accept, got, err, want)
		}
	}
}

// A member has one export at a time, and another once it has ended.
func TestOneExportAtATime(t *testing.T) {
	t.Parallel()
	var p places
	leave, err := p.enter("academy", "ada")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.enter("academy", "ada"); domain.KindOf(err) != domain.TooMany {
		t.Errorf("a second export: %v", err)
	}
	for _, who := range [][2]domain.ID{{"academy", "ben"}, {"other", "ada"}} {
		if _, err := p.enter(who[0], who[1]); err != nil {
			t.Errorf("%v waits for another: %v", who, err)
		}
	}
	leave()
	if _, err := p.enter("academy", "ada"); err != nil {
		t.Errorf("after the first has ended: %v", err)
	}
}

// A table's session has the same UUIDv7 each time, and no two the same.
func TestSessionOfATable(t *testing.T) {
	t.Parallel()
	start := time.Date(2026, 5, 4, 17, 30, 0, 0, time.UTC)
	id := sessionOf("academy", "ada", start)
	if id != sessionOf("academy", "ada", start.In(time.FixedZone("", 3600))) {
		t.Error("the same instant gives two identities")
	}
	if id == sessionOf("academy", "ben", start) || id == sessionOf("other", "ada", start) || id == sessionOf("academy", "ada", start.Add(time.Millisecond)) {
		t.Error("two sessions have one identity")
	}
	// 2026-05-04 17:30 UTC is 1777915800000 ms after 1970, 0x19df40a29c0.
	if want := "019df40a-29c0-7"; !strings.HasPrefix(string(id), want) || !strings.ContainsRune("89ab", rune(id[19])) {
		t.Errorf("the identity is %s; want one that begins with %s", id, want)
	}
}
