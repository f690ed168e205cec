package calc

import (
	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

var ladder = define[ladderIn, LadderOut]("ladder",
	"Previews a ladder: how long each step takes students who put 10 to 95 % of balls inside, with a warning if almost nobody will pass it.",
	`{"tiers":[{"run":4,"radius_m":2},{"run":6,"radius_m":1.5},{"run":7,"radius_m":1.5,"holed":2}],"balls":35,"skill":"chip_and_run"}`,
	answerLadder)

// ladderIn is the input of ladder.
type ladderIn struct {
	// Tiers are the steps of the ladder, from the easiest.
	Tiers *[]tierIn `json:"tiers" validate:"required"`
	// Balls that count in a session, in one block.
	Balls *int `json:"balls" validate:"required"`
	// Skill is the kind of skill, which says how many of the balls inside are
	// holed, with DistanceM for putts; both are optional.
	Skill     *string  `json:"skill"`
	DistanceM *float64 `json:"distance_m"`
	// HoledShare is how many of the balls inside are holed, if that is known.
	HoledShare *float64 `json:"holed_share"`
}

// LadderOut is the answer of ladder.
type LadderOut struct {
	// Tiers are the steps, in order.
	Tiers []TierPreviewOut `json:"tiers"`
}

// TierPreviewOut is how long one tier takes.
type TierPreviewOut struct {
	Run     int     `json:"run"`
	RadiusM float64 `json:"radius_m"`
	// Holed is how many of the balls in a row must be holed.
	Holed int `json:"holed"`
	// HoledShare is how many of the balls inside are taken to be holed.
	HoledShare float64 `json:"holed_share"`
	// Rates are some rates, with what the step takes at each.
	Rates []RatePreviewOut `json:"rates"`
	// EvenRate is the inside rate that gives even odds in one session; null
	// when none does.
	EvenRate *float64 `json:"even_rate"`
	// Warning is a sentence if almost nobody will pass the tier; null
	// otherwise.
	Warning *string `json:"warning"`
}

// RatePreviewOut is how long a tier takes at one inside rate.
type RatePreviewOut struct {
	Rate float64 `json:"rate"`
	// PerSession is the probability of passing the step in one session.
	PerSession float64 `json:"per_session"`
	// Sessions is the expected number; null when the tier cannot be passed.
	Sessions *float64 `json:"sessions"`
}

func answerLadder(in ladderIn, p *domain.Problems) (any, error) {
	tiersIn, balls := need(p, "/tiers", in.Tiers), need(p, "/balls", in.Balls)
	l := streak.Ladder{}
	before := len(p.Fields())
	for i, t := range most(p, "/tiers", "tiers", tiersIn, streak.MaxTiers) {
		l.Tiers = append(l.Tiers, t.read(p, at("/tiers", i)))
	}
	if len(p.Fields()) == before { // each on its own is well
		l.Check(p, "/tiers")
	}
	share := in.share(p)
	if in.Balls != nil && (balls < 1 || balls > 5000) {
		p.Add("/balls", "is %d; give 1 to 5000 balls a session", balls)
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	var out LadderOut
	for _, t := range l.Preview(streak.Session{Balls: balls, HoledShare: share}) {
		out.Tiers = append(out.Tiers, previewOut(t, balls))
	}
	return out, nil
}

// share is how many of the balls inside a radius are holed: as given, or as is
// usual for the skill.
func (in ladderIn) share(p *domain.Problems) func(domain.Length) float64 {
	kind := curriculum.Own
	if in.Skill != nil {
		kind = curriculum.SkillKind(*in.Skill)
		kind.Check(p, "/skill")
	}
	distance := 0.0
	if in.DistanceM != nil {
		shortest, longest := curriculum.MinDistance.Metres(), curriculum.MaxDistance.Metres()
		if distance = *in.DistanceM; !(distance >= shortest && distance <= longest) {
			p.Add("/distance_m", "is %v m; give a distance from %v to %v m", distance, shortest, longest)
		}
	}
	if in.HoledShare != nil {
		if !(*in.HoledShare >= 0 && *in.HoledShare <= 1) {
			p.Add("/holed_share", "is %v; give a share from 0 to 1", *in.HoledShare)
		}
		return func(domain.Length) float64 { return *in.HoledShare }
	}
	return func(radius domain.Length) float64 {
		return greenside.HoledShare(kind.Stroke(), distance, radius.Metres())
	}
}

func previewOut(t streak.TierPreview, balls int) TierPreviewOut {
	out := TierPreviewOut{
		Run: t.Tier.Run, RadiusM: t.Tier.Radius.Metres(), Holed: t.Tier.Holed,
		HoledShare: t.HoledShare, EvenRate: finite(t.EvenRate),
	}
	for _, r := range t.Rates {
		out.Rates = append(out.Rates, RatePreviewOut{Rate: r.Rate, PerSession: r.PerSession, Sessions: finite(r.Sessions)})
	}
	if warning := advice.HardStep(t, balls); warning != "" {
		out.Warning = &warning
	}
	return out
}
