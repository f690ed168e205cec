package curriculum_test

import (
	"reflect"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// hour has one block of each kind but stations, at a skill of the week, and a
// warm-up of another.
func hour(shares ...int) curriculum.Week {
	kinds := []curriculum.BlockKind{curriculum.Warmup, curriculum.Technique, curriculum.Random, curriculum.Test}
	plan := curriculum.Plan{Minutes: 60, Times: 2}
	for i, share := range shares {
		b := curriculum.Block{Kind: kinds[i%4], Share: share, Drill: curriculum.Drill{Radius: domain.Metre, Distances: []domain.Length{20 * domain.Metre}}}
		if b.Kind == curriculum.Warmup {
			b.Skill = "chip"
		}
		plan.Blocks = append(plan.Blocks, b)
	}
	return curriculum.Week{Skill: "pitch", Plans: []curriculum.Plan{plan, {Minutes: 30, Times: 3, Blocks: []curriculum.Block{{Kind: curriculum.Test, Share: 100}}}}}
}

func sharesOf(w curriculum.Week) []int { return w.Plans[0].Shares() }

// TestAdjustedShares: worked by hand; what is left goes to the other kinds as it
// did before, by largest remainder.
func TestAdjustedShares(t *testing.T) {
	share := func(k curriculum.BlockKind, n int) curriculum.KindShare {
		return curriculum.KindShare{Kind: k, Share: n}
	}
	for _, c := range []struct {
		why    string
		week   curriculum.Week
		wanted []curriculum.KindShare
		want   []int
	}{
		{"one more", hour(10, 30, 40, 20), []curriculum.KindShare{share(curriculum.Test, 40)}, []int{8, 22, 30, 40}}, // 60 of 10:30:40 is 7.5, 22.5, 30; of equal remainders the first
		{"two that keep the sum", hour(10, 30, 40, 20), []curriculum.KindShare{share(curriculum.Test, 30), share(curriculum.Technique, 20)}, []int{10, 20, 40, 30}},
		{"all four, scaled to a hundred", hour(25, 25, 25, 25), []curriculum.KindShare{share(curriculum.Warmup, 10), share(curriculum.Technique, 10), share(curriculum.Random, 10), share(curriculum.Test, 20)}, []int{20, 20, 20, 40}},
		{"a kind in two blocks", hour(10, 20, 20, 10, 10, 10, 10, 10), []curriculum.KindShare{share(curriculum.Technique, 45)}, []int{8, 30, 15, 8, 8, 15, 8, 8}}, // 55 of 20:30:20 is 15.7, 23.6, 15.7
		{"a kind that the plan has not", hour(50, 50), []curriculum.KindShare{share(curriculum.Test, 40)}, []int{50, 50}},
		{"nothing left for the others", hour(10, 30, 40, 20), []curriculum.KindShare{share(curriculum.Test, 100)}, []int{10, 30, 40, 20}},
		{"less than a minute for one", hour(10, 30, 40, 20), []curriculum.KindShare{share(curriculum.Test, 97)}, []int{10, 30, 40, 20}},
	} {
		got := c.week.Adjusted([]curriculum.Adjustment{{Kind: curriculum.OtherShares, Shares: c.wanted}})
		if !slices.Equal(sharesOf(got), c.want) {
			t.Errorf("%s: got %v, want %v", c.why, sharesOf(got), c.want)
		}
	}
}

// TestAdjustedSharesSum: whatever is wanted, a plan that could be published still
// can: shares of a hundred, and a minute for each block.
func TestAdjustedSharesSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shares := []int{}
		for left := 100; left > 0; {
			n := min(left, rapid.IntRange(5, 60).Draw(t, "share"))
			if left-n < 5 {
				n = left
			}
			shares, left = append(shares, n), left-n
		}
		w := hour(shares...)
		w.Plans = w.Plans[:1]
		w.Plans[0].Minutes = rapid.IntRange(20, 120).Draw(t, "minutes")
		wanted := curriculum.KindShare{Kind: rapid.SampledFrom(curriculum.BlockKinds()).Draw(t, "kind"), Share: rapid.IntRange(1, 100).Draw(t, "wanted")}
		before := w.Plans[0]
		got := w.Adjusted([]curriculum.Adjustment{{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{wanted}}}).Plans[0]
		if reflect.DeepEqual(got, before) {
			return
		}
		minutes := got.BlockMinutes()
		if minutes == nil || slices.Min(minutes) < 1 {
			t.Fatalf("%v became %v, which has the minutes %v", before.Shares(), got.Shares(), minutes)
		}
		sum := 0
		for _, b := range got.Blocks {
			if b.Kind == wanted.Kind {
				sum += b.Share
			}
		}
		if sum != wanted.Share && sum != 100 {
			t.Fatalf("%v became %v: %s has %d, want %d", before.Shares(), got.Shares(), wanted.Kind, sum, wanted.Share)
		}
	})
}

