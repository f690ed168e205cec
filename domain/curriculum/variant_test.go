package curriculum_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
)

var (
	mat    = curriculum.Day{Variant: curriculum.ClosedGreen, Surface: curriculum.OnMat}
	carpet = curriculum.Day{Variant: curriculum.ClosedGreen, Surface: curriculum.OnCarpet}
	garden = curriculum.Day{Variant: curriculum.ClosedGreen, Surface: curriculum.InGarden}
	short  = curriculum.Day{Variant: curriculum.ShortHour}
	single = curriculum.Day{Variant: curriculum.OneBall}
	rain   = curriculum.Day{Variant: curriculum.InRain}
)

// chips says that every block trains a chip.
func chips(curriculum.Block) curriculum.SkillKind { return curriculum.ChipAndRun }

// shotsOf says that every block trains the sort of shot.
func shotsOf(k curriculum.SkillKind) func(curriculum.Block) curriculum.SkillKind {
	return func(curriculum.Block) curriculum.SkillKind { return k }
}

// full has a block of each kind.
func full(minutes int, shares ...int) curriculum.Plan {
	plan := curriculum.Plan{Name: "All", Minutes: minutes, Times: 2}
	for i, k := range curriculum.BlockKinds() {
		b := curriculum.Block{Kind: k, Share: shares[i], Drill: curriculum.ChipAndRun.Usual(k)}
		b.Drill.Radius = 5 * domain.Foot
		plan.Blocks = append(plan.Blocks, b)
	}
	return plan
}

func kindsOf(p curriculum.Plan) (kinds []curriculum.BlockKind) {
	for _, b := range p.Blocks {
		kinds = append(kinds, b.Kind)
	}
	return kinds
}

// TestVariantsByHand: 60 minutes of 5, 25, 10, 20, 30 and 10 per cent. Twenty
// minutes have 1, 5, 2, 4, 6 and 2 of them; the first goes, and of 25:10:20:30:10 the last
// still has 2 (10 of 95 is 2.1), as has the third: both go, the later one first, and
// 25:20:30 of 75 are 33, 27 and 40 per cent. Rain leaves 40.
func TestVariantsByHand(t *testing.T) {
	plan := full(60, 5, 25, 10, 20, 30, 10)
	const w, q, s, r, o = curriculum.Warmup, curriculum.Technique, curriculum.Stations, curriculum.Random, curriculum.Playout
	for _, c := range []struct {
		day     curriculum.Day
		kinds   []curriculum.BlockKind
		shares  []int
		minutes []int
	}{
		{short, []curriculum.BlockKind{q, r, q}, []int{33, 27, 40}, []int{7, 5, 8}},
		{single, []curriculum.BlockKind{w, o, o, r, o, o}, []int{5, 25, 10, 20, 30, 10}, []int{3, 15, 6, 12, 18, 6}},
		{mat, []curriculum.BlockKind{w, q, r, r, q, r}, []int{5, 25, 10, 20, 30, 10}, []int{3, 15, 6, 12, 18, 6}},
		{rain, []curriculum.BlockKind{w, q, s, r, q, o}, []int{5, 25, 10, 20, 30, 10}, []int{2, 10, 4, 8, 12, 4}},
	} {
		got, ok := plan.Variant(c.day, chips)
		if !ok || !slices.Equal(kindsOf(got), c.kinds) || !slices.Equal(got.Shares(), c.shares) || !slices.Equal(got.BlockMinutes(), c.minutes) || got.Times != 2 {
			t.Errorf("%s: %v of %v, %v minutes", c.day.Label(), kindsOf(got), got.Shares(), got.BlockMinutes())
		}
	}
	if !reflect.DeepEqual(plan, full(60, 5, 25, 10, 20, 30, 10)) {
		t.Error("the plan itself was changed")
	}
}

