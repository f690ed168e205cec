// Command proposals prints what next week's proposals are worth on simulated
// students: planned sessions until each step of a ladder, with every proposal accepted
// against the programme as it is written. The students are judged by the service's
// own rules, from their balls alone.
//
//	go run ./integration/proposals
//	go run ./integration/proposals -students 400 -setting
//	go run ./integration/proposals -accept step,radius
package main

import (
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"sync"

	"fringework/domain/advice"
	"fringework/domain/curriculum"
)

func main() {
	students := flag.Int("students", 100, "students of each kind for each programme")
	seed := flag.Uint64("seed", 1, "seed of what is drawn")
	challenge := flag.Float64("challenge", advice.DefaultChallenge, "the wanted share of success")
	setting := flag.Bool("setting", false, "print the populations that the rules were set on")
	accept := flag.String("accept", "step,radius,shares", "the kinds of proposal that are accepted")
	flag.Parse()
	trial := Trial{Population: Unseen, Challenge: *challenge, Students: *students, Seed: *seed}
	for kind := range strings.SplitSeq(*accept, ",") {
		trial.Accept = append(trial.Accept, curriculum.AdjustmentKind(kind))
	}
	if !*setting {
		trial.print(os.Stdout, Published)
		return
	}
	trial.Population = Setting
	trial.print(os.Stdout, Tuned)
	trial.Population = Second
	trial.print(os.Stdout, TunedSecond)
}

// Trial is what students are put through.
type Trial struct {
	Population Population
	// Challenge is the wanted share of success, and Accept are the kinds of proposal
	// that are accepted.
	Challenge float64
	Accept    []curriculum.AdjustmentKind
	// Students of each kind.
	Students int
	Seed     uint64
}

func (t Trial) print(w io.Writer, programmes []Programme) {
	fmt.Fprintf(w, "Population %s: %v; %.0f %% wanted, %d students of each kind, accepted: %s.\n", t.Population.Name, t.Population, 100*t.Challenge, t.Students, t.Accept)
	for _, programme := range programmes {
		fmt.Fprintf(w, "\n%s, %d weeks of three hours\n", programme.Name, programme.Weeks)
		for _, kind := range Kinds {
			fmt.Fprint(w, t.compare(programme, kind))
		}
	}
}

// Comparison is how students of a kind fared.
type Comparison struct {
	Kind  Kind
	Steps []StepResult
	// Moves counts what was proposed, for each student.
	Moves map[advice.Move]float64
}

// StepResult is planned sessions until a step, with one more than there were for
// students who did not pass it.
type StepResult struct {
	Fixed, Proposed float64 // means
	// Difference of the means, with proposals less without, and half the width of its
	// 95 % interval: normal, of the paired differences.
	Difference, Within float64
	// Passed are the shares of students who passed it, from 0 to 1.
	FixedPassed, ProposedPassed float64
}

// compare plays a programme with students of a kind, as it is and with proposals.
func (t Trial) compare(programme Programme, kind Kind) Comparison {
	steps, students := len(programme.Ladder.Tiers), t.Students
	fixed, proposed := make([]*season, students), make([]*season, students)
	var wait sync.WaitGroup
	turns := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range students {
		wait.Go(func() {
			turns <- struct{}{}
			defer func() { <-turns }()
			of := rand.New(rand.NewPCG(t.Seed, uint64(i)))
			s := t.Population.Draw(kind, programme.Ladder.Tiers[0].Radius.Metres(), of)
			luck := of.Uint64()
			fixed[i] = programme.play(s, luck, nil)
			proposed[i] = programme.play(s, luck, &t)
		})
	}
	wait.Wait()
	c := Comparison{Kind: kind, Steps: make([]StepResult, steps), Moves: map[advice.Move]float64{}}
	n := float64(students)
	for k := range steps {
		r := &c.Steps[k]
		var square float64
		for i := range students {
			a, b := float64(fixed[i].steps[k]), float64(proposed[i].steps[k])
			r.Fixed += a / n
			r.Proposed += b / n
			r.Difference += (b - a) / n
			square += (b - a) * (b - a) / n
			r.FixedPassed += one(fixed[i].steps[k] <= fixed[i].session) / n
			r.ProposedPassed += one(proposed[i].steps[k] <= proposed[i].session) / n
		}
		r.Within = 1.96 * math.Sqrt((square-r.Difference*r.Difference)/(n-1))
	}
	for _, s := range proposed {
		for move, times := range s.moves {
			c.Moves[move] += float64(times) / n
		}
	}
	return c
}

func one(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// String is a part of the table.
func (c Comparison) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "  %s\n    proposed:", c.Kind)
	for _, m := range advice.Moves() {
		fmt.Fprintf(&b, " %s %.1f", m, c.Moves[m])
	}
	b.WriteString("\n    step  as written  passed  with proposals  passed  difference\n")
	for i, s := range c.Steps {
		fmt.Fprintf(&b, "    %4d %11.1f %6.0f %% %14.1f %6.0f %% %+8.1f (%+.1f to %+.1f)\n",
			i+1, s.Fixed, 100*s.FixedPassed, s.Proposed, 100*s.ProposedPassed, s.Difference, s.Difference-s.Within, s.Difference+s.Within)
	}
	return b.String()
}