// TestAdjusted: the other kinds, and that the week itself stays as it was.
func TestAdjusted(t *testing.T) {
	w := hour(10, 30, 40, 20)
	w.Plans[0].Blocks[2].Kind = curriculum.Stations
	before := hour(10, 30, 40, 20)
	before.Plans[0].Blocks[2].Kind = curriculum.Stations
	drill := curriculum.Drill{Text: "Low ones.", Radius: 2 * domain.Metre}
	got := w.Adjusted([]curriculum.Adjustment{
		{Kind: curriculum.OtherRadius, Skill: "pitch", Radius: 3 * domain.Metre},
		{Kind: curriculum.OtherDistances, Skill: "pitch", Distances: []domain.Length{12 * domain.Metre, 15 * domain.Metre}},
		{Kind: curriculum.OtherWarmup, Skill: "lob", Drill: drill},
		{Kind: curriculum.FewerSessions, PerWeek: 1},
		{Kind: curriculum.ExtraStep, Skill: "pitch", Tier: streak.Tier{Run: 3, Radius: domain.Metre}},
	})
	if !reflect.DeepEqual(w, before) {
		t.Errorf("the week became %+v", w)
	}
	blocks := got.Plans[0].Blocks
	if blocks[0].Skill != "lob" || !reflect.DeepEqual(blocks[0].Drill, drill) || blocks[0].Share != 10 {
		t.Errorf("the warm-up is %+v", blocks[0])
	}
	for i, want := range map[int][]domain.Length{1: {12 * domain.Metre}, 2: {12 * domain.Metre, 15 * domain.Metre}, 3: {12 * domain.Metre}} {
		if d := blocks[i].Drill; d.Radius != 3*domain.Metre || !slices.Equal(d.Distances, want) {
			t.Errorf("block %d has %+v, want 3 m from %v", i, d, want)
		}
	}
	if got.Plans[0].Times != 1 || got.Plans[1].Times != 0 || got.Sessions() != 1 {
		t.Errorf("sessions: %d and %d, want 1 and 0", got.Plans[0].Times, got.Plans[1].Times)
	}
	// A plan without a warm-up gets one in front, of 15 % of the time.
	if added := got.Plans[1].Blocks; len(added) != 2 || added[0].Kind != curriculum.Warmup || added[0].Share != 15 || added[0].Skill != "lob" || added[1].Share != 85 {
		t.Errorf("got %+v, want a warm-up in front", added)
	}
	if again := got.Adjusted([]curriculum.Adjustment{{Kind: curriculum.OtherWarmup, Skill: "lob"}}); !reflect.DeepEqual(again, got) {
		t.Errorf("a warm-up of the same skill changed %+v", again)
	}
	crowded := hour(9, 9, 9, 9, 8, 8, 8, 8, 8, 8, 8, 8)
	for i := range crowded.Plans[0].Blocks {
		crowded.Plans[0].Blocks[i].Kind = curriculum.Technique
	}
	if got := crowded.Adjusted([]curriculum.Adjustment{{Kind: curriculum.OtherWarmup, Skill: "lob"}}); len(got.Plans[0].Blocks) != 12 {
		t.Errorf("a thirteenth block was added")
	}
	if got := w.Adjusted(nil); !reflect.DeepEqual(got, w) {
		t.Errorf("nothing changed %+v", got)
	}
}

