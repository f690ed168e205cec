package curriculum

import (
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"

	"fringework/domain"
)

// Match is a match of two or more on the same cards, as its code says it. Phones
// that never meet a network deal the same from the code alone, so that nothing else
// need be told; it holds nothing of the players.
type Match struct {
	// Kind is the shot: one of MatchKinds.
	Kind SkillKind
	// Balls is how many cards there are: one of MatchBalls.
	Balls int
	// Own says that each plays to a circle of their own, which each hits half the
	// time; without it all play to Circle.
	Own bool
	// Seed chooses the cards.
	Seed uint32 // below MaxMatchSeed
}

// MaxMatchSeed bounds the seed of a match: a thousand matches of an academy share one
// by a chance of one in two thousand.
const MaxMatchSeed = 1 << 30

// MatchKinds are the shots of which matches are dealt.
func MatchKinds() []SkillKind { return []SkillKind{ChipAndRun, Pitch, BunkerShot, LagPutt} }

// MatchBalls are how many cards a match may have.
func MatchBalls() []int { return []int{6, 9, 12, 18} }

// matchDrills are what cards are dealt of; clubs are words that every bag has a club
// for. Lies, distances and circles are our choice.
var matchDrills = map[SkillKind]struct {
	Drill
	circle domain.Length
}{
	ChipAndRun: {Drill{Lies: []string{"fringe", "fairway", "light rough"}, Distances: metresOf(7, 11, 16), Clubs: []string{"9", "low wedge"}}, 2 * domain.Metre},
	Pitch:      {Drill{Lies: []string{"fairway", "light rough"}, Distances: metresOf(18, 25, 34), Clubs: []string{"middle wedge", "high wedge"}}, 4 * domain.Metre},
	BunkerShot: {Drill{Lies: []string{"bunker", "bunker, uphill lie", "bunker, downhill lie"}, Distances: metresOf(8, 12, 17), Clubs: []string{"high wedge"}}, 3 * domain.Metre},
	LagPutt:    {Drill{Lies: []string{"uphill", "downhill", "across the slope"}, Distances: metresOf(7, 10, 14), Clubs: []string{"putter"}}, domain.Metre},
}

func metresOf(all ...domain.Length) []domain.Length {
	for i := range all {
		all[i] *= domain.Metre
	}
	return all
}

// Circle is what all play to unless each plays to their own.
func (m Match) Circle() domain.Length { return matchDrills[m.Kind].circle }

// Cards deals the match: a lie, a distance and a club for each ball. Every task of the
// shot comes once before one comes again, and none twice in a row. The phone deals
// alike (api/web/static/base/cards.js); testdata/matches.json holds both to it.
//
// The order is a shuffle by R. Durstenfeld, Algorithm 235, CACM 7 (1964) 420, with
// numbers of G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (2003)
// no. 14, of 32 bits with shifts 13, 17 and 5, begun by the hash FNV-1a of G. Fowler,
// L. Noll and K.-P. Vo, of the code.
func (m Match) Cards() []Task {
	tasks := Tasks(matchDrills[m.Kind].Drill)
	h := fnv.New32a()
	h.Write([]byte(m.Code()))
	state := h.Sum32() | 1 // never 0, where it would stay
	below := func(n int) int {
		state ^= state << 13
		state ^= state >> 17
		state ^= state << 5
		return int(state % uint32(n))
	}
	cards := make([]Task, 0, m.Balls)
	for len(cards) < m.Balls {
		for i := len(tasks) - 1; i > 0; i-- {
			j := below(i + 1)
			tasks[i], tasks[j] = tasks[j], tasks[i]
		}
		if n := len(cards); n > 0 && cards[n-1] == tasks[0] {
			tasks[0], tasks[1] = tasks[1], tasks[0]
		}
		cards = append(cards, tasks[:min(len(tasks), m.Balls-len(cards))]...)
	}
	return cards
}

// codeDigits are those of a code, 32 of them, without letters that look like another:
// I and L are read as 1 and O as 0.
const codeDigits = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

const codeLength = 8

