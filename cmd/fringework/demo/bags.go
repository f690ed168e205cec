package demo

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
)

// club and bag are a student's own clubs as the API takes them.
type club struct {
	Name    string  `json:"name"`
	LoftDeg float64 `json:"loft_deg"`
}

type bag struct {
	Hand  string `json:"hand"`
	Clubs []club `json:"clubs"`
}

// green and landing are how a green was found, and a ball of which it is known where
// it landed and stopped.
type green struct {
	StimpFt  float64 `json:"stimp_ft"`
	SlopeDeg float64 `json:"slope_deg,omitempty"`
}

type landing struct {
	Club    string  `json:"club"`
	LoftDeg float64 `json:"loft_deg"`
	Lie     string  `json:"lie"`
	CarryM  float64 `json:"carry_m"`
	TotalM  float64 `json:"total_m"`
	AimM    float64 `json:"aim_m"`
}

// sets are clubs as students carry them; nobody makes them.
var sets = [][]club{
	{{"Larkmoor 8-iron", 37}, {"Larkmoor 9-iron", 41}, {"Larkmoor pitching wedge", 45}, {"Curlew 50", 50}, {"Curlew 56", 56}, {"Curlew 60", 60}},
	{{"7-iron", 32}, {"9-iron", 40}, {"Pitching wedge", 44}, {"Plover 52", 52}, {"Plover 58", 58}},
	{{"Old 8-iron", 39}, {"Old pitching wedge", 48}, {"Grandfather's sand iron", 55}},
}

// bag is that of the i-th student; none is known of whoever judges as they like.
func (c career) bag(i int) *bag {
	if c.wide {
		return nil
	}
	hand := "right"
	if c.left {
		hand = "left"
	}
	return &bag{hand, sets[i%len(sets)]}
}

func (w *Academy) fillBags(ctx context.Context, _ Config) error {
	for i, s := range w.Students {
		b := s.bag(i)
		if b == nil {
			continue
		}
		if err := s.Call(ctx, "PUT", "/v1/students/"+s.id+"/bag", b, nil); err != nil {
			return fmt.Errorf("%s: %w", s.name, err)
		}
	}
	return nil
}

const (
	// landed is how many balls of each club a student watches in a session of
	// stations, and watched how many weeks of the last have such sessions.
	landed  = 4
	watched = 8
)

// watch notes where some balls at the stations of a week landed and stopped.
func (s Student) watch(rng *rand.Rand, i, wk int, o *sessionBody) {
	b := s.bag(i)
	if b == nil || !weekAt(max(0, wk-baselineWeeks)).stations() {
		return
	}
	o.Green = &green{8 + float64(i%4), float64(i%3 - 1)}
	runs := 0.85 + 0.1*float64(i%5) // how far their balls run beside a plain shot's
	for _, c := range b.Clubs {
		for range landed {
			const aim = 5.0
			carry := aim * (1 + 0.1*rng.NormFloat64())
			// Half and half with a sand wedge, and more roll with less loft: common
			// practice, no source.
			roll := carry * max(0.5, 1+(56-c.LoftDeg)/8) * runs * math.Exp(0.15*rng.NormFloat64())
			o.Landings = append(o.Landings, landing{c.Name, c.LoftDeg, "fairway", round(carry), round(carry + roll), aim})
		}
	}
}

// round is to ten centimetres, as paces give it at best.
func round(metres float64) float64 { return math.Round(10*metres) / 10 }

// stations says whether a week has a block of them.
func (w week) stations() bool {
	for _, b := range w.blocks {
		if b.kind == "stations" {
			return true
		}
	}
	return false
}
