package greenside

import (
	"cmp"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fringework/domain"
)

// Hand is which way round a golfer plays.
type Hand string

// The hands.
const (
	RightHanded Hand = "right"
	LeftHanded  Hand = "left"
)

// Hands lists them, the usual one first.
func Hands() []Hand { return []Hand{RightHanded, LeftHanded} }

// Bag is the clubs that a golfer plays around the green. Its zero value is of a
// right-hander of whose clubs nothing is known.
type Bag struct {
	Hand Hand
	// Clubs are in the golfer's own order, at most MaxClubs; none means the usual ones.
	Clubs []Club
}

// Limits of a bag.
const (
	// MaxClubs is the most clubs that a golfer may carry (Rules of Golf, 4.1b).
	MaxClubs = 14
	// MaxClubName is in characters.
	MaxClubName = 60
)

// Check notes in p what is wrong with a bag: an unknown hand, more than MaxClubs
// clubs, a name that is empty, too long or there twice, and a loft outside the limits.
func (b Bag) Check(p *domain.Problems) {
	if !slices.Contains(Hands(), b.Hand) {
		p.Add("/hand", "is %q; give right or left", string(b.Hand))
	}
	if len(b.Clubs) > MaxClubs {
		p.Add("/clubs", "has %d clubs; give at most %d", len(b.Clubs), MaxClubs)
		return
	}
	seen := map[string]bool{}
	for i, c := range b.Clubs {
		at := "/clubs/" + strconv.Itoa(i)
		c.checkName(p, at+"/name", seen)
		inRange(p, at+"/loft_deg", c.LoftDeg, MinLoftDeg, MaxLoftDeg, "degrees", "the loft of the club")
	}
}

func (c Club) checkName(p *domain.Problems, at string, seen map[string]bool) {
	name := clubWord(c.Name)
	switch n := len([]rune(c.Name)); {
	case name == "":
		p.Add(at, "is empty; give the club's name, such as sand wedge")
	case n > MaxClubName:
		p.Add(at, "has %d characters; use at most %d", n, MaxClubName)
	case strings.ContainsRune(c.Name, 0):
		p.Add(at, "contains a NUL character; remove it")
	case seen[name]:
		p.Add(at, "is there twice; give each club a name of its own")
	}
	seen[name] = true
}

// Played gives the clubs, or the usual ones where none is known.
func (b Bag) Played() []Club {
	if len(b.Clubs) == 0 {
		return UsualClubs()
	}
	return b.Clubs
}

// clubWord is a club's name as names are compared.
func clubWord(name string) string {
	return strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(name, "-", " "))), " ")
}

const (
	// leastWedgeDeg is the least loft of a wedge in degrees, and nearDeg how far a loft
	// may be from the one that is asked for (common practice, no source: sets have
	// gaps of four to six degrees).
	leastWedgeDeg = 43.0
	nearDeg       = 4.0
)

var named = regexp.MustCompile(`^(low|middle|high) wedge$|^(\d{2}(?:\.\d)?)(?:$| ?°)`)

// Own is the golfer's club for one that a programme names: by its own name, as the
// low, middle or high wedge, by a loft ("54", "54°", "54° wedge"), or by a usual name
// ("sand wedge"), of which the nearest loft in the bag is taken. Where no club of the
// bag is near, or no bag is known, it is the named one with the usual loft.
// It reports false for a name that says no loft, such as putter.
func (b Bag) Own(name string) (Club, bool) {
	if c, ok := b.called(name); ok {
		return c, true
	}
	loft, known := usualLoft(clubWord(name))
	if !known {
		return Club{Name: name}, false
	}
	if c, off := nearest(b.Clubs, loft); off <= nearDeg {
		return c, true
	}
	return Club{Name: name, LoftDeg: loft}, true
}

// called is the club that a name means whatever the lofts: its own name, or the low,
// middle or high wedge.
func (b Bag) called(name string) (Club, bool) {
	word := clubWord(name)
	for _, c := range b.Clubs {
		if clubWord(c.Name) == word {
			return c, true
		}
	}
	if match := named.FindStringSubmatch(word); match != nil && match[1] != "" {
		return b.wedge(match[1])
	}
	return Club{}, false
}

// Owned is Own of several names together, in their order: names that ask for lofts get
// a club each, as far as the bag has one that is near. A name without a loft gives a
// club without one.
func (b Bag) Owned(names []string) []Club {
	own := make([]Club, len(names))
	free := slices.Clone(b.Clubs)
	var sought []int
	for i, name := range names {
		own[i], _ = b.Own(name)
		if c, ok := b.called(name); ok {
			free = slices.DeleteFunc(free, func(f Club) bool { return f == c })
		} else if slices.Contains(b.Clubs, own[i]) {
			sought = append(sought, i)
		}
	}
	loft := func(i int) float64 { deg, _ := usualLoft(clubWord(names[i])); return deg }
	slices.SortStableFunc(sought, func(i, j int) int { return cmp.Compare(loft(i), loft(j)) })
	slices.SortStableFunc(free, func(a, b Club) int { return cmp.Compare(a.LoftDeg, b.LoftDeg) })
	lofts := make([]float64, len(sought))
	for n, i := range sought {
		lofts[n] = loft(i)
	}
	for n, at := range paired(lofts, free) {
		if at >= 0 {
			own[sought[n]] = free[at]
		}
	}
	return own
}