// number is the match in 35 bits: the kind, the balls, the circle and the seed.
func (m Match) number() uint64 {
	n := uint64(slices.Index(MatchKinds(), m.Kind))<<2 | uint64(slices.Index(MatchBalls(), m.Balls))
	n <<= 1
	if m.Own {
		n |= 1
	}
	return n<<30 | uint64(m.Seed)
}

func matchOf(number uint64) Match {
	return Match{
		Kind: MatchKinds()[number>>33&3], Balls: MatchBalls()[number>>31&3], Own: number>>30&1 == 1, Seed: uint32(number & (MaxMatchSeed - 1)),
	}
}

// Code writes the match in eight characters, in two groups of four for people:
// "3K7M-Q2XD". The last one checks the others.
func (m Match) Code() string {
	var digits [codeLength]int
	for i, n := codeLength-2, m.number(); i >= 0; i-- {
		digits[i], n = int(n&31), n>>5
	}
	digits[codeLength-1] = checkDigit(digits[:codeLength-1])
	var text strings.Builder
	for i, d := range digits {
		if i == codeLength/2 {
			text.WriteByte('-')
		}
		text.WriteByte(codeDigits[d])
	}
	return text.String()
}

// checkDigit notices every single wrong digit and nearly every pair that changed
// places: the digits are weighed with 1, 3, 5 and so on.
func checkDigit(digits []int) (sum int) {
	for i, d := range digits {
		sum += (2*i + 1) * d
	}
	return sum & 31
}

// ReadMatch reads a code as people type it: small letters, spaces and dashes do not
// matter. It refuses, with a pointer to "/code", what is not one.
func ReadMatch(code string) (Match, error) {
	var p domain.Problems
	var digits []int
	for _, r := range strings.NewReplacer("I", "1", "L", "1", "O", "0", "-", "", " ", "").Replace(strings.ToUpper(code)) {
		d := strings.IndexRune(codeDigits, r)
		if d < 0 {
			p.Add("/code", "has a %q, which no code has; read it from the other phone again", r)
			return Match{}, p.Err("match_code", "There is no such match.")
		}
		digits = append(digits, d)
	}
	if len(digits) != codeLength {
		p.Add("/code", "has %d characters; a code has %d", len(digits), codeLength)
	} else if checkDigit(digits[:codeLength-1]) != digits[codeLength-1] {
		p.Add("/code", "has a wrong character; read it from the other phone again")
	}
	var number uint64
	for _, d := range digits[:min(len(digits), codeLength-1)] {
		number = number<<5 | uint64(d)
	}
	return matchOf(number), p.Err("match_code", "There is no such match.")
}

// matchID is a UUID of version 8 (RFC 9562, section 5.8) whose first 35 bits are the
// match; the rest says that it is one.
const matchID = "%08x-%02x00-8000-8000-6d6174636873"

// ID is the match's identity, which every phone makes of the code alike.
func (m Match) ID() domain.ID {
	n := m.number() << 5 // to 40 bits
	return domain.ID(fmt.Sprintf(matchID, n>>8, n&0xff))
}

// MatchByID gives the match of an identity; ok is false for another identity.
func MatchByID(id domain.ID) (m Match, ok bool) {
	if len(id) != len(domain.Nobody) {
		return Match{}, false
	}
	n, err := strconv.ParseUint(string(id[:8]+id[9:11]), 16, 64)
	if err != nil {
		return Match{}, false
	}
	m = matchOf(n >> 5)
	return m, m.ID() == id
}

// Check notes in p what of a match that is to be made is not one.
func (m Match) Check(p *domain.Problems) {
	if !slices.Contains(MatchKinds(), m.Kind) {
		p.Add("/kind", "%q is not a shot of matches; use one of %s", m.Kind, domain.OneOf(MatchKinds()))
	}
	if !slices.Contains(MatchBalls(), m.Balls) {
		p.Add("/cards", "is %d; a match has 6, 9, 12 or 18", m.Balls)
	}
	if m.Seed >= MaxMatchSeed {
		p.Add("/seed", "is %d; give a whole number from 0 to %d", m.Seed, MaxMatchSeed-1)
	}
}
