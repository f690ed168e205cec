// Package calc is the one list of calculations that can be asked for with JSON,
// by the API, by the command line and by tests: a name, a JSON value in, a JSON
// value out. The mathematics itself is the domain's.
//
// Inputs are read strictly: one JSON value, no unknown or repeated members,
// bounded sizes. Every refusal is a domain.Error of kind Invalid whose fields
// point into the input. Lengths are in metres unless the name says feet, probabilities from 0 to 1. What
// does not exist, an infinite wait for instance, is null; no output holds a
// NaN or an infinity.
//
// To add a calculation, define it in a file of its own and list it in all.
package calc

import (
	"context"
	"reflect"
	"slices"
	"strings"

	"fringework/domain"
)

// all lists every calculation, by name.
var all = []Calculation{
	carryRoll, deal, difficulty, fade, greenSpeed, holing, ladder, landingSpot, load, match, pressure, progressOf, rate, runs,
	split, spread, stations, streakOdds, strokesGained, timeToTier, upAndDown, usualDrills,
}

// Calculation is one entry of the list.
type Calculation struct {
	// Name is what it is asked for by.
	Name string
	// About says in a sentence what it answers.
	About string
	// Example is an input that it accepts.
	Example string
	// In and Out are the Go types of the input and of the answer.
	In, Out reflect.Type
	run     func(ctx context.Context, in []byte) (any, error)
}

// define makes a calculation of a function on its decoded input, whose answer is
// an Out. The function notes in p what is wrong with the input, and its answer
// then does not count.
func define[In, Out any](name, about, example string, answer func(in In, p *domain.Problems) (any, error)) Calculation {
	return Calculation{Name: name, About: about, Example: example, In: reflect.TypeFor[In](), Out: reflect.TypeFor[Out](), run: func(ctx context.Context, raw []byte) (any, error) {
		var in In
		var form domain.Problems
		if err := decode(raw, &in, &form); err != nil {
			return nil, err
		}
		// What does not have the form is told with what else is wrong.
		var p domain.Problems
		p.Beside(form.Fields())
		if ctx.Err() != nil {
			return nil, ctx.Err() // nobody is left to answer
		}
		out, err := answer(in, &p)
		misshapen := len(form.Fields())
		form.Beside(p.Fields()[misshapen:])
		if misshapen > 0 {
			return nil, refuseForm(&form)
		}
		if refused := form.Err("calc_input", "The input of "+name+" is not valid."); refused != nil {
			return nil, refused
		}
		if err != nil {
			return nil, err
		}
		return Tidy(out), nil
	}}
}

// All lists the calculations by name.
func All() []Calculation { return slices.Clone(all) }

// Names lists the names in order.
func Names() []string {
	names := make([]string, len(all))
	for i, c := range all {
		names[i] = c.Name
	}
	return names
}

// Run answers a calculation with a value that can be encoded as JSON. The error
// is of kind NotFound when there is no such calculation, and of kind Invalid,
// with fields that point into the input, when the input is refused. Once ctx has ended
// no calculation is begun; the limits on inputs keep one to a second or so.
func Run(ctx context.Context, name string, in []byte) (any, error) {
	i := slices.IndexFunc(all, func(c Calculation) bool { return c.Name == name })
	if i < 0 {
		return nil, domain.Errorf(domain.NotFound, "no_calculation",
			"There is no calculation %q; use one of %s.", name, strings.Join(Names(), ", "))
	}
	return all[i].run(ctx, in)
}
