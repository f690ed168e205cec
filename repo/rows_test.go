package repo

import (
	"crypto/sha256"
	"math"
	"reflect"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// filler sets every field of a value, however deep, to something of its own, so
// that a field that a row forgets shows.
type filler struct{ n int64 }

func (f *filler) next() int64 {
	f.n++
	return f.n
}

func (f *filler) fill(v reflect.Value) {
	switch v.Interface().(type) {
	case time.Time:
		v.Set(reflect.ValueOf(monday.Add(time.Duration(f.next()) * time.Millisecond)))
		return
	case time.Duration:
		v.SetInt(f.next() * int64(time.Millisecond))
		return
	case domain.Date:
		v.Set(reflect.ValueOf(someDay.AddDays(int(f.next()))))
		return
	case streak.Outcome:
		v.SetUint(uint64(streak.Holed))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString("ö" + strconv.FormatInt(f.next(), 10))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int32, reflect.Int64:
		v.SetInt(f.next())
	case reflect.Float64:
		v.SetFloat(1 / float64(f.next()+2)) // no short decimal
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fallthrough
	case reflect.Array:
		for i := range v.Len() {
			f.fill(v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			f.fill(v.Field(i))
		}
	default:
		panic("no filling for " + v.Type().String())
	}
}

func filledValue[T any]() T {
	var v T
	(&filler{}).fill(reflect.ValueOf(&v).Elem())
	return v
}

// survives holds a mapping to giving back everything.
func survives[T any](t *testing.T, convert func(T) (T, error)) {
	t.Helper()
	survivesAs(t, filledValue[T](), convert)
	var zero T
	survivesAs(t, zero, convert)
}

func survivesAs[T any](t *testing.T, want T, convert func(T) (T, error)) {
	t.Helper()
	got, err := convert(want)
	if err != nil {
		t.Errorf("%T: %v", want, err)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("%T did not survive (-want +got)\n%s", want, d)
	}
}

// Every field of what is kept comes back, also one that is added tomorrow.
func TestRowsForgetNothing(t *testing.T) {
	a := &Academy{id: "academy"}
	survives(t, func(l streak.Ladder) (streak.Ladder, error) {
		d, err := decode[ladderDoc](encode(ladderToDoc(l)))
		return d.ladder(), err
	})
	survives(t, func(c curriculum.Content) (curriculum.Content, error) {
		return content(c.Name, c.Text, encode(limitDocs(c.Limits)), encode(weekDocs(c.Weeks)))
	})
	skill := filledValue[curriculum.Skill]()
	survivesAs(t, skill, func(s curriculum.Skill) (curriculum.Skill, error) {
		d, err := decode[skillDoc](encode(skillToDoc(s)))
		return d.skill(), err
	})
	survives(t, func(p academy.Pause) (academy.Pause, error) {
		d, err := decode[pauseDoc](encode(pauseToDoc(p)))
		if err != nil {
			return p, err
		}
		return d.pause()
	})
	survives(t, func(j progress.JudgedTier) (progress.JudgedTier, error) {
		d, err := decode[judgedDoc](encode(judgedToDoc(j)))
		return d.judged(), err
	})
	survives(t, func(x estimate.Assessment) (estimate.Assessment, error) {
		d, err := decode[assessmentDoc](encode(assessmentToDoc(x)))
		return d.assessment(), err
	})
	survives(t, func(s progress.State) (progress.State, error) { return a.stateRow(s).state() })
	survives(t, func(m progress.Milestone) (progress.Milestone, error) {
		if m.At.IsZero() {
			m.At = monday // a milestone was made some time
			got := a.milestoneRow(m).milestone()
			got.At = time.Time{}
			return got, nil
		}
		return a.milestoneRow(m).milestone(), nil
	})
	reading := filledValue[progress.TierResult]()
	reading.Attained.Session = reading.Session
	survivesAs(t, reading, func(r progress.TierResult) (progress.TierResult, error) {
		rows := a.readingRows("student", progress.SessionSummary{Session: r.Session, Skill: "skill", Results: []progress.TierResult{r}})
		return rows[0].reading()
	})
}

func TestSessionsForgetNothing(t *testing.T) {
	a := &Academy{id: "academy"}
	s := filledValue[practice.Session]()
	for i := range s.Blocks {
		s.Blocks[i].Counts = countBalls(s.Blocks[i].Balls)
	}
	survivesAs(t, s, func(s practice.Session) (practice.Session, error) {
		got, err := a.sessionRow(s, [sha256.Size]byte{}).session()
		for i, b := range s.Blocks {
			block, blockErr := a.blockRow(s.ID, i+1, b).block()
			if blockErr != nil {
				err = blockErr
			}
			got.Blocks = append(got.Blocks, block)
		}
		return got, err
	})
}

// Numbers of an assessment come back to the last bit.
func TestNumbersAreExact(t *testing.T) {
	for _, want := range []float64{
		0, math.Copysign(0, -1), 1, -1, 0.1, 1.0 / 3, math.Pi, 1e21, 1e-7, 5e-324, math.MaxFloat64, -math.MaxFloat64,
		math.Inf(1), math.Inf(-1), math.NaN(),
	} {
		got, err := decode[number](encode(number(want)))
		if err != nil || math.Float64bits(float64(got)) != math.Float64bits(want) && !(math.IsNaN(want) && math.IsNaN(float64(got))) {
			t.Errorf("got %v and error %v, want %v", got, err, want)
		}
	}
	for _, text := range []string{`"three"`, `{}`, `""`, `"`, `true`} {
		if got, err := decode[number](text); err == nil {
			t.Errorf("%s was read as %v, want an error", text, got)
		}
	}
}

func TestDamagedDocumentsAreErrors(t *testing.T) {
	a := &Academy{id: "academy"}
	state := a.stateRow(filledValue[progress.State]())
	state.Ladder = "{"
	session := a.sessionRow(filledValue[practice.Session](), [sha256.Size]byte{})
	session.Missed = "{"
	for what, convert := range map[string]func() error{
		"date":                func() error { _, err := date("4 May"); return err },
		"ladder of a state":   func() error { _, err := state.state(); return err },
		"missed of a session": func() error { _, err := session.session(); return err },
		"limits":              func() error { _, err := content("", "", "{", ""); return err },
		"weeks":               func() error { _, err := content("", "", "", "{"); return err },
		"pauses":              func() error { _, err := (assignmentRow{Pauses: "{"}).assignment(); return err },
		"start":               func() error { _, err := (assignmentRow{StartDate: "x"}).assignment(); return err },
		"pause from":          func() error { _, err := pauseDoc{From: "x"}.pause(); return err },
		"judged":              func() error { _, err := (trackRow{Ladder: "{}", Judged: "{"}).track(); return err },
		"ladder of a track":   func() error { _, err := (trackRow{Ladder: "{"}).track(); return err },
		"starts":              func() error { _, err := (habitRow{Starts: "{"}).habit(); return err },
		"skills":              func() error { _, err := (versionRow{Skills: "{"}).version(); return err },
		"event":               func() error { _, err := (eventRow{Data: "{"}).event(); return err },
		"scopes":              func() error { _, err := (keyRow{Scopes: "everything"}).key(); return err },
		"week of a digest":    func() error { _, err := (digestRow{Week: "x"}).digest(); return err },
		"missed of an outing": func() error { _, err := outing([]outingRow{{Missed: "{"}}); return err },
		"packed balls": func() error {
			_, err := blockRow{Packed: []byte{packedVersion, 0, 0}, Balls: 1}.block()
			return err
		},
	} {
		if convert() == nil {
			t.Errorf("%s: no error, want one", what)
		}
	}
}
