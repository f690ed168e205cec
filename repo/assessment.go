package repo

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// number is a float64 as a document holds it: the shortest decimal that reads
// back as the same number, and a word for what JSON has no number for.
type number float64

// MarshalJSON implements json.Marshaler.
func (n number) MarshalJSON() ([]byte, error) {
	f := float64(n)
	if math.IsInf(f, 0) || math.IsNaN(f) {
		return []byte(strconv.Quote(strconv.FormatFloat(f, 'g', -1, 64))), nil
	}
	return json.Marshal(f)
}

// UnmarshalJSON implements json.Unmarshaler.
func (n *number) UnmarshalJSON(b []byte) error {
	text := string(b)
	if len(text) > 1 && text[0] == '"' {
		text = text[1 : len(text)-1]
	}
	f, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return fmt.Errorf("number %s: %w", b, err)
	}
	*n = number(f)
	return nil
}

type intervalDoc struct {
	Lo number `json:"lo"`
	Hi number `json:"hi"`
}

func intervalToDoc(i estimate.Interval) intervalDoc { return intervalDoc{number(i.Lo), number(i.Hi)} }

func (d intervalDoc) interval() estimate.Interval {
	return estimate.Interval{Lo: float64(d.Lo), Hi: float64(d.Hi)}
}

type assessmentDoc struct {
	Rate      rateDoc      `json:"rate"`
	Trend     trendDoc     `json:"trend"`
	Forecast  *forecastDoc `json:"forecast,omitempty"`
	Stalls    []stallDoc   `json:"stalls,omitempty"`
	Undecided undecidedDoc `json:"undecided"`
}

type rateDoc struct {
	Mean           number      `json:"mean"`
	Interval80     intervalDoc `json:"interval_80"`
	Interval95     intervalDoc `json:"interval_95"`
	EffectiveBalls number      `json:"effective_balls"`
	A              number      `json:"a"`
	B              number      `json:"b"`
}

type trendDoc struct {
	Sessions   int         `json:"sessions"`
	Slope      number      `json:"slope"`
	Interval80 intervalDoc `json:"interval_80"`
	Improving  number      `json:"improving"`
}

type forecastDoc struct {
	NextSession     number      `json:"next_session"`
	Within          [3]number   `json:"within"`
	MedianSessions  number      `json:"median_sessions"`
	Range80Sessions intervalDoc `json:"range_80_sessions"`
	Range80Days     intervalDoc `json:"range_80_days"`
}

type stallDoc struct {
	Reason      estimate.Reason `json:"reason"`
	Since       int             `json:"since"`
	SinceDay    number          `json:"since_day"`
	Raised      int             `json:"raised"`
	Probability number          `json:"probability"`
	Evidence    string          `json:"evidence"`
	Advice      string          `json:"advice"`
	Facts       factsDoc        `json:"facts"`
}

type factsDoc struct {
	Radius         domain.Length `json:"radius,omitempty"`
	Rate           number        `json:"rate"`
	RateLo         number        `json:"rate_lo"`
	RateHi         number        `json:"rate_hi"`
	Sessions       int           `json:"sessions,omitempty"`
	Balls          int           `json:"balls,omitempty"`
	Before         number        `json:"before"`
	BeforeLo       number        `json:"before_lo"`
	BeforeHi       number        `json:"before_hi"`
	Rose           bool          `json:"rose,omitempty"`
	Since          *int64        `json:"since,omitempty"`
	SinceSession   int           `json:"since_session,omitempty"`
	Tier           tierDoc       `json:"tier"`
	BallsPerTest   int           `json:"balls_per_test,omitempty"`
	Chance         number        `json:"chance"`
	MedianSessions number        `json:"median_sessions"`
	EvenRadius     domain.Length `json:"even_radius,omitempty"`
	EvenScale      number        `json:"even_scale"`
	EvenRun        int           `json:"even_run,omitempty"`
	Days           number        `json:"days"`
	Gap            number        `json:"gap"`
	Missed         int           `json:"missed,omitempty"`
}

type undecidedDoc struct {
	Standing     bool   `json:"standing"`
	MoreSessions int    `json:"more_sessions"`
	Sentence     string `json:"sentence"`
}

func assessmentToDoc(a estimate.Assessment) assessmentDoc {
	return assessmentDoc{
		Rate: rateDoc{
			Mean: number(a.Rate.Mean), Interval80: intervalToDoc(a.Rate.Interval80), Interval95: intervalToDoc(a.Rate.Interval95),
			EffectiveBalls: number(a.Rate.EffectiveBalls), A: number(a.Rate.A), B: number(a.Rate.B),
		},
		Trend: trendDoc{
			Sessions: a.Trend.Sessions, Slope: number(a.Trend.Slope),
			Interval80: intervalToDoc(a.Trend.Interval80), Improving: number(a.Trend.Improving),
		},
		Forecast:  forecastToDoc(a.Forecast),
		Stalls:    each(a.Stalls, stallToDoc),
		Undecided: undecidedDoc(a.Undecided),
	}
}

