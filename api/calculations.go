package api

import (
	"encoding/json"
	"mime"
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/api/calc"
)

// Calculation is one of the calculations on offer.
type Calculation struct {
	Name string `json:"name" binding:"required" example:"streak-odds"`
	// About says what it answers, in one sentence.
	About string `json:"about" binding:"required"`
	// Example is an input to start from.
	Example map[string]any `json:"example" binding:"required"`
} // @name Calculation

// CalculationList is every calculation there is.
type CalculationList struct {
	Items []Calculation `json:"items" binding:"required"`
} // @name CalculationList

// listCalculations lists what can be calculated.
//
//	@Summary	List the calculations
//	@ID			listCalculations
//	@Tags		Calculations
//	@Produce	json
//	@Success	200	{object}	CalculationList
//	@Success	304	"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/calc [get]
func (s *Server) listCalculations(c echo.Context) error {
	all := calc.All()
	list := CalculationList{Items: make([]Calculation, len(all))}
	for i, x := range all {
		list.Items[i] = Calculation{Name: x.Name, About: x.About}
		if err := json.Unmarshal([]byte(x.Example), &list.Items[i].Example); err != nil {
			return err
		}
	}
	return ok(c, 0, list)
}

// runCalculation answers a calculation.
//
//	@Summary		Calculate
//	@Description	Works on the numbers you send, without reading anybody's data; the command line offers the same calculations. The list gives each one's name and an example input. Lengths are in metres unless the name says feet, and probabilities from 0 to 1. A number that does not exist, such as an infinite wait, is null. Four may be under way for one member or key at once.
//	@ID				runCalculation
//	@Tags			Calculations
//	@Accept			json
//	@Produce		json
//	@Param			name	path		string	true	"The calculation, from the list"
//	@Param			input	body		object	true	"The input; see the example in the list"
//	@Success		200		{object}	map[string]any
//	@Failure		400,401,403,404,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/calc/{name} [post]
func (s *Server) runCalculation(c echo.Context) error {
	r := c.Request()
	if t, _, err := mime.ParseMediaType(r.Header.Get(echo.HeaderContentType)); err != nil || t != mimeJSON {
		return &requestError{status: http.StatusUnsupportedMediaType, code: "media_type", detail: "Send the body as application/json."}
	}
	body, err := readAll(r)
	if err != nil {
		return err
	}
	end, err := s.calculations.begin(r.Context(), askerOf(c))
	if err != nil {
		return err
	}
	defer end()
	answer, err := calc.Run(r.Context(), c.Param("name"), body)
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, answer)
}
