package api

import (
	"github.com/labstack/echo/v4"
)

// results encodes what came of each of many things that were asked for at once. One
// that was refused has its problem; a failure of the service fails them all.
func results[R, O any](c echo.Context, all []R, refused func(R) error, encode func(i int, r R, p *Problem) O) ([]O, error) {
	out := make([]O, len(all))
	for i, r := range all {
		var p *Problem
		if err := refused(r); err != nil {
			of := ProblemOf(err)
			if of.Status >= 500 {
				return nil, err
			}
			of.RequestID = requestID(c)
			p = &of
		}
		out[i] = encode(i, r, p)
	}
	return out, nil
}
