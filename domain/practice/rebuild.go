package practice

import (
	"cmp"
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/progress"
)

// Kept is everything of one student that follows from the sessions: what the
// store keeps incrementally, and what a rebuild derives from the log of balls.
// Slices are sorted, so that two of them can be compared.
type Kept struct {
	States  []progress.State
	Periods []progress.Period
	Habit   progress.Habit
	// Counting are the sessions that count as one of their plan's, and Counts how
	// many these are by assignment; assignments without one are left out.
	Counting []domain.ID
	Counts   []AssignmentCount
}

// AssignmentCount is how many sessions count toward an assignment.
type AssignmentCount struct {
	Assignment domain.ID
	Sessions   int
}

// RebuildStore is what a rebuild needs of the store, seen for one academy.
type RebuildStore interface {
	domain.EventLog
	// StudentIDs lists everybody who ever was a student, in order of identity.
	StudentIDs(ctx context.Context) ([]domain.ID, error)
	// Log gives all sessions of a student that are not deleted, with their balls.
	Log(ctx context.Context, student domain.ID) ([]Session, error)
	AllTracks(ctx context.Context, student domain.ID) ([]progress.Track, error)
	// Kept gives what is kept of a student.
	Kept(ctx context.Context, student domain.ID) (Kept, error)
	// ReplaceKept makes k all that is kept of a student.
	ReplaceKept(ctx context.Context, student domain.ID, k Kept) error
}

// Difference is where what is kept is not what the log implies.
type Difference struct {
	Student domain.ID
	// What names the part: "milestones".
	What string
	// Kept and Implied are the two as text.
	Kept    string
	Implied string
}

// String writes the difference for a person.
func (d Difference) String() string {
	return fmt.Sprintf("student %s: %s kept as %s, but the log implies %s", d.Student, d.What, d.Kept, d.Implied)
}

// Rebuilder recomputes what follows from the log.
type Rebuilder struct {
	Store domain.Transactor[RebuildStore]
	Env   domain.Env
}

// Rebuild recomputes everything kept of an academy's students from the log of
// balls and reports the differences; with repair, what the log implies is kept
// from then on. Each student is one transaction.
func (r Rebuilder) Rebuild(ctx context.Context, academy domain.ID, repair bool) (students int, found []Difference, err error) {
	var ids []domain.ID
	err = r.Store.Read(ctx, academy, func(tx RebuildStore) error {
		ids, err = tx.StudentIDs(ctx)
		return err
	})
	if err != nil {
		return 0, nil, err
	}
	for _, id := range ids {
		diffs, err := r.student(ctx, academy, id, repair)
		if err != nil {
			return 0, found, err
		}
		found = append(found, diffs...)
	}
	return len(ids), found, nil
}

// Renew makes everything kept of an academy's students anew, for a release that
// keeps it in another form than the one before: nothing is compared.
func (r Rebuilder) Renew(ctx context.Context, academy domain.ID) (students int, err error) {
	var ids []domain.ID
	err = r.Store.Read(ctx, academy, func(tx RebuildStore) error {
		ids, err = tx.StudentIDs(ctx)
		return err
	})
	if err != nil {
		return 0, err
	}
	for _, id := range ids {
		err := r.Store.Write(ctx, academy, func(tx RebuildStore) error {
			sessions, err := tx.Log(ctx, id)
			if err != nil {
				return err
			}
			tracks, err := tx.AllTracks(ctx, id)
			if err != nil {
				return err
			}
			return tx.ReplaceKept(ctx, id, Recompute(id, sessions, tracks))
		})
		if err != nil {
			return 0, err
		}
	}
	return len(ids), nil
}

func (r Rebuilder) student(ctx context.Context, academy, id domain.ID, repair bool) (diffs []Difference, err error) {
	work := r.Store.Read
	if repair {
		work = r.Store.Write
	}
	err = work(ctx, academy, func(tx RebuildStore) error {
		sessions, err := tx.Log(ctx, id)
		if err != nil {
			return err
		}
		tracks, err := tx.AllTracks(ctx, id)
		if err != nil {
			return err
		}
		kept, err := tx.Kept(ctx, id)
		if err != nil {
			return err
		}
		implied := Recompute(id, sessions, tracks)
		if diffs = compare(id, kept, implied); len(diffs) == 0 || !repair {
			return nil
		}
		if err := tx.ReplaceKept(ctx, id, implied); err != nil {
			return err
		}
		return tx.Record(ctx, domain.Event{At: r.Env.Now(), Kind: "progress.rebuilt", Subject: id, Student: id,
			Data: map[string]any{"differences": len(diffs)}})
	})
	return diffs, err
}