func forecastToDoc(f *estimate.Forecast) *forecastDoc {
	if f == nil {
		return nil
	}
	d := &forecastDoc{
		NextSession: number(f.NextSession), MedianSessions: number(f.MedianSessions),
		Range80Sessions: intervalToDoc(f.Range80Sessions), Range80Days: intervalToDoc(f.Range80Days),
	}
	for i, p := range f.Within {
		d.Within[i] = number(p)
	}
	return d
}

func stallToDoc(s estimate.Stall) stallDoc {
	return stallDoc{
		Reason: s.Reason, Since: s.Since, SinceDay: number(s.SinceDay), Raised: s.Raised,
		Probability: number(s.Probability), Evidence: s.Evidence, Advice: s.Advice, Facts: factsToDoc(s.Facts),
	}
}

func factsToDoc(f estimate.Facts) factsDoc {
	return factsDoc{
		Radius: f.Radius, Rate: number(f.Rate), RateLo: number(f.RateLo), RateHi: number(f.RateHi), Sessions: f.Sessions, Balls: f.Balls,
		Before: number(f.Before), BeforeLo: number(f.BeforeLo), BeforeHi: number(f.BeforeHi), Rose: f.Rose,
		Since: maybeAt(f.Since), SinceSession: f.SinceSession,
		Tier: tierDoc(f.Tier), BallsPerTest: f.BallsPerTest, Chance: number(f.Chance), MedianSessions: number(f.MedianSessions),
		EvenRadius: f.EvenRadius, EvenScale: number(f.EvenScale), EvenRun: f.EvenRun,
		Days: number(f.Days), Gap: number(f.Gap), Missed: f.Missed,
	}
}

func (d assessmentDoc) assessment() estimate.Assessment {
	return estimate.Assessment{
		Rate: estimate.Rate{
			Mean: float64(d.Rate.Mean), Interval80: d.Rate.Interval80.interval(), Interval95: d.Rate.Interval95.interval(),
			EffectiveBalls: float64(d.Rate.EffectiveBalls), A: float64(d.Rate.A), B: float64(d.Rate.B),
		},
		Trend: estimate.Trend{
			Sessions: d.Trend.Sessions, Slope: float64(d.Trend.Slope),
			Interval80: d.Trend.Interval80.interval(), Improving: float64(d.Trend.Improving),
		},
		Forecast:  d.Forecast.forecast(),
		Stalls:    each(d.Stalls, stallDoc.stall),
		Undecided: estimate.Undecided(d.Undecided),
	}
}

func (d *forecastDoc) forecast() *estimate.Forecast {
	if d == nil {
		return nil
	}
	f := &estimate.Forecast{
		NextSession: float64(d.NextSession), MedianSessions: float64(d.MedianSessions),
		Range80Sessions: d.Range80Sessions.interval(), Range80Days: d.Range80Days.interval(),
	}
	for i, p := range d.Within {
		f.Within[i] = float64(p)
	}
	return f
}

func (d stallDoc) stall() estimate.Stall {
	return estimate.Stall{
		Reason: d.Reason, Since: d.Since, SinceDay: float64(d.SinceDay), Raised: d.Raised,
		Probability: float64(d.Probability), Evidence: d.Evidence, Advice: d.Advice, Facts: d.Facts.facts(),
	}
}

func (d factsDoc) facts() estimate.Facts {
	return estimate.Facts{
		Radius: d.Radius, Rate: float64(d.Rate), RateLo: float64(d.RateLo), RateHi: float64(d.RateHi), Sessions: d.Sessions, Balls: d.Balls,
		Before: float64(d.Before), BeforeLo: float64(d.BeforeLo), BeforeHi: float64(d.BeforeHi), Rose: d.Rose,
		Since: maybeInstant(d.Since), SinceSession: d.SinceSession,
		Tier: streak.Tier(d.Tier), BallsPerTest: d.BallsPerTest, Chance: float64(d.Chance), MedianSessions: float64(d.MedianSessions),
		EvenRadius: d.EvenRadius, EvenScale: float64(d.EvenScale), EvenRun: d.EvenRun,
		Days: float64(d.Days), Gap: float64(d.Gap), Missed: d.Missed,
	}
}
