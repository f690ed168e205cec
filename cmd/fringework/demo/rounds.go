package demo

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"
)

// shot and roundBody are a round on the course as the API takes it.
type shot struct {
	Hole     int     `json:"hole"`
	Lie      string  `json:"lie"`
	Distance float64 `json:"distance_m"`
	Holed    bool    `json:"holed,omitempty"`
	Left     float64 `json:"left_m,omitempty"`
	LeftLie  string  `json:"left_lie,omitempty"`
	Putts    int     `json:"putts,omitempty"`
}

type roundBody struct {
	Revision int       `json:"revision"`
	PlayedAt time.Time `json:"started_at"`
	TimeZone string    `json:"time_zone"`
	Course   string    `json:"course"`
	Shots    []shot    `json:"shots"`
}

const (
	courseName = "Larkmoor Links"
	// every is how many students there are for each that plays rounds.
	every = 3
	// mostRounds is how many of the last weeks have a round.
	mostRounds = 30
)

// logRounds lets every third student play a round each Saturday morning.
func (w *Academy) logRounds(ctx context.Context, c Config) error {
	for i := 0; i < len(w.Students); i += every {
		s := w.Students[i]
		zone, err := time.LoadLocation(s.zone)
		if err != nil {
			return err
		}
		rng := rand.New(rand.NewPCG(c.Seed, 2000+uint64(i)))
		for wk := max(0, c.Weeks-s.quit-mostRounds); wk < c.Weeks-s.quit; wk++ {
			date := c.firstMonday().AddDate(0, 0, 7*wk+5)
			if !date.Before(c.today()) {
				break
			}
			inside := s.insideRate(wk*s.perWeek, s.perWeek*c.Weeks, 0.2*rng.NormFloat64())
			r := roundBody{1, time.Date(date.Year(), date.Month(), date.Day(), 8, 40, 0, 0, zone), s.zone, courseName, around(rng, inside)}
			if err := s.Call(ctx, "PUT", "/v1/rounds/"+uuid.Must(uuid.NewV7()).String(), r, nil); err != nil {
				return fmt.Errorf("%s: %w", s.name, err)
			}
		}
	}
	return nil
}

// around plays the shots around the greens that were missed in a round; inside is
// the chance to come within the widest circle of a pitch in practice. On the course
// balls scatter half as far again.
func around(rng *rand.Rand, inside float64) (shots []shot) {
	const wilder = 1.5
	wide := allSkills[pitch].circles[0].radius
	for hole := 1; hole <= 18; hole++ {
		if rng.IntN(5) < 3 {
			continue // on the green, or far from it
		}
		s := shot{Hole: hole, Lie: []string{"fairway", "rough", "rough", "sand"}[rng.IntN(4)], Distance: float64(6 + rng.IntN(24))}
		left, holed := strike(rng, inside, wide*wilder*math.Sqrt(s.Distance/allSkills[pitch].spot))
		switch {
		case holed:
			s.Holed = true
		case left > 12:
			s.Left, s.LeftLie = math.Min(left, 30), "rough"
		default:
			s.Left, s.LeftLie, s.Putts = left, "green", putts(rng, left)
		}
		shots = append(shots, s)
	}
	return shots
}

// putts is how many it takes from so far: half the putts of 1.6 m drop.
func putts(rng *rand.Rand, left float64) int {
	switch drops := 1 / (1 + left*left/(1.6*1.6)); {
	case rng.Float64() < drops:
		return 1
	case left > 6 && rng.IntN(5) == 0:
		return 3
	}
	return 2
}