// TestVariantLengths: how long a plan is on a day, and where there is no version.
func TestVariantLengths(t *testing.T) {
	for _, c := range []struct{ planned, short, rain int }{
		{10, 0, 10}, {20, 0, 20}, {21, 20, 20}, {30, 20, 20}, {37, 20, 20}, {38, 20, 25}, {60, 20, 40}, {240, 20, 160},
	} {
		plan := full(c.planned, 20, 20, 15, 15, 15, 15)
		if got, ok := plan.Variant(short, chips); ok != (c.short > 0) || got.Minutes != c.short {
			t.Errorf("%d minutes, in short: %d (%v), want %d", c.planned, got.Minutes, ok, c.short)
		}
		if got, ok := plan.Variant(rain, chips); !ok || got.Minutes != c.rain {
			t.Errorf("%d minutes, in rain: %d (%v), want %d", c.planned, got.Minutes, ok, c.rain)
		}
	}
	unfinished := full(60, 5, 25, 10, 20, 30, 5)
	for _, day := range curriculum.Days() {
		if _, ok := unfinished.Variant(day, chips); ok {
			t.Errorf("%s: a plan whose shares do not sum to 100 has a version", day.Label())
		}
	}
	for _, day := range []curriculum.Day{{}, {Variant: curriculum.ClosedGreen}, {Variant: curriculum.InRain, Surface: curriculum.OnMat}, {Variant: "snow"}} {
		if _, ok := full(60, 5, 25, 10, 20, 30, 10).Variant(day, chips); ok {
			t.Errorf("%+v has a version", day)
		}
	}
}

// TestVariantsSuit: every version of every plan is one that could be published: shares
// of 100, a minute a block, drills that suit their kind, and no test. What it is made
// of does not depend on the clubs or the sort of shot, which a student's own bag and the
// service may see differently.
func TestVariantsSuit(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		shot := rapid.SampledFrom(curriculum.SkillKinds()).Draw(r, "shot")
		n := rapid.IntRange(1, curriculum.MaxBlocks).Draw(r, "blocks")
		parts := rapid.SliceOfN(rapid.IntRange(1, 9), n, n).Draw(r, "parts")
		shares, err := curriculum.Split(100, parts)
		if err != nil {
			r.Fatal(err)
		}
		plan := curriculum.Plan{Minutes: rapid.IntRange(curriculum.MinMinutes, curriculum.MaxMinutes).Draw(r, "minutes"), Times: 1}
		for _, share := range shares {
			k := rapid.SampledFrom(curriculum.BlockKinds()).Draw(r, "kind")
			d := shot.Usual(k)
			if shot == curriculum.Own {
				d = curriculum.ChipAndRun.Usual(k)
			}
			d.Radius = domain.Length(rapid.IntRange(3_000, 60_000).Draw(r, "radius"))
			plan.Blocks = append(plan.Blocks, curriculum.Block{Kind: k, Share: share, Drill: d})
		}
		skill := curriculum.Skill{ID: "s", Kind: shot}
		tested := curriculum.Plan{Minutes: 60, Times: 1, Blocks: []curriculum.Block{{Kind: curriculum.Test, Share: 100, Drill: curriculum.Drill{Text: "X", Radius: domain.Metre}}}}
		publishable := func(p curriculum.Plan) error {
			c := curriculum.Content{Name: "N", Weeks: []curriculum.Week{{Skill: "s", Plans: []curriculum.Plan{p, tested}}}}
			known := map[domain.ID]curriculum.Skill{"s": skill}
			if err := c.CheckDraft(known); err != nil {
				return err
			}
			return c.CheckPublishable(known)
		}
		if plan.BlockMinutes() == nil || slices.Min(plan.BlockMinutes()) < 1 {
			return // no plan to begin with
		}
		if err := publishable(plan); err != nil {
			r.Fatal(err)
		}
		for _, day := range curriculum.Days() {
			got, ok := plan.Variant(day, shotsOf(shot))
			if !ok {
				if day.Variant != curriculum.ShortHour || plan.Minutes > 20 {
					r.Fatalf("%s: no version of %d minutes", day.Label(), plan.Minutes)
				}
				continue
			}
			if err := publishable(got); err != nil {
				r.Fatalf("%s: %v of %+v", day.Label(), err, plan)
			}
			if slices.Contains(kindsOf(got), curriculum.Test) {
				r.Fatalf("%s has a test", day.Label())
			}
			bare := plan
			bare.Blocks = slices.Clone(plan.Blocks)
			for i := range bare.Blocks {
				bare.Blocks[i].Drill = curriculum.Drill{Text: "X", Radius: domain.Metre}
			}
			if other, _ := bare.Variant(day, shotsOf(curriculum.Own)); !slices.Equal(kindsOf(other), kindsOf(got)) || !slices.Equal(other.Shares(), got.Shares()) {
				r.Fatalf("%s: made of %v without drills, %v with", day.Label(), kindsOf(other), kindsOf(got))
			}
		}
	})
}