// Recompute derives everything that follows from a student's sessions,
// given in any order, judged by the tracks.
func Recompute(student domain.ID, sessions []Session, tracks []progress.Track) Kept {
	sessions = slices.Clone(sessions)
	slices.SortFunc(sessions, func(a, b Session) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt), cmp.Compare(a.ID, b.ID))
	})
	bySkill := map[domain.ID][]progress.SessionSummary{}
	track := map[domain.ID]progress.Track{}
	for _, t := range tracks {
		track[t.Skill] = t
		bySkill[t.Skill] = nil
	}
	var k Kept
	counts := map[domain.ID]int{}
	var times []progress.SessionTime
	for _, s := range sessions {
		times = append(times, s.Time())
		if s.Counts() {
			k.Counting = append(k.Counting, s.ID)
			counts[s.Assignment]++
		}
		for _, p := range s.Plays() {
			bySkill[p.Skill] = append(bySkill[p.Skill], track[p.Skill].Summarise(p))
		}
	}
	k.Habit = progress.HabitOf(student, len(sessions), times)
	for skill, summaries := range bySkill {
		t := track[skill]
		t.Student, t.Skill = student, skill
		if r := progress.Recompute(t, summaries); !r.Empty() {
			k.States = append(k.States, r.State)
			k.Periods = append(k.Periods, r.Periods...)
		}
	}
	for assignment, n := range counts {
		k.Counts = append(k.Counts, AssignmentCount{assignment, n})
	}
	k.Sort()
	return k
}

// Sort puts everything in the order that comparisons expect.
func (k *Kept) Sort() {
	slices.SortFunc(k.States, func(a, b progress.State) int { return cmp.Compare(a.Skill, b.Skill) })
	slices.SortFunc(k.Periods, func(a, b progress.Period) int {
		return cmp.Or(cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Number, b.Number))
	})
	slices.Sort(k.Counting)
	slices.SortFunc(k.Counts, func(a, b AssignmentCount) int { return cmp.Compare(a.Assignment, b.Assignment) })
}

// compare finds the parts that differ.
func compare(student domain.ID, kept, implied Kept) []Difference {
	var diffs []Difference
	for _, part := range []struct {
		what          string
		kept, implied any
	}{
		{"states", kept.States, implied.States},
		{"sessions by skill", kept.Periods, implied.Periods},
		{"habit", kept.Habit, implied.Habit},
		{"sessions that count", kept.Counting, implied.Counting},
		{"session counts", kept.Counts, implied.Counts},
	} {
		if a, b := plain(part.kept), plain(part.implied); a != b {
			diffs = append(diffs, Difference{student, part.what, a, b})
		}
	}
	return diffs
}

// plain writes a value so that equal values read equal, wherever they came
// from: instants in UTC, pointers as what they point to, no slice like an empty
// one.
func plain(v any) string {
	var b strings.Builder
	write(&b, reflect.ValueOf(v))
	return b.String()
}

func write(b *strings.Builder, v reflect.Value) {
	if t, ok := reflect.TypeAssert[time.Time](v); ok {
		b.WriteString(t.UTC().Format(time.RFC3339Nano))
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			b.WriteString("none")
			return
		}
		write(b, v.Elem())
	case reflect.Slice, reflect.Array:
		b.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				b.WriteByte(' ')
			}
			write(b, v.Index(i))
		}
		b.WriteByte(']')
	case reflect.Struct:
		b.WriteByte('{')
		for i := range v.NumField() {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(v.Type().Field(i).Name + ":")
			write(b, v.Field(i))
		}
		b.WriteByte('}')
	default:
		fmt.Fprint(b, v.Interface())
	}
}
