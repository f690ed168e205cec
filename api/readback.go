package api

import (
	"reflect"
	"strings"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/labstack/echo/v4"
)

// decoder reads a request's body into what its second argument points at.
type decoder = func(c echo.Context, v any) error

// decodeReadBack is decode for what replaces an Answer: what was read can be sent
// back as it is. The members that only an Answer has are the service's, and are
// ignored. Where the Answer has the whole content in one member, that member stands
// for the body.
func decodeReadBack[Answer any](c echo.Context, v any) error {
	body, err := bodyOf(c, echo.MIMEApplicationJSON)
	if err != nil {
		return err
	}
	refused := decodeBytes(body, v)
	if refused == nil {
		return nil
	}
	content, under, ok := partOf(body, reflect.TypeOf(v).Elem(), reflect.TypeFor[Answer]())
	if !ok {
		return refused
	}
	c.Set(underKey, under)
	return decodeBytes(content, v)
}

// underKey has the pointer of the member that was read in place of the body.
const underKey = "under"

// partOf gives the part of an answer that a request of some type takes, and the
// pointer at it; ok is false when the body has nothing that only an answer has.
func partOf(body []byte, request, answer reflect.Type) (content []byte, under string, ok bool) {
	var object map[string]jsontext.Value
	if json.Unmarshal(body, &object) != nil {
		return nil, "", false
	}
	taken := map[string]bool{}
	for _, f := range reflect.VisibleFields(request) {
		taken[nameInJSON(f)] = true
	}
	for _, f := range reflect.VisibleFields(answer) {
		name := nameInJSON(f)
		value, given := object[name]
		switch {
		case !given || taken[name]:
		case f.Type == request:
			return value, "/" + name, true
		default:
			delete(object, name)
			ok = true
		}
	}
	if !ok {
		return nil, "", false
	}
	content, err := json.Marshal(object, json.Deterministic(true))
	return content, "", err == nil
}

func nameInJSON(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
	return name
}