// TestClosedGreenDrills: landing spots at the part of the way that the drill says the
// ball flies, or half, capped by the surface; putts keep their length.
func TestClosedGreenDrills(t *testing.T) {
	drill := func(carry int, distances ...domain.Length) curriculum.Drill {
		return curriculum.Drill{Text: "Let it run to the hole.", Lies: []string{"rough"}, Distances: distances, Clubs: []string{"9 iron"}, Carry: carry, Radius: 2 * domain.Metre}
	}
	yards := func(n ...domain.Length) (all []domain.Length) {
		for _, x := range n {
			all = append(all, x*domain.Yard)
		}
		return all
	}
	for _, c := range []struct {
		name  string
		day   curriculum.Day
		kind  curriculum.BlockKind
		shot  curriculum.SkillKind
		drill curriculum.Drill
		want  []domain.Length
	}{
		{"half of the way", mat, curriculum.Technique, curriculum.ChipAndRun, drill(0, yards(14)...), yards(7)},
		{"as the drill says", mat, curriculum.Test, curriculum.ChipAndRun, drill(25, yards(14)...), yards(3)},
		{"all of it in the air is half of it here", mat, curriculum.Test, curriculum.Lob, drill(100, yards(14)...), yards(7)},
		{"capped on a mat", mat, curriculum.Random, curriculum.Pitch, drill(80, yards(12, 40, 50)...), yards(9, 15)},
		{"capped on a carpet, with a nearer one beside it", carpet, curriculum.Random, curriculum.Pitch, drill(0, yards(40, 50)...), yards(1, 3)},
		{"in metres", garden, curriculum.Random, curriculum.Pitch, drill(0, 30*domain.Metre, 8*domain.Metre), []domain.Length{10 * domain.Metre, 4 * domain.Metre}},
		{"no distance", garden, curriculum.Technique, curriculum.Own, drill(0), yards(10)},
		{"stations are dealt", garden, curriculum.Stations, curriculum.Pitch, drill(50, yards(12)...), yards(3, 6)},
		{"a long putt on a carpet", carpet, curriculum.Technique, curriculum.LagPutt, drill(0, 32*domain.Foot), yards(3)},
		{"a short putt", carpet, curriculum.Random, curriculum.ShortPutt, drill(0, 3*domain.Foot, 4*domain.Foot), []domain.Length{3 * domain.Foot, 4 * domain.Foot}},
		{"one putt of a yard", carpet, curriculum.Random, curriculum.ShortPutt, drill(0, 3*domain.Foot), yards(1, 3)},
	} {
		plan := curriculum.Plan{Minutes: 30, Times: 1, Blocks: []curriculum.Block{{Kind: c.kind, Share: 100, Drill: c.drill}}}
		got, _ := plan.Variant(c.day, shotsOf(c.shot))
		d := got.Blocks[0].Drill
		if !slices.Equal(d.Distances, c.want) || d.Carry != 0 || len(d.Lies) != 1 || d.Lies[0] == "rough" || d.Radius != 9_000 || !slices.Equal(d.Clubs, c.drill.Clubs) {
			t.Errorf("%s: %+v, want %v", c.name, d, c.want)
		}
		if strings.Contains(d.Text, "hole.") {
			t.Errorf("%s: speaks of a hole: %q", c.name, d.Text)
		}
	}
}

