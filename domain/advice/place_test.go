package advice

import (
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// placing is a student with so many of 20 balls inside 4 ft, before a week of pitches
// from 24 yards.
func placing(inside int, change func(*Placing)) []Proposal {
	ft := domain.Foot
	drill := curriculum.Drill{Radius: 4 * ft, Distances: []domain.Length{24 * domain.Yard}}
	p := Placing{
		State: progress.State{Skill: "pitch", Ladder: streak.Ladder{TestOnly: true, Tiers: []streak.Tier{{Run: 4, Radius: 4 * ft}, {Run: 6, Radius: 4 * ft}, {Run: 9, Radius: 4 * ft}}}},
		Test: progress.Measured{
			Purpose: curriculum.FirstTest, Day: domain.Date{Year: 2026, Month: time.May, Day: 3},
			Test: estimate.Test{Circle: estimate.Circle{Radius: 4 * ft, Balls: 20, Inside: inside}},
		},
		Week: WeekAhead{
			Monday: domain.Date{Year: 2026, Month: time.May, Day: 4}, Shots: map[domain.ID]curriculum.SkillKind{"pitch": curriculum.Pitch},
			Week: curriculum.Week{Skill: "pitch", Plans: []curriculum.Plan{{Minutes: 60, Times: 2, Blocks: []curriculum.Block{
				{Kind: curriculum.Technique, Share: 60, Drill: drill}, {Kind: curriculum.Test, Share: 40, Drill: drill},
			}}}},
		},
		Challenge: 0.7,
	}
	if change != nil {
		change(&p)
	}
	return Place(p)
}

// TestPlace: the better the first test, the harder the step to begin with; what the step
// needs of the week's blocks is proposed with it.
func TestPlace(t *testing.T) {
	feet := func(n float64) domain.Length { return domain.Length(n * float64(domain.Foot)) }
	for _, c := range []struct {
		name   string
		inside int
		change func(*Placing)
		labels []string
	}{
		{"all inside: a later step, and a narrower circle to practise to", 20, nil, []string{"Begin with 9 in a row inside 4 ft", "Technique to a circle of "}},
		{"about right: as planned", 12, nil, []string{"Begin with 4 in a row inside 4 ft, as planned"}},
		{"better, at the usual pace: a later step", 14, nil, []string{"Begin with 6 in a row inside 4 ft"}},
		{"better, but slow: as planned", 14, func(p *Placing) {
			for range progress.HabitSessions {
				p.Habit.Recent = append(p.Habit.Recent, progress.SessionTime{Paces: []progress.KindPace{{Kind: "test", Balls: 20, Seconds: 1500}}})
			}
		}, []string{"Begin with 4 in a row inside 4 ft, as planned"}},
		{"few inside: an easier step and its circle", 5, nil, []string{"Begin with 3 in a row inside ", "Play every block to a circle of "}},
		{"few inside, and blocks that follow the step: a wider circle to practise to", 5, func(p *Placing) {
			p.Week.Plans[0].Blocks[1].Drill.Radius = 0
		}, []string{"Begin with 3 in a row inside ", "Technique to a circle of "}},
		{"hardly any inside: from closer in", 1, func(p *Placing) { p.Week.Plans[0].Blocks[0].Drill.Distances = nil }, []string{"Begin with 3 in a row inside 8 ft, from closer in", "Every block from closer in: "}},
		{"no distances, no way closer", 1, func(p *Placing) {
			for i := range p.Week.Plans[0].Blocks {
				p.Week.Plans[0].Blocks[i].Drill.Distances = nil
			}
		}, []string{"Begin with 3 in a row inside 8 ft", "Play every block to a circle of 8 ft"}},
		{"a week without the skill", 10, func(p *Placing) { p.Week.Week.Skill = "chip" }, nil},
		{"no steps", 10, func(p *Placing) { p.State.Ladder.Tiers = nil }, nil},
		{"nothing counts in the week", 14, func(p *Placing) { p.Week.Plans[0].Blocks[1].Kind = curriculum.Random }, []string{"Begin with 4 in a row inside 4 ft, as planned"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := placing(c.inside, c.change)
			if len(got) != len(c.labels) {
				for _, p := range got {
					t.Log(p.Label(Reader{}, "Pitch"))
				}
				t.Fatalf("got %d proposals, want %d", len(got), len(c.labels))
			}
			for i, p := range got {
				if label := p.Label(Reader{}, "Pitch"); !strings.HasPrefix(label, c.labels[i]) {
					t.Errorf("got %q, want %q", label, c.labels[i])
				}
				if p.Move != Start || p.Skill != "pitch" || p.Reason(Reader{}) == "" || p.ToStudent(Reader{}) == "" {
					t.Errorf("got %+v", p)
				}
				if k := p.Adjustment.Kind; k != "" && k != curriculum.ExtraStep && (p.From.Day != 4 || p.Until.Day != 10) {
					t.Errorf("%s is from %v until %v", k, p.From, p.Until)
				}
			}
		})
	}
	later := placing(20, nil)[0]
	if !later.Adjustment.Begins || later.Adjustment.Tier != (streak.Tier{Run: 9, Radius: feet(4)}) || later.Then < 0.85 || later.Of != OfThreeSessions {
		t.Errorf("a later step is %+v", later)
	}
	if planned := placing(12, nil)[0]; planned.Adjustment.Kind != "" {
		t.Errorf("as planned there is nothing to accept: %+v", planned.Adjustment)
	}
	easier := placing(5, nil)
	if a := easier[0].Adjustment; a.Begins || easier[0].Now >= easier[0].Then || easier[1].Adjustment.Radius != a.Tier.Radius || len(easier[1].Adjustment.Only) != 0 {
		t.Errorf("an easier step is %+v with %+v", easier[0], easier[1].Adjustment)
	}
	if words := easier[0].Reason(Reader{}); !strings.HasPrefix(words, "First test on 3 May: 5 of 20 inside 4 ft. 3 in a row inside ") || !strings.Contains(words, "the first step, 4 in a row inside 4 ft, in about") {
		t.Errorf("got %q", words)
	}
	if near := placing(1, func(p *Placing) { p.Week.Plans[0].Blocks[0].Drill.Distances = nil })[1]; near.Adjustment.DistancePart < 50 || near.Adjustment.DistancePart >= 100 {
		t.Errorf("closer in is %+v", near.Adjustment)
	}
	if words := placing(0, nil)[0].Reason(Reader{}); !strings.Contains(words, "no easier step is left") {
		t.Errorf("none inside: %q", words)
	}
}

func TestNearestPart(t *testing.T) {
	yd := domain.Yard
	for _, c := range []struct {
		shot curriculum.SkillKind
		at   []domain.Length
		want int
	}{
		{curriculum.Pitch, nil, 100}, {curriculum.Pitch, []domain.Length{40 * yd}, 50}, {curriculum.Pitch, []domain.Length{16 * yd, 40 * yd}, 63},
		{curriculum.Pitch, []domain.Length{8 * yd}, 100}, {curriculum.LagPutt, []domain.Length{8 * yd}, 50},
	} {
		if got := nearestPart(c.at, c.shot); got != c.want {
			t.Errorf("%s from %v: got %d, want %d", c.shot, c.at, got, c.want)
		}
	}
}

func TestInTen(t *testing.T) {
	for p, want := range map[float64]string{0.01: "hardly any case", 0.1: "about 1 case in 10", 0.62: "about 6 cases in 10", 0.97: "nearly every case"} {
		if got := inTen(p); got != want {
			t.Errorf("%v: got %q", p, got)
		}
	}
}

func TestChanged(t *testing.T) {
	at := func(day, inside int, radius domain.Length) progress.Measured {
		m := progress.Measured{Test: estimate.Test{Circle: estimate.Circle{Radius: radius, Balls: 20, Inside: inside}}}
		if day > 0 {
			m.Day = domain.Date{Year: 2026, Month: time.May, Day: day}
		}
		return m
	}
	const ft = domain.Foot
	for _, c := range []struct {
		first, end progress.Measured
		change     estimate.Change
		want       string
	}{
		{at(3, 8, 4*ft), at(30, 14, 4*ft), estimate.Change{Mean: 0.16, Interval80: estimate.Interval{Lo: 0.02, Hi: 0.3}},
			"Inside 4 ft: 8 of 20 balls in the first test on 3 May, 14 of 20 in the end test on 30 May. Luck and the day allowed for, about 16 more of 100 balls (80 % interval +2 to +30). Two tests show a change, not what caused it."},
		{at(0, 14, 4*ft), at(0, 8, 6*ft), estimate.Change{Mean: -0.16, Interval80: estimate.Interval{Lo: -0.3, Hi: -0.02}},
			"Inside 4 ft: 14 of 20 balls in the first test; inside 6 ft: 8 of 20 in the end test. Luck and the day allowed for, about 16 fewer of 100 balls (80 % interval −30 to −2). Two tests show a change, not what caused it."},
		{at(3, 8, 4*ft), at(30, 9, 4*ft), estimate.Change{Mean: 0.03, Interval80: estimate.Interval{Lo: -0.1, Hi: 0.15}},
			"Inside 4 ft: 8 of 20 balls in the first test on 3 May, 9 of 20 in the end test on 30 May. That can be luck or the day: of 100 balls the change is −10 to +15 (80 % interval). Two tests show a change, not what caused it."},
	} {
		if got := Changed(Reader{}, c.first, c.end, c.change); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}
