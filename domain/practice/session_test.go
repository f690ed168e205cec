package practice_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"

	"pgregory.net/rapid"
)

func TestStruckAt(t *testing.T) {
	timed := func(seconds int, afters ...float64) practice.Block {
		b := practice.Block{Seconds: seconds}
		for _, a := range afters {
			b.Balls = append(b.Balls, practice.Ball{After: time.Duration(a * float64(time.Second))})
		}
		return b
	}
	for _, c := range []struct {
		why    string
		blocks []practice.Block
		want   [][]float64 // seconds after the start
	}{
		{"as the phone said", []practice.Block{timed(60, 10, 20.5), timed(60, 70)}, [][]float64{{10, 20.5}, {70}}},
		{"evenly over the blocks' time", []practice.Block{timed(60, 0, 0, 0), timed(30, 0, 0)}, [][]float64{{20, 40, 60}, {75, 90}}},
		{"to the millisecond", []practice.Block{timed(10, 0, 0, 0)}, [][]float64{{3.333, 6.666, 10}}},
		{"without any time at all", []practice.Block{timed(0, 0, 0)}, [][]float64{{0, 0}}},
		{"not before the ball before", []practice.Block{timed(60, 50, 0, 0, 0)}, [][]float64{{50, 50, 50, 60}}},
		{"not after the ball after", []practice.Block{timed(60, 0, 0, 25, 0)}, [][]float64{{15, 25, 25, 60}}},
		{"across blocks", []practice.Block{timed(0, 100, 200), timed(20, 0, 0), timed(0, 210)}, [][]float64{{100, 200}, {200, 200}, {210}}},
	} {
		s := practice.Session{StartedAt: now, Blocks: c.blocks}
		for i := range c.blocks {
			for j := range c.blocks[i].Balls {
				want := now.Add(time.Duration(c.want[i][j] * float64(time.Second))).Round(time.Millisecond)
				if got := s.StruckAt(i, j); !got.Equal(want) {
					t.Errorf("%s: ball %d of block %d was struck %v after the start, want %v", c.why, j, i, got.Sub(now), want.Sub(now))
				}
			}
		}
	}
}

// TestStruckInOrder: whatever a phone left out, balls come in the order they
// were struck.
func TestStruckInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := practice.Session{StartedAt: now}
		after := time.Duration(0)
		for range rapid.IntRange(1, 4).Draw(t, "blocks") {
			b := practice.Block{Seconds: rapid.IntRange(0, 600).Draw(t, "seconds")}
			for range rapid.IntRange(0, 8).Draw(t, "balls") {
				var ball practice.Ball
				if rapid.Bool().Draw(t, "timed") {
					after += time.Duration(rapid.IntRange(1, 90_000).Draw(t, "gap")) * time.Millisecond
					ball.After = after
				}
				b.Balls = append(b.Balls, ball)
			}
			s.Blocks = append(s.Blocks, b)
		}
		last := now
		for i, b := range s.Blocks {
			for j := range b.Balls {
				at := s.StruckAt(i, j)
				if at.Before(last) {
					t.Fatalf("%+v: ball %d of block %d was struck %v before the one before it", s.Blocks, j, i, last.Sub(at))
				}
				last = at
			}
		}
	})
}

func TestPlays(t *testing.T) {
	s := session("s", 1, block(curriculum.Warmup, "chip", "i"), block(curriculum.Test, "pitch", "oh"), block(curriculum.Test, "chip", "2"))
	s.TimeZone = "Pacific/Auckland"
	plays := s.Plays()
	if len(plays) != 2 || plays[0].Skill != "chip" || plays[1].Skill != "pitch" {
		t.Fatalf("got %+v, want chip and pitch in order of first use", plays)
	}
	chip := plays[0]
	if len(chip.Blocks) != 2 || chip.Blocks[0].Position != 1 || chip.Blocks[1].Position != 3 || chip.Blocks[1].Kind != "test" || chip.Blocks[1].Seconds != 900 {
		t.Errorf("got blocks %+v, want the first and the third", chip.Blocks)
	}
	if chip.Session != "s" || chip.Day.String() != "2026-05-11" || !chip.StartedAt.Equal(s.StartedAt) {
		t.Errorf("got %+v, want it on Monday in Auckland", chip)
	}
	want := streak.Ball{Outcome: streak.In, Radius: ft5, Leave: 2 * domain.Foot, Measured: true}
	if got := chip.Blocks[1].Balls[0]; got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if at := chip.Blocks[1].StruckAt(0); !at.Equal(s.StartedAt.Add(2700 * time.Second)) {
		t.Errorf("struck %v after the start, want at the end of the third block", at.Sub(s.StartedAt))
	}
	s.DeletedAt = now
	if got := s.Plays(); got != nil {
		t.Errorf("a deleted session plays %+v", got)
	}
	if zone := (practice.Session{TimeZone: "Atlantis/Deep"}).Zone(); zone != time.UTC {
		t.Errorf("a zone that the database has lost is read as %v, want UTC", zone)
	}
}