// TestOneBallPlaces: what has one spot gets a second place to play from.
func TestOneBallPlaces(t *testing.T) {
	for _, c := range []struct {
		name      string
		drill     curriculum.Drill
		distances []domain.Length
		lies      []string
	}{
		{"three quarters of the way", curriculum.Drill{Distances: []domain.Length{12 * domain.Metre}}, []domain.Length{9 * domain.Metre, 12 * domain.Metre}, nil},
		{"too near for that", curriculum.Drill{Distances: []domain.Length{domain.Yard}}, []domain.Length{domain.Yard}, []string{"this side of the green", "the far side of the green"}},
		{"no distance", curriculum.Drill{}, nil, []string{"this side of the green", "the far side of the green"}},
		{"two lies", curriculum.Drill{Lies: []string{"a", "b"}}, nil, []string{"a", "b"}},
	} {
		plan := curriculum.Plan{Minutes: 30, Times: 1, Blocks: []curriculum.Block{{Kind: curriculum.Stations, Share: 100, Drill: c.drill}}}
		got, _ := plan.Variant(single, chips)
		if d := got.Blocks[0].Drill; got.Blocks[0].Kind != curriculum.Playout || !slices.Equal(d.Distances, c.distances) || !slices.Equal(d.Lies, c.lies) {
			t.Errorf("%s: %+v", c.name, got.Blocks[0])
		}
	}
}

// TestVariantWords: what was a test says that it is none, without the coach's words of a
// test; elsewhere those follow, cut where they grow too long. Each day has its words.
func TestVariantWords(t *testing.T) {
	plan := full(60, 5, 25, 10, 20, 30, 10)
	plan.Blocks[4].Drill.Text = strings.Repeat("ü", curriculum.MaxText)
	plan.Blocks[3].Drill.MoreOfMisses = true
	inRain, _ := plan.Variant(rain, chips)
	if text := inRain.Blocks[4].Drill.Text; text != "No test today: same spot, ten balls at a time. Count how many are in." {
		t.Errorf("a test in rain: %.80q", text)
	}
	plan.Blocks[1].Drill.Text = strings.Repeat("ü", curriculum.MaxText)
	oneBall, _ := plan.Variant(single, chips)
	if text := oneBall.Blocks[1].Drill.Text; !strings.HasPrefix(text, "One ball: play it until") || len([]rune(text)) != curriculum.MaxText {
		t.Errorf("%.60q… of %d letters", text, len([]rune(text)))
	}
	inRain, _ = plan.Variant(rain, chips)
	if inRain.Blocks[1].Drill.Text != plan.Blocks[1].Drill.Text || !inRain.Blocks[3].Drill.MoreOfMisses {
		t.Errorf("technique in rain: %q", inRain.Blocks[1].Drill.Text)
	}
	for _, c := range []struct {
		day  curriculum.Day
		shot curriculum.SkillKind
		want []string // beginnings, by block
	}{
		{single, curriculum.Pitch, []string{"One ball: play it, fetch it", "One ball: play it until it is holed", "One ball: play it until", "One ball: play the task", "One ball: play it until", "One ball: play it until"}},
		{mat, curriculum.BunkerShot, []string{"No sand here", "No sand here", "A new distance", "A new distance", "No sand here", "A new distance"}},
		{carpet, curriculum.ShortPutt, []string{"Putt to a coin", "Putt to a coin", "A new distance", "A new distance", "Putt to a coin", "A new distance"}},
		{carpet, curriculum.ChipAndRun, []string{"A soft ball", "A soft ball", "A new distance", "A new distance", "A soft ball", "A new distance"}},
	} {
		got, _ := plan.Variant(c.day, shotsOf(c.shot))
		for i, b := range got.Blocks {
			if !strings.HasPrefix(b.Drill.Text, c.want[i]) {
				t.Errorf("%s, block %d: %q, want %q …", c.day.Label(), i+1, b.Drill.Text, c.want[i])
			}
		}
	}
	if on, _ := plan.Variant(mat, chips); !strings.HasSuffix(on.Blocks[1].Drill.Text, "ball first, then mat.") {
		t.Errorf("technique off a mat: %q", on.Blocks[1].Drill.Text)
	}
	seen := map[string]bool{}
	for _, day := range curriculum.Days() {
		label, counts := day.Label(), day.Counts()
		if label == "" || seen[label] || !strings.Contains(counts, "no odds") || strings.Contains(counts, "on a green") != day.Surface.Off() {
			t.Errorf("%+v: %q, %q", day, label, counts)
		}
		if careful := len(day.Cautions()) > 0; careful != (day.Surface.Off() || day.Variant == curriculum.InRain) {
			t.Errorf("%s: cautions %q", label, day.Cautions())
		}
		seen[label] = true
	}
	if all := slices.Concat(curriculum.BodyWarmup(), curriculum.Etiquette()); !strings.Contains(strings.Join(all, " "), "licensed professional") || !strings.Contains(strings.Join(all, " "), "pitch marks") {
		t.Errorf("%q", all)
	}
}

