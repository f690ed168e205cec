package practice

import (
	"fmt"
	"math"

	"fringework/domain"
	"fringework/domain/greenside"
)

// Landing is a ball of which the student said where it landed and stopped.
type Landing struct {
	// Club is what it was struck with, in the student's own word, with its loft in
	// degrees.
	Club    string
	LoftDeg float64
	Lie     greenside.Lie
	// Carry and Total are how far from where it lay the ball landed and stopped.
	Carry, Total domain.Length
	// Aim is where it was to land; 0 when that is not known.
	Aim domain.Length
}

// maxLandings is the most landings of a session.
const maxLandings = 200

// checkLandings bounds what is said of the green and of where balls landed; what cannot be
// within the bounds is left out when the spot is learned.
func (s Session) checkLandings(p *domain.Problems) {
	said := s.Green != greenside.Green{}
	if said {
		checkGreen(p, s.Green)
	}
	if len(s.Landings) > maxLandings {
		p.Add("/landings", "there are %d landings; at most %d fit in a session", len(s.Landings), maxLandings)
		return
	}
	if len(s.Landings) > 0 && !said {
		p.Add("/green", "is missing; say how fast the green was on which the balls landed")
	}
	for i, x := range s.Landings {
		x.check(p, fmt.Sprintf("/landings/%d", i))
	}
}

func checkGreen(p *domain.Problems, g greenside.Green) {
	var of domain.Problems
	g.Check(&of)
	for _, f := range of.Fields() {
		p.Add("/green"+f.Pointer, "%s", f.Detail)
	}
}

func (x Landing) check(p *domain.Problems, at string) {
	checkText(p, at+"/club", x.Club, maxWord)
	if !(x.LoftDeg >= greenside.MinLoftDeg && x.LoftDeg <= greenside.MaxLoftDeg) {
		p.Add(at+"/loft_deg", "is %v; give the loft of the club from %v to %v degrees", x.LoftDeg, greenside.MinLoftDeg, greenside.MaxLoftDeg)
	}
	if greenside.LieOf(string(x.Lie)) != x.Lie {
		p.Add(at+"/lie", "is %q; give fairway, rough or sand", x.Lie)
	}
	least, most := domain.Length(greenside.MinCarryM*float64(domain.Metre)), domain.Length(greenside.MaxCarryM*float64(domain.Metre))
	if x.Carry < least || x.Carry > most {
		p.Add(at+"/carry_m", "is %v; give how far away the ball landed, %v to %v", x.Carry, least, most)
	}
	if x.Total < 0 || x.Total > 2*most {
		p.Add(at+"/total_m", "is %v; give how far away the ball stopped, 0 to %v", x.Total, 2*most)
	}
	if x.Aim != 0 && (x.Aim < least || x.Aim > most) {
		p.Add(at+"/aim_m", "is %v; give how far away the ball was to land, %v to %v, or leave it out", x.Aim, least, most)
	}
}

// Landed gives the session's landings as a spot is learned from them: none where it
// was not played on a green.
func (s Session) Landed() []greenside.Landed {
	if s.Surface.Off() {
		return nil
	}
	all := make([]greenside.Landed, len(s.Landings))
	for i, x := range s.Landings {
		all[i] = greenside.Landed{
			Setup:  greenside.Setup{LoftDeg: x.LoftDeg, Lie: x.Lie, Green: s.Green},
			Logged: greenside.Logged{CarryM: x.Carry.Metres(), TotalM: x.Total.Metres(), AimM: x.Aim.Metres()},
		}
	}
	return all
}

// digestLandings writes what was said of the green into a fingerprint. A session of which
// nothing was said has the digest that it had before anything could be.
func (s Session) digestLandings(h fingerprint) {
	if s.Green == (greenside.Green{}) && len(s.Landings) == 0 {
		return
	}
	h.number(int64(math.Float64bits(s.Green.StimpFt)), int64(math.Float64bits(s.Green.SlopeDeg+0)), int64(len(s.Landings))) // + 0: level is level, −0 too
	for _, x := range s.Landings {
		h.text(x.Club, string(x.Lie))
		h.number(int64(math.Float64bits(x.LoftDeg)), int64(x.Carry), int64(x.Total), int64(x.Aim))
	}
}

// record writes a landing for the log.
func (x Landing) record() map[string]any {
	m := map[string]any{"club": x.Club, "loft_deg": x.LoftDeg, "lie": x.Lie, "carry_m": x.Carry.Metres(), "total_m": x.Total.Metres()}
	if x.Aim != 0 {
		m["aim_m"] = x.Aim.Metres()
	}
	return m
}