// TestAdjustmentCheck: each kind names the field at fault.
func TestAdjustmentCheck(t *testing.T) {
	for _, c := range []struct {
		a    curriculum.Adjustment
		want []string
	}{
		{curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: "s", Tier: streak.Tier{Run: 5, Radius: domain.Metre}}, nil},
		{curriculum.Adjustment{Kind: curriculum.ExtraStep}, []string{"/a/skill_id", "/a/tier/run", "/a/tier/radius_m"}},
		{curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: "s", Radius: streak.MinRadius}, nil},
		{curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: "s", Radius: streak.MaxRadius}, nil},
		{curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: "s", Radius: streak.MinRadius - 1}, []string{"/a/radius_m"}},
		{curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: "s", Radius: streak.MaxRadius + 1}, []string{"/a/radius_m"}},
		{curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: "s"}, []string{"/a/distances_m"}},
		{curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: "s", Distances: []domain.Length{domain.Metre, domain.Metre}}, []string{"/a/distances_m/1"}},
		{curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: "s", Distances: make([]domain.Length, 25)}, slices.Concat([]string{"/a/distances_m", "/a/distances_m/0"}, twice("/a/distances_m/", 1, 24))},
		{curriculum.Adjustment{Kind: curriculum.OtherShares}, []string{"/a/shares"}},
		{curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: "nap", Share: 5}, {Kind: curriculum.Test, Share: 101}, {Kind: curriculum.Test}}},
			[]string{"/a/shares/0/kind", "/a/shares/1/share", "/a/shares/2/kind", "/a/shares/2/share"}},
		{curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Test, Share: 80}, {Kind: curriculum.Random, Share: 21}}}, []string{"/a/shares"}},
		{curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Test, Share: 1}, {Kind: curriculum.Random, Share: 99}}}, nil},
		{curriculum.Adjustment{Kind: curriculum.OtherWarmup}, []string{"/a/skill_id"}},
		{curriculum.Adjustment{Kind: curriculum.OtherWarmup, Skill: "s"}, nil},
		{curriculum.Adjustment{Kind: curriculum.FewerSessions}, []string{"/a/sessions_per_week"}},
		{curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 15}, []string{"/a/sessions_per_week"}},
		{curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 14}, nil},
		{curriculum.Adjustment{Kind: "wish"}, []string{"/a/kind"}},
	} {
		var p domain.Problems
		c.a.Check(&p, "/a")
		var got []string
		for _, f := range p.Fields() {
			got = append(got, f.Pointer)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%+v: wrong at %v, want %v", c.a, got, c.want)
		}
	}
}

// twice names entries that are both repeated and too short.
func twice(at string, from, until int) (all []string) {
	for i := from; i <= until; i++ {
		all = append(all, at+strconv.Itoa(i), at+strconv.Itoa(i))
	}
	return all
}

// TestAdjustedOnlySome: a radius may change for some kinds of block alone.
func TestAdjustedOnlySome(t *testing.T) {
	week := hour(25, 25, 25, 25)
	a := curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: "pitch", Radius: 2 * domain.Metre, Only: []curriculum.BlockKind{curriculum.Random, curriculum.Technique}}
	for i, want := range []domain.Length{domain.Metre, 2 * domain.Metre, 2 * domain.Metre, domain.Metre} {
		if got := week.Adjusted([]curriculum.Adjustment{a}).Plans[0].Blocks[i].Drill.Radius; got != want {
			t.Errorf("block %d: got %v, want %v", i+1, got, want)
		}
	}
	var p domain.Problems
	a.Only = []curriculum.BlockKind{"test", "nap"}
	a.Check(&p, "/items/3")
	if f := p.Fields(); len(f) != 1 || f[0].Pointer != "/items/3/only/1" {
		t.Errorf("got %v, want one problem at /items/3/only/1", f)
	}
}

// TestNearer: each block keeps its own distances in proportion, in the unit that they
// are whole in, each once, and none under a yard or metre.
func TestNearer(t *testing.T) {
	yards, metres := domain.Yard, domain.Metre
	for _, c := range []struct{ own, want []domain.Length }{
		{[]domain.Length{18 * yards, 22 * yards, 27 * yards}, []domain.Length{12 * yards, 14 * yards, 18 * yards}},
		{[]domain.Length{20 * metres}, []domain.Length{13 * metres}},
		{[]domain.Length{5 * yards, 6 * yards, 4 * yards}, []domain.Length{3 * yards, 4 * yards, 2 * yards}},
		{[]domain.Length{2 * yards, 1 * yards, yards / 2}, []domain.Length{1 * yards, yards / 2}},
		{nil, nil},
	} {
		w := hour(25, 25, 25, 25)
		w.Plans[0].Blocks[2].Drill.Distances = c.own
		got := w.Adjusted([]curriculum.Adjustment{{Kind: curriculum.OtherDistances, Skill: "pitch", DistancePart: 67}}).Plans[0]
		if !slices.Equal(got.Blocks[2].Drill.Distances, c.want) {
			t.Errorf("%v: got %v, want %v", c.own, got.Blocks[2].Drill.Distances, c.want)
		}
		if one := got.Blocks[1].Drill.Distances; !slices.Equal(one, []domain.Length{13 * metres}) {
			t.Errorf("technique from 20 m is played from %v, want 13 m, its own", one)
		}
	}
	for _, a := range []curriculum.Adjustment{
		{DistancePart: 9}, {DistancePart: 100}, {DistancePart: 67, Distances: []domain.Length{9 * metres}},
	} {
		a.Kind, a.Skill = curriculum.OtherDistances, "pitch"
		var p domain.Problems
		if a.Check(&p, ""); len(p.Fields()) != 1 || p.Fields()[0].Pointer != "/distance_percent" {
			t.Errorf("%+v: got %v", a, p.Fields())
		}
	}
}
