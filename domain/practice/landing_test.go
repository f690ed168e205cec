package practice_test

import (
	"math"
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
)

// onGreen adds a green and so many balls that landed on it.
func onGreen(s practice.Session, balls int) practice.Session {
	s.Green, s.Landings = greenside.Green{StimpFt: 8.5, SlopeDeg: 1}, nil
	for range balls {
		s.Landings = append(s.Landings, practice.Landing{Club: "51", LoftDeg: 51, Lie: greenside.Rough, Carry: 5 * domain.Metre, Total: 9 * domain.Metre, Aim: 6 * domain.Metre})
	}
	return s
}

func TestLandingsAreChecked(t *testing.T) {
	good := func() practice.Session {
		s := onGreen(session("s", 1), 1)
		s.Student = adaID
		return s
	}
	for at, change := range map[string]func(*practice.Session){
		"":                     func(*practice.Session) {},
		"none":                 func(s *practice.Session) { s.Green, s.Landings = greenside.Green{}, nil },
		"a green":              func(s *practice.Session) { s.Landings = nil },
		"no aim":               func(s *practice.Session) { s.Landings[0].Aim = 0 },
		"/green":               func(s *practice.Session) { s.Green = greenside.Green{} },
		"/green/stimp_ft":      func(s *practice.Session) { s.Green.StimpFt = 3 },
		"/green/slope_deg":     func(s *practice.Session) { s.Green.SlopeDeg = -5.9 },
		"/landings":            func(s *practice.Session) { *s = onGreen(*s, 201) },
		"/landings/0/club":     func(s *practice.Session) { s.Landings[0].Club = "\x00" },
		"/landings/0/loft_deg": func(s *practice.Session) { s.Landings[0].LoftDeg = math.NaN() },
		"/landings/0/lie":      func(s *practice.Session) { s.Landings[0].Lie = "water" },
		"/landings/0/carry_m":  func(s *practice.Session) { s.Landings[0].Carry = 50*domain.Metre + 1 },
		"/landings/0/total_m":  func(s *practice.Session) { s.Landings[0].Total = -1 },
		"/landings/0/aim_m":    func(s *practice.Session) { s.Landings[0].Aim = 1 },
	} {
		s := good()
		change(&s)
		var got []string
		for _, f := range domain.FieldsOf(s.Check(now)) {
			got = append(got, f.Pointer)
		}
		if want := []string{at}; at != "" && at[0] == '/' && !slices.Equal(got, want) || (at == "" || at[0] != '/') && got != nil {
			t.Errorf("%q: refused at %q", at, got)
		}
	}
}

// TestLandingsAreEdited: a landing that is changed or taken back is an edit, which the
// log keeps whole.
func TestLandingsAreEdited(t *testing.T) {
	for why, change := range map[string]func(*practice.Session){
		"a landing less": func(s *practice.Session) { *s = onGreen(*s, 1) },
		"another aim":    func(s *practice.Session) { s.Landings[1].Aim = domain.Metre },
		"another green":  func(s *practice.Session) { s.Green.SlopeDeg = 0 },
	} {
		h := open(t)
		base := func() practice.Session {
			s := onGreen(session("s", 1, block(curriculum.Test, h.pitch, "oi")), 2)
			s.Student = adaID
			s.Landings[1].Aim = 0
			return s
		}
		h.put(coach, base())
		s := base()
		s.Revision = 2
		change(&s)
		h.put(coach, s)
		e := h.sessionEvents()[1]
		before, _ := e.Data["before"].(map[string]any)
		green, _ := before["green"].(map[string]any)
		landings, _ := before["landings"].([]map[string]any)
		if e.Kind != "session.edited" || green["slope_deg"] != 1.0 || len(landings) != 2 || landings[0]["carry_m"] != 5.0 || landings[0]["aim_m"] != 6.0 || landings[1]["aim_m"] != nil {
			t.Errorf("%s: got %+v", why, e)
		}
	}
}