// paired gives for each loft, in degrees and ascending, the position of a club of its
// own that is near, or -1: as many as can be, then the nearest, in the order of lofts.
func paired(lofts []float64, clubs []Club) []int {
	type best struct {
		count int
		off   float64
		at    []int
	}
	better := func(a, b best) bool { return a.count > b.count || a.count == b.count && a.off < b.off }
	// with[j] is the best for the lofts so far with the first j clubs.
	with := make([]best, len(clubs)+1)
	for _, loft := range lofts {
		next := make([]best, len(clubs)+1)
		for j := range next {
			next[j] = best{with[j].count, with[j].off, append(slices.Clone(with[j].at), -1)}
			if j == 0 {
				continue
			}
			if better(next[j-1], next[j]) {
				next[j] = next[j-1]
			}
			if off := math.Abs(clubs[j-1].LoftDeg - loft); off <= nearDeg {
				took := best{with[j-1].count + 1, with[j-1].off + off, append(slices.Clone(with[j-1].at), j-1)}
				if better(took, next[j]) {
					next[j] = took
				}
			}
		}
		with = next
	}
	return with[len(clubs)].at
}

// usualLoft is the loft that a club's name says or usually stands for, in degrees.
func usualLoft(word string) (float64, bool) {
	if match := named.FindStringSubmatch(word); match != nil && match[2] != "" {
		loft, err := strconv.ParseFloat(match[2], 64)
		return loft, err == nil && loft >= MinLoftDeg && loft <= MaxLoftDeg
	}
	for _, c := range slices.Concat(wedges, usualClubs) {
		if clubWord(c.Name) == word {
			return c.LoftDeg, true
		}
	}
	return 0, false
}

// wedge is the wedge of the least loft, of the most, or of the one in the middle.
func (b Bag) wedge(which string) (Club, bool) {
	var own []Club
	for _, c := range b.Clubs {
		if c.LoftDeg >= leastWedgeDeg {
			own = append(own, c)
		}
	}
	if len(own) == 0 {
		return Club{}, false
	}
	slices.SortStableFunc(own, func(a, b Club) int { return cmp.Compare(a.LoftDeg, b.LoftDeg) })
	low, high := own[0], own[len(own)-1]
	switch {
	case which == "low":
		return low, true
	case which == "high":
		return high, true
	case len(own) > 2:
		own = own[1 : len(own)-1]
	}
	c, _ := nearest(own, (low.LoftDeg+high.LoftDeg)/2)
	return c, true
}

// nearest is the club whose loft is nearest, and by how much it is off in degrees.
func nearest(clubs []Club, loft float64) (found Club, off float64) {
	off = math.Inf(1)
	for _, c := range clubs {
		if d := math.Abs(c.LoftDeg - loft); d < off {
			found, off = c, d
		}
	}
	return found, off
}

// Names gives the golfer's own names for the clubs that a programme names, each once
// and in order.
func (b Bag) Names(clubs []string) []string {
	if len(b.Clubs) == 0 {
		return clubs
	}
	var own []string
	for _, c := range b.Owned(clubs) {
		if !slices.Contains(own, c.Name) {
			own = append(own, c.Name)
		}
	}
	return own
}

// sides are the parts of a golfer that instructions for a right-hander name.
var sides = regexp.MustCompile(`(?i)\b(left|right)(-?hand side|[ -](?:foot|feet|leg|knee|hip|side|hand|wrist|arm|forearm|elbow|shoulder|heel|toe|thigh|thumb|eye|ear)s?)\b`)

// Words gives a text that is written for right-handers as this golfer reads it: a
// left-hander's left foot is a right-hander's right one. Left and right of anything
// but the golfer, such as the hole, stay.
func (b Bag) Words(text string) string {
	if b.Hand != LeftHanded {
		return text
	}
	return sides.ReplaceAllStringFunc(text, func(part string) string {
		if strings.EqualFold(part[:4], "left") {
			return likeCase(part[:4], "right") + part[4:]
		}
		return likeCase(part[:5], "left") + part[5:]
	})
}

// likeCase writes a word with a capital where another has one.
func likeCase(as, word string) string {
	if as[:1] == strings.ToUpper(as[:1]) {
		return strings.ToUpper(word[:1]) + word[1:]
	}
	return word
}

// LieOf is what of fairway, rough and sand a programme's words for a lie come to.
func LieOf(words string) Lie {
	words = strings.ToLower(words)
	for _, w := range []struct {
		part string
		lie  Lie
	}{{"rough", Rough}, {"bunker", Sand}, {"sand", Sand}} {
		if strings.Contains(words, w.part) {
			return w.lie
		}
	}
	return Fairway
}