// TestKit: what to bring follows from the blocks.
func TestKit(t *testing.T) {
	of := func(blocks ...curriculum.Block) curriculum.Plan { return curriculum.Plan{Blocks: blocks} }
	block := func(k curriculum.BlockKind, radius domain.Length, clubs ...string) curriculum.Block {
		return curriculum.Block{Kind: k, Drill: curriculum.Drill{Radius: radius, Clubs: clubs}}
	}
	for _, c := range []struct {
		name string
		plan curriculum.Plan
		day  curriculum.Day
		shot curriculum.SkillKind
		want curriculum.Kit
	}{
		{"a circle", of(block(curriculum.Test, domain.Metre, "54", "putter"), block(curriculum.Random, domain.Metre, "54", "9 iron")), curriculum.Day{}, curriculum.Pitch,
			curriculum.Kit{Balls: 12, Clubs: []string{"54", "9 iron"}, Putter: true, Tees: 4, String: true}},
		{"stations", of(block(curriculum.Stations, domain.Metre)), curriculum.Day{}, curriculum.Pitch, curriculum.Kit{Balls: 12, Towel: true}},
		{"dealt", of(block(curriculum.Random, 0)), curriculum.Day{}, curriculum.Pitch, curriculum.Kit{Balls: 6}},
		{"played out", of(block(curriculum.Playout, domain.Metre)), curriculum.Day{}, curriculum.Pitch, curriculum.Kit{Balls: 1, Putter: true}},
		{"one ball", of(block(curriculum.Warmup, domain.Metre)), single, curriculum.Pitch, curriculum.Kit{Balls: 1, Tees: 4, String: true}},
		{"rain", of(block(curriculum.Random, 0)), rain, curriculum.LagPutt, curriculum.Kit{Balls: 6, Putter: true, Towel: true}},
		{"a carpet", of(block(curriculum.Technique, domain.Metre)), carpet, curriculum.Pitch, curriculum.Kit{Balls: 12, Soft: true, Towel: true}},
		{"putts on a carpet", of(block(curriculum.Technique, domain.Metre)), carpet, curriculum.ShortPutt, curriculum.Kit{Balls: 12, Soft: true, Putter: true}},
		{"a mat", of(block(curriculum.Technique, domain.Metre)), mat, curriculum.Pitch, curriculum.Kit{Balls: 12, Towel: true}},
	} {
		if got := c.plan.Kit(c.day, shotsOf(c.shot)); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// TestShorterSessions: every plan is kept to the minutes, unless a block would be left
// without one.
func TestShorterSessions(t *testing.T) {
	w := hour(10, 30, 40, 20)
	at := func(minutes int) []int {
		got := w.Adjusted([]curriculum.Adjustment{{Kind: curriculum.ShorterSessions, Minutes: minutes}})
		return []int{got.Plans[0].Minutes, got.Plans[1].Minutes}
	}
	for _, c := range []struct{ most, first, second int }{{90, 60, 30}, {40, 40, 30}, {25, 25, 25}} {
		if got := at(c.most); !slices.Equal(got, []int{c.first, c.second}) {
			t.Errorf("at most %d: %v", c.most, got)
		}
	}
	w = hour(2, 58, 20, 20)
	if got := at(20); !slices.Equal(got, []int{60, 20}) {
		t.Errorf("a block without a minute: %v", got)
	}
	for minutes, want := range map[int]bool{4: false, 5: true, 240: true, 241: false} {
		var p domain.Problems
		curriculum.Adjustment{Kind: curriculum.ShorterSessions, Minutes: minutes}.Check(&p, "/items/0")
		if ok := len(p.Fields()) == 0; ok != want {
			t.Errorf("%d minutes: %v", minutes, p.Fields())
		}
	}
}
