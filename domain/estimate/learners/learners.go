// Package learners holds simulated careers with known truth, and measures on
// them what package estimate claims: how often its flags are false and how
// late they come, and whether its intervals and forecasts are calibrated.
// Nothing but tests and the command integration/learners uses it.
package learners

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"fringework/domain/estimate"
)

// Kind is how a learner goes.
type Kind string

// The kinds.
const (
	Improving     Kind = "improving"
	Slow          Kind = "slow"
	Flat          Kind = "flat"
	Regressing    Kind = "regressing"
	Plateau       Kind = "plateau"
	NotPractising Kind = "not_practising"
)

// Kinds lists them all.
var Kinds = []Kind{Improving, Slow, Flat, Regressing, Plateau, NotPractising}

// Learner is one simulated career.
type Learner struct {
	Kind Kind
	// P0 is the rate at the first session and Slope the change in logits a
	// session: from the start (improving, slow, and plateau until Onset) or from
	// Onset on (regressing, below 0).
	P0, Slope float64
	// Onset is the 1-based session from which the change shows: the first
	// after growth stopped, decline began or skipping began; 0 without one.
	Onset int
	// Form is the standard deviation of the day's form, in logits, and Memory the
	// share of it left at the next session.
	Form, Memory float64
	// forms of the sessions; nil when they are not known.
	forms    []float64
	Sessions []estimate.Observation
}

// Level is the true log odds at a 1-based session, without the day's form. It
// goes on beyond the sessions there are.
func (l Learner) Level(session int) float64 {
	moved := 0
	switch l.Kind {
	case Improving, Slow:
		moved = session - 1
	case Plateau:
		moved = min(session, l.Onset) - 1
	case Regressing:
		moved = max(0, session-l.Onset)
	}
	return logit(l.P0) + l.Slope*float64(moved)
}

// Rate is the true rate at a 1-based session.
func (l Learner) Rate(session int) float64 { return logistic(l.Level(session)) }

// The reference learners: 200 of each kind with 30 sessions, and their truth.
// They were drawn outside this project with NumPy 1.24.2 (default_rng, seed
// 20260701): starting rate uniform from 0.30 to 0.65; slope uniform from 0.03
// to 0.08 logits a session; decline uniform from 0.05 to 0.12; change after
// session 10 to 18; day's form normal with standard deviation 0.15; 20 to 40
// balls a session; 1 to 4 days between sessions.
var (
	//go:embed learners.csv.gz
	sessionsFile []byte
	//go:embed truth.csv.gz
	truthFile []byte
)

// FormSD is the standard deviation of the reference learners' form.
const FormSD = 0.15

// Reference reads the reference learners.
func Reference() ([]Learner, error) {
	var out []Learner
	err := rows(truthFile, 5, func(f []string) error {
		p0, err1 := strconv.ParseFloat(f[2], 64)
		slope, err2 := strconv.ParseFloat(f[3], 64)
		onset := 0
		var err3 error
		if f[4] != "" {
			onset, err3 = strconv.Atoi(f[4])
		}
		if err1 != nil || err2 != nil || err3 != nil {
			return fmt.Errorf("truth of learner %s: %w", f[0], errors.Join(err1, err2, err3))
		}
		out = append(out, Learner{Kind: Kind(f[1]), P0: p0, Slope: slope, Onset: onset, Form: FormSD})
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = rows(sessionsFile, 6, func(f []string) error {
		var n [4]int
		for i, at := range []int{0, 3, 4, 5} {
			v, err := strconv.Atoi(f[at])
			if err != nil {
				return fmt.Errorf("session %s of learner %s: %w", f[2], f[0], err)
			}
			n[i] = v
		}
		if n[0] < 1 || n[0] > len(out) {
			return fmt.Errorf("learner %d has no truth", n[0])
		}
		l := &out[n[0]-1]
		l.Sessions = append(l.Sessions, estimate.Observation{Day: float64(n[1]), Balls: n[2], Inside: n[3]})
		return nil
	})
	return out, err
}

// rows reads a compressed table with a heading and a number of columns.
func rows(file []byte, columns int, each func([]string) error) error {
	z, err := gzip.NewReader(bytes.NewReader(file))
	if err != nil {
		return err
	}
	r := csv.NewReader(z)
	r.FieldsPerRecord = columns
	r.ReuseRecord = true
	if _, err := r.Read(); err != nil {
		return err
	}
	for {
		f, err := r.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if err := each(f); err != nil {
			return err
		}
	}
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
func logit(p float64) float64    { return math.Log(p / (1 - p)) }
