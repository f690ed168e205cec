package calc

import (
	"errors"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
)

const maxShares = 1000

var split = define[splitIn, SplitOut]("split",
	"Divides whole minutes by shares, by largest remainder. Of equal remainders, the earlier share comes first.",
	`{"minutes":45,"shares":[20,35,15,30]}`, answerSplit)

// splitIn is the input of split.
type splitIn struct {
	// Minutes is the whole minutes to divide.
	Minutes *int `json:"minutes" validate:"required"`
	// Shares are the shares, in any unit.
	Shares *[]*int `json:"shares" validate:"required"`
}

// SplitOut is the answer of split.
type SplitOut struct {
	// Minutes of each share, in order.
	Minutes []int `json:"minutes"`
}

func answerSplit(in splitIn, p *domain.Problems) (any, error) {
	minutes, sharesIn := need(p, "/minutes", in.Minutes, 1), need(p, "/shares", in.Shares)
	sharesIn = most(p, "/shares", "shares", sharesIn, maxShares)
	shares := make([]int, len(sharesIn))
	for i, share := range sharesIn {
		shares[i] = need(p, at("/shares", i), share, 1)
	}
	given, err := curriculum.Split(minutes, shares)
	return SplitOut{Minutes: given}, relay(p, err)
}

// relay notes in p the fields of a refusal by the domain; another error is
// handed back.
func relay(p *domain.Problems, err error) error {
	return relayIf(p, err, func(string) bool { return true })
}

// relayRest is relay where the form has faults already: it passes on what is wrong
// with the rest of the input.
func relayRest(p *domain.Problems, err error) error {
	told := p.Fields()
	within := func(a, b string) bool { return a == b || strings.HasPrefix(a, b+"/") }
	return relayIf(p, err, func(pointer string) bool {
		return !slices.ContainsFunc(told, func(f domain.Field) bool { return within(pointer, f.Pointer) || within(f.Pointer, pointer) })
	})
}

func relayIf(p *domain.Problems, err error, wanted func(pointer string) bool) error {
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != domain.Invalid {
		return err
	}
	for _, f := range e.Fields {
		if wanted(f.Pointer) {
			p.Add(f.Pointer, "%s", f.Detail)
		}
	}
	return nil
}