func TestSessionTime(t *testing.T) {
	s := session("s", 1, block(curriculum.Test, "p", ""), block(curriculum.Warmup, "p", ""), block(curriculum.Test, "p", ""))
	s.Blocks[0].Planned, s.Blocks[1].Planned = 800, 700
	s.Missed = []progress.KindTime{{Kind: "random", Planned: 600}, {Kind: "warmup", Planned: 100}}
	want := progress.SessionTime{Session: "s", StartedAt: s.StartedAt, Times: []progress.KindTime{
		{Kind: "test", Planned: 800, Spent: 1800}, {Kind: "warmup", Planned: 800, Spent: 900}, {Kind: "random", Planned: 600}}}
	if got := s.Time(); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// fromServer are the fields that a client does not say.
var fromServer = map[string]bool{"DeletedAt": true, "By": true, "ReceivedAt": true, "Missed": true, "Planned": true, "Counts": true}

// TestFingerprintSeesEveryField changes every field that a client can say, one
// at a time, wherever it is.
func TestFingerprintSeesEveryField(t *testing.T) {
	full := func() practice.Session {
		s := session("s", 3, block(curriculum.Test, "pitch", "2h"), practice.Block{Kind: curriculum.Warmup, Skill: "chip", Radius: ft3, Attested: &progress.Attested{Balls: 9, Inside: 8, Holed: 1, BestRun: 5}})
		s.Student, s.Assignment, s.Week, s.Plan, s.Note = adaID, "as", 1, 1, "note"
		s.Blocks[0].Balls[0].Club, s.Blocks[0].Balls[0].After = "wedge", time.Second
		s.Landings = []practice.Landing{{}}
		return s
	}
	seen := map[[32]byte]string{full().Fingerprint(): "nothing"}
	changes := 0
	// change walks to the nth field and changes it; it reports its path.
	var change func(v reflect.Value, path string, n *int) string
	change = func(v reflect.Value, path string, n *int) string {
		switch {
		case v.Type() == reflect.TypeFor[time.Time]():
			if *n--; *n < 0 {
				v.Set(reflect.ValueOf(v.Interface().(time.Time).Add(time.Millisecond)))
				return path
			}
		case v.Type() == reflect.TypeFor[time.Duration]():
			if *n--; *n < 0 {
				v.SetInt(v.Int() + int64(time.Millisecond))
				return path
			}
		case v.Kind() == reflect.Struct:
			for i := range v.NumField() {
				if name := v.Type().Field(i).Name; !fromServer[name] {
					if got := change(v.Field(i), path+"."+name, n); got != "" {
						return got
					}
				}
			}
		case v.Kind() == reflect.Slice:
			if *n--; *n < 0 { // one more
				v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
				return path + "[+]"
			}
			for i := range v.Len() {
				if got := change(v.Index(i), path+"[]", n); got != "" {
					return got
				}
			}
		case v.Kind() == reflect.Pointer:
			if *n--; *n < 0 { // there or not
				if v.IsNil() {
					v.Set(reflect.New(v.Type().Elem()))
				} else {
					v.SetZero()
				}
				return path + "?"
			}
			if !v.IsNil() {
				return change(v.Elem(), path, n)
			}
		default:
			if *n--; *n < 0 {
				switch {
				case v.CanInt():
					v.SetInt(v.Int() + 1)
				case v.CanUint():
					v.SetUint(v.Uint() ^ 1)
				case v.CanFloat():
					v.SetFloat(v.Float() + 0.5)
				case v.Kind() == reflect.Bool:
					v.SetBool(!v.Bool())
				case v.Kind() == reflect.String:
					v.SetString(v.String() + "x")
				default:
					t.Fatalf("%s is a %v, which the test cannot change", path, v.Kind())
				}
				return path
			}
		}
		return ""
	}
	for i := 0; ; i++ {
		s, n := full(), i
		path := change(reflect.ValueOf(&s).Elem(), "", &n)
		if path == "" {
			break
		}
		changes++
		stamp := s.Fingerprint()
		if same, ok := seen[stamp]; ok {
			t.Errorf("changing %s (change %d) gives the fingerprint of changing %s", path, i, same)
		}
		seen[stamp] = path
	}
	if changes < 40 {
		t.Errorf("only %d fields were changed", changes)
	}
	deleted := full()
	deleted.DeletedAt = now
	if same, ok := seen[deleted.Fingerprint()]; ok {
		t.Errorf("a deletion has the fingerprint of changing %s", same)
	}
	// As releases before misses and landings could be told kept it: a replay stays one.
	older := full()
	older.Landings = nil // and nothing of the surface, the match or the strokes
	if got := fmt.Sprintf("%x", older.Fingerprint()); got != "df0dde7d4da982d0edc86dc5ddc0aec15333fb2669f12d7fb112a1a99f1653cc" {
		t.Errorf("the digest of what older phones send became %s", got)
	}
	server := full()
	server.By, server.ReceivedAt, server.Blocks[0].Planned, server.Missed = "x", now, 9, []progress.KindTime{{}}
	if server.Fingerprint() != full().Fingerprint() {
		t.Error("what the server fills in changes the fingerprint")
	}
}
