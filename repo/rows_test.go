package repo

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"reflect"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// filler sets every field of a value, however deep, to something of its own, so
// that a field that is forgotten shows. What a field gets depends on its place
// alone.
type filler struct{ place string }

// number is that of the place.
func (f filler) number() int64 {
	sum := fnv.New32a()
	_, _ = io.WriteString(sum, f.place) // a hash never fails
	return int64(sum.Sum32()%100_000) + 1
}

func (f filler) fill(v reflect.Value) {
	switch v.Interface().(type) {
	case time.Time:
		v.Set(reflect.ValueOf(monday.Add(time.Duration(f.number()) * time.Millisecond)))
		return
	case time.Duration:
		v.SetInt(f.number() * int64(time.Millisecond))
		return
	case domain.Date:
		v.Set(reflect.ValueOf(someDay.AddDays(int(f.number()))))
		return
	case streak.Outcome:
		v.SetUint(uint64(streak.Holed))
		return
	case practice.Miss:
		v.SetString(string(practice.MissRight))
		return
	case curriculum.Purpose:
		v.SetString(string(curriculum.Retest))
		return
	case practice.Contact:
		v.SetString(string(practice.ContactFat))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString("ö" + strconv.FormatInt(f.number(), 10))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int32, reflect.Int64:
		v.SetInt(f.number())
	case reflect.Float64:
		v.SetFloat(1 / float64(f.number()+2)) // no short decimal
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		f.fill(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fallthrough
	case reflect.Array:
		for i := range v.Len() {
			filler{f.place + strconv.Itoa(i)}.fill(v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			filler{f.place + "." + v.Type().Field(i).Name}.fill(v.Field(i))
		}
	default:
		panic("no filling for " + v.Type().String())
	}
}

func filledValue[T any]() T {
	var v T
	filler{}.fill(reflect.ValueOf(&v).Elem())
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
	survives(t, func(s progress.State) (progress.State, error) {
		return stateRow{StudentID: s.Student, SkillID: s.Skill, Doc: write(stateForm, &s, packState)}.state()
	})
	survivesAs(t, filledPeriod("student", "skill"), func(p progress.Period) (progress.Period, error) {
		return periodRow{StudentID: p.Student, SkillID: p.Skill, Period: p.Number, Doc: write(periodForm, &p, packPeriod)}.period()
	})
	habit := filledValue[progress.Habit]()
	// What follows from the recent sessions; a field that does not must be kept.
	derived := progress.HabitOf(habit.Student, habit.Sessions, habit.Recent)
	habit.Starts, habit.Times, habit.Planned = derived.Starts, derived.Times, derived.Planned
	survivesAs(t, habit, func(h progress.Habit) (progress.Habit, error) {
		return habitRow{StudentID: h.Student, Sessions: h.Sessions, Doc: write(habitForm, &h.Recent, packTimes)}.habit()
	})
}

// filledPeriod is a period with every field filled in, but for those that
// follow from others: every session is judged for the same tiers, and what it
// says of one is that session's, of its day.
func filledPeriod(student, skill domain.ID) progress.Period {
	p := filledValue[progress.Period]()
	p.Student, p.Skill = student, skill
	tiers := p.Sessions[0].Results
	for i := range p.Sessions {
		s := &p.Sessions[i]
		s.Skill = skill
		for j := range s.Results {
			r := &s.Results[j]
			r.Session, r.StartedAt, r.Day, r.Tier, r.Passed.Session = s.Session, s.StartedAt, s.Results[0].Day, tiers[j].Tier, s.Session
			r.Leaves.Radius, r.Scatter = r.Tier.Radius, nil
		}
	}
	p.Sessions[1].Results[1].Passed = nil
	p.Sessions[1].Results[1].Circles = p.Sessions[1].Results[0].Circles
	return p
}

func TestSessionsForgetNothing(t *testing.T) {
	a := &scope{id: "academy"}
	s := filledValue[practice.Session]()
	for i := range s.Blocks {
		s.Blocks[i].Counts = practice.CountBalls(s.Blocks[i].Balls)
	}
	survivesAs(t, s, func(s practice.Session) (practice.Session, error) {
		got, err := sessionsOf([]sessionRow{a.sessionRow(s, [sha256.Size]byte{})}, true)
		if err != nil {
			return practice.Session{}, err
		}
		return got[0], nil
	})
}

// Numbers are kept to the last bit.
func TestNumbersAreExact(t *testing.T) {
	for _, want := range []float64{
		0, math.Copysign(0, -1), 1, -1, 0.1, 1.0 / 3, math.Pi, 1e21, 1e-7, 5e-324, math.MaxFloat64, -math.MaxFloat64,
		math.Inf(1), math.Inf(-1), math.NaN(),
	} {
		number := func(p *packer, v *float64) { p.floats(v) }
		got, err := read(1, write(1, &want, number), number)
		if err != nil || math.Float64bits(got) != math.Float64bits(want) {
			t.Errorf("got %v and error %v, want %v", got, err, want)
		}
	}
}

// Whatever is cut off, added or of another form is damage, and not another
// value.
func TestDamagedProgressIsAnError(t *testing.T) {
	state, period, habit := filledValue[progress.State](), filledPeriod("student", "skill"), filledValue[progress.Habit]()
	for what, kept := range map[string]struct {
		doc  []byte
		read func([]byte) error
	}{
		"state":  {write(stateForm, &state, packState), func(b []byte) error { _, err := stateRow{Doc: b}.state(); return err }},
		"period": {write(periodForm, &period, packPeriod), func(b []byte) error { _, err := periodRow{Doc: b}.period(); return err }},
		"habit":  {write(habitForm, &habit.Recent, packTimes), func(b []byte) error { _, err := habitRow{Doc: b}.habit(); return err }},
	} {
		if err := kept.read(kept.doc); err != nil {
			t.Errorf("%s: %v", what, err)
		}
		damaged := map[string][]byte{
			"more bytes": append(slices.Clone(kept.doc), 0), "another form": append([]byte{kept.doc[0] + 1}, kept.doc[1:]...),
			"endless": append([]byte{kept.doc[0]}, slices.Repeat([]byte{0xff}, 20)...),
		}
		for n := range kept.doc {
			damaged[fmt.Sprintf("cut to %d bytes", n)] = kept.doc[:n]
		}
		for how, doc := range damaged {
			if err := kept.read(doc); !errors.Is(err, errDamaged) {
				t.Errorf("%s, %s: got error %v, want %v", what, how, err, errDamaged)
			}
		}
	}
}

// Blocks that are cut off anywhere, of another version, or not in line with
// their balls are an error, but for those cut between two blocks: that the
// session's row is whole, the database sees to.
func TestDamagedBlocksAreErrors(t *testing.T) {
	blocks := filledValue[practice.Session]().Blocks
	whole := packBlocks(blocks)
	between := map[int]bool{0: true} // which is no blocks
	for n := range blocks {
		between[len(packBlocks(blocks[:n+1]))] = true
	}
	damaged := map[string][]byte{
		"more bytes": append(slices.Clone(whole), 0), "another version": append([]byte{blocksVersion + 1}, whole[1:]...),
		"endless": append([]byte{blocksVersion}, slices.Repeat([]byte{0xff}, 200)...),
	}
	for n := range whole {
		if !between[n] {
			damaged[fmt.Sprintf("cut to %d bytes", n)] = whole[:n]
		}
	}
	miscounted := slices.Clone(whole)
	miscounted[1+4*4+3]++ // the balls of the first block
	damaged["miscounted"] = miscounted
	for how, doc := range damaged {
		if got, err := unpackBlocks(doc, true); err == nil {
			t.Errorf("%s: got %d blocks, want an error", how, len(got))
		}
	}
	if got, err := unpackBlocks(whole, true); err != nil || len(got) != len(blocks) {
		t.Errorf("got %d blocks (%v), want %d", len(got), err, len(blocks))
	}
}

// The form is the database's: what this release writes, the next one reads.
func TestKeptForms(t *testing.T) {
	state, period, habit := filledValue[progress.State](), filledPeriod("student", "skill"), filledValue[progress.Habit]()
	for what, c := range map[string]struct {
		form byte
		doc  []byte
		want string
	}{
		"state":  {stateForm, write(stateForm, &state, packState), "5 32bf64f423c7bd6fdbc9f9f349971cee45e30d2f31f953493860934f31202ddb"},
		"period": {periodForm, write(periodForm, &period, packPeriod), "4 c007c4eb2258d6aeb823a7c2666689586b1b8f4addb94e6e5c6ddc2af549d775"},
		"habit":  {habitForm, write(habitForm, &habit.Recent, packTimes), "2 a90100b7c076ab56b0fae9e1105fc311c2dbb0c4362e7c246709206da79b3fc7"},
	} {
		if got := fmt.Sprintf("%d %x", c.form, sha256.Sum256(c.doc)); got != c.want {
			t.Errorf("%s is written as %s, want %s: raise its form in pack_progress.go and take this over", what, got, c.want)
		}
	}
}

func TestDamagedDocumentsAreErrors(t *testing.T) {
	a := &scope{id: "academy"}
	session := a.sessionRow(filledValue[practice.Session](), [sha256.Size]byte{})
	session.Missed = "{"
	for what, convert := range map[string]func() error{
		"date":                func() error { _, err := date("4 May"); return err },
		"missed of a session": func() error { _, err := session.session(); return err },
		"limits":              func() error { _, err := content("", "", "{", ""); return err },
		"weeks":               func() error { _, err := content("", "", "", "{"); return err },
		"pauses":              func() error { _, err := (assignmentRow{Credits: "[]", Pauses: "{"}).assignment(); return err },
		"credits":             func() error { _, err := (assignmentRow{Credits: "{", Pauses: "null"}).assignment(); return err },
		"start":               func() error { _, err := (assignmentRow{StartDate: "x"}).assignment(); return err },
		"pause from":          func() error { _, err := pauseDoc{From: "x"}.pause(); return err },
		"judged":              func() error { _, err := (trackRow{Ladder: "{}", Judged: "{"}).track(); return err },
		"ladder of a track":   func() error { _, err := (trackRow{Ladder: "{"}).track(); return err },
		"skills":              func() error { _, err := (versionRow{Skills: "{"}).version(); return err },
		"event":               func() error { _, err := (eventRow{Data: "{"}).event(); return err },
		"scopes":              func() error { _, err := (keyRow{Scopes: "everything"}).key(); return err },
	} {
		if convert() == nil {
			t.Errorf("%s: no error, want one", what)
		}
	}
}
