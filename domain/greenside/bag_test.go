package greenside

import (
	"slices"
	"strings"
	"testing"

	"fringework/domain"
)

// Joan's bag is invented; its lofts are of no maker.
var joan = Bag{Hand: LeftHanded, Clubs: []Club{
	{"8 iron", 37}, {"Set wedge", 45}, {"The 51", 51}, {"Sandy", 55}, {"Big lob", 61},
}}

func TestOwnClubs(t *testing.T) {
	for name, want := range map[string]Club{
		"low wedge": {"Set wedge", 45}, "Middle  wedge": {"The 51", 51}, "high wedge": {"Big lob", 61},
		"54° wedge": {"Sandy", 55}, "54 °": {"Sandy", 55}, "54": {"Sandy", 55}, "sand wedge": {"Sandy", 55}, "big LOB": {"Big lob", 61},
		"pitching wedge": {"Set wedge", 45}, "8-iron": {"8 iron", 37}, "6-iron": {"6-iron", 30}, "66° wedge": {"66° wedge", 66},
	} {
		if got, ok := joan.Own(name); !ok || got != want {
			t.Errorf("%s is %v, %v; want %v", name, got, ok, want)
		}
	}
	for _, name := range []string{"putter", "12° driver", "hybrid", ""} {
		if got, ok := joan.Own(name); ok || got != (Club{Name: name}) {
			t.Errorf("%q is %v, %v; want no loft", name, got, ok)
		}
	}
	for _, c := range slices.Concat(Wedges(), UsualClubs(), []Club{{"54° wedge", 54}}) {
		if got, ok := (Bag{}).Own(c.Name); !ok || got != c {
			t.Errorf("without a bag, %s is %v, %v", c.Name, got, ok)
		}
	}
	two := Bag{Clubs: []Club{{"58", 58}, {"48", 48}, {"7 iron", 33}}}
	for name, want := range map[string]string{"low wedge": "48", "middle wedge": "48", "high wedge": "58"} {
		if got, _ := two.Own(name); got.Name != want {
			t.Errorf("of two wedges, the %s is %v; want %s", name, got, want)
		}
	}
	irons := Bag{Clubs: []Club{{"7 iron", 33}}}
	if got, ok := irons.Own("low wedge"); !ok || got != (Club{"low wedge", 48}) {
		t.Errorf("without wedges, the low wedge is %v, %v", got, ok)
	}
	if got := joan.Names([]string{"low wedge", "46°", "putter"}); !slices.Equal(got, []string{"Set wedge", "putter"}) {
		t.Errorf("named %q", got)
	}
	if got := (Bag{}).Names([]string{"low wedge", "46°"}); !slices.Equal(got, []string{"low wedge", "46°"}) {
		t.Errorf("without a bag, named %q", got)
	}
	if got := joan.Played(); len(got) != 5 {
		t.Errorf("plays %v", got)
	}
	if got := (Bag{}).Played(); !slices.Equal(got, usualClubs) {
		t.Errorf("without a bag, plays %v", got)
	}
}

func TestWordsForLeftHanders(t *testing.T) {
	const text = "Left foot back, right-hand side square, RIGHT elbow in. Right of the hole is safe; the left bunker is not. Both left shoulders."
	const mirrored = "Right foot back, left-hand side square, Left elbow in. Right of the hole is safe; the left bunker is not. Both right shoulders."
	if got := joan.Words(text); got != mirrored {
		t.Errorf("reads %q", got)
	}
	if got := (Bag{}).Words(text); got != text {
		t.Errorf("a right-hander reads %q", got)
	}
}

func TestBagCheck(t *testing.T) {
	var p domain.Problems
	joan.Check(&p)
	if len(p.Fields()) > 0 {
		t.Errorf("refused for %v", p.Fields())
	}
	Bag{Hand: "both", Clubs: []Club{
		{" ", 50}, {"A\x00", 50}, {strings.Repeat("é", MaxClubName), MinLoftDeg}, {strings.Repeat("é", MaxClubName+1), MaxLoftDeg}, {"b  c", 23.9}, {"B-C", 70.1},
	}}.Check(&p)
	var at []string
	for _, f := range p.Fields() {
		at = append(at, f.Pointer)
	}
	want := []string{"/hand", "/clubs/0/name", "/clubs/1/name", "/clubs/3/name", "/clubs/4/loft_deg", "/clubs/5/name", "/clubs/5/loft_deg"}
	if !slices.Equal(at, want) {
		t.Errorf("refused at %q; want %q", at, want)
	}
	p = domain.Problems{}
	Bag{Hand: RightHanded, Clubs: make([]Club, MaxClubs+1)}.Check(&p)
	if len(p.Fields()) != 1 || p.Fields()[0].Pointer != "/clubs" {
		t.Errorf("too many are refused for %v", p.Fields())
	}
}

func TestLieOf(t *testing.T) {
	for words, want := range map[string]Lie{
		"": Fairway, "fringe": Fairway, "uphill lie": Fairway, "Light Rough": Rough, "bunker, plugged": Sand, "flat sand": Sand,
	} {
		if got := LieOf(words); got != want {
			t.Errorf("%q is %s; want %s", words, got, want)
		}
	}
}

// TestOwned: two names that ask for lofts are two clubs, where the bag has them.
func TestOwned(t *testing.T) {
	bag := Bag{Clubs: []Club{{"pitching wedge", 46}, {"sand wedge", 54}, {"lob wedge", 58}}}
	two := Bag{Clubs: []Club{{"gap wedge", 51}, {"Old Faithful", 55}}}
	for _, c := range []struct {
		bag   Bag
		names []string
		want  []string
	}{
		{bag, []string{"52°", "56°"}, []string{"sand wedge", "lob wedge"}},
		{bag, []string{"56°", "52°"}, []string{"lob wedge", "sand wedge"}},
		{bag, []string{"sand wedge", "56°"}, []string{"sand wedge", "lob wedge"}},
		{bag, []string{"56°", "high wedge", "putter"}, []string{"sand wedge", "lob wedge", "putter"}},
		{bag, []string{"58°"}, []string{"lob wedge"}},
		{two, []string{"52°", "56°"}, []string{"gap wedge", "Old Faithful"}},
		{two, []string{"54°", "56°"}, []string{"gap wedge", "Old Faithful"}},
		{two, []string{"55°", "56°", "57°"}, []string{"gap wedge", "Old Faithful", "Old Faithful"}}, // a third there is not
		{two, []string{"9-iron", "52°"}, []string{"9-iron", "gap wedge"}},
		{Bag{}, []string{"52°", "56°"}, []string{"52°", "56°"}},
	} {
		var got []string
		for _, club := range c.bag.Owned(c.names) {
			got = append(got, club.Name)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v of %v: %v, want %v", c.names, c.bag.Clubs, got, c.want)
		}
	}
}
