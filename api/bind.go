package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"fringework/api/strict"
	"fringework/domain"
)

// decode reads a JSON request body into v: one value, no unknown or repeated
// members, valid UTF-8. What is wrong is told at its JSON pointer.
func decode(c echo.Context, v any) error {
	return decodeAs(c, v, echo.MIMEApplicationJSON)
}

// decodeAs is decode for a body of any of some media types, all of them JSON.
func decodeAs(c echo.Context, v any, types ...string) error {
	body, err := bodyOf(c, types...)
	if err != nil {
		return err
	}
	return decodeBytes(body, v)
}

// bodyOf reads a body of any of some media types.
func bodyOf(c echo.Context, types ...string) ([]byte, error) {
	r := c.Request()
	t, _, err := mime.ParseMediaType(r.Header.Get(echo.HeaderContentType))
	if err != nil || !slices.Contains(types, t) {
		return nil, &requestError{status: http.StatusUnsupportedMediaType, code: "media_type", detail: "Send the body as " + strings.Join(types, " or ") + "."}
	}
	return readAll(r)
}

func readAll(r *http.Request) ([]byte, error) {
	if encoding := r.Header.Get(echo.HeaderContentEncoding); encoding != "" && !strings.EqualFold(encoding, "identity") {
		return nil, &requestError{status: http.StatusUnsupportedMediaType, code: "content_encoding", detail: "Send the body as it is, without a Content-Encoding."}
	}
	body, err := io.ReadAll(r.Body)
	if err == nil {
		return body, nil
	}
	if tooLarge, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return nil, &requestError{status: http.StatusRequestEntityTooLarge, code: "body_too_large",
			detail: fmt.Sprintf("The request body is too large; send at most %d bytes.", tooLarge.Limit)}
	}
	return nil, malformed("body_unreadable", "The request body arrived incomplete; send it again.")
}

func decodeBytes(body []byte, v any) error {
	if len(body) == 0 {
		return malformed("body_missing", "Send a JSON body; this request has none.")
	}
	faults, _ := strict.Unmarshal(body, v)
	if len(faults) == 0 {
		return refuseNUL(body)
	}
	fields := make([]ProblemField, len(faults))
	for i, fault := range faults {
		semantic, ok := errors.AsType[*json.SemanticError](fault)
		if !ok {
			return notJSON(fault)
		}
		fields[i] = semanticField(semantic)
	}
	return malformed("body_invalid", "The request body does not have the expected form.", fields...)
}

// notJSON is a 400 about a body that is no JSON.
func notJSON(err error) error {
	var fields []ProblemField
	if syntactic, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		field := ProblemField{Pointer: nearest(syntactic.JSONPointer), Detail: strict.NotJSON(syntactic.ByteOffset, "quotes, commas and repeated names")}
		if errors.Is(err, jsontext.ErrDuplicateName) {
			field.Detail = "is given twice; give it once"
		}
		fields = append(fields, field)
	}
	return malformed("body_malformed", "The request body is not valid JSON.", fields...)
}

// refuseNUL refuses texts with a NUL character, which JSON can say and
// PostgreSQL cannot keep. body is known to be JSON.
func refuseNUL(body []byte) error {
	if !bytes.Contains(body, []byte(`\u0000`)) {
		return nil // the only way to write it
	}
	dec := jsontext.NewDecoder(bytes.NewReader(body))
	for {
		token, err := dec.ReadToken()
		if err != nil {
			return nil //nolint:nilerr // the end: what was found is an escaped backslash
		}
		if token.Kind() == '"' && strings.ContainsRune(token.String(), 0) {
			return malformed("body_invalid", "The request body does not have the expected form.",
				ProblemField{Pointer: nearest(dec.StackPointer()), Detail: "contains a NUL character (\\u0000); remove it"})
		}
	}
}

// nearest gives a pointer, or where it is absurdly long one to a part that
// contains what it points at.
func nearest(p jsontext.Pointer) string {
	const most = 500
	for len(p) > most {
		cut := strings.LastIndexByte(string(p[:most]), '/')
		p = p[:max(0, cut)]
	}
	return string(p)
}

func semanticField(e *json.SemanticError) ProblemField {
	f := ProblemField{Pointer: nearest(e.JSONPointer)}
	switch {
	case errors.Is(e, json.ErrUnknownName):
		f.Detail = strict.Unknown(e)
	case e.GoType == reflect.TypeFor[time.Time]() && e.JSONKind == '"':
		f.Detail = "is not " + wanted("time.Time")
	case e.GoType != nil && e.JSONKind == '0' && strings.HasSuffix(wanted(e.GoType.String()), "number"):
		f.Detail = "must be " + wanted(e.GoType.String()) + " in range"
	case e.GoType != nil:
		f.Detail = fmt.Sprintf("is %s; %s is expected", article(e.JSONKind), wanted(e.GoType.String()))
	default:
		f.Detail = "does not have the expected form; see the description at /openapi.json"
	}
	return f
}

func article(k jsontext.Kind) string {
	switch k {
	case '"':
		return "a string"
	case '0':
		return "a number"
	case '{':
		return "an object"
	case '[':
		return "an array"
	case 't', 'f':
		return "true or false"
	default:
		return "null"
	}
}

// wanted words a Go type for somebody who sends JSON.
func wanted(goType string) string {
	t := strings.TrimLeft(goType, "*")
	switch {
	case strings.HasPrefix(t, "[]"):
		return "an array"
	case t == "time.Time":
		return "an RFC 3339 time with its offset, such as 2026-05-04T17:30:00+02:00"
	case strings.HasPrefix(t, "int"), strings.HasPrefix(t, "uint"):
		return "a whole number"
	case strings.HasPrefix(t, "float"):
		return "a number"
	case t == "bool":
		return "true or false"
	case t == "string", t == "domain.ID":
		return "a string"
	default:
		return "an object"
	}
}

// pathID reads an identity from the path. One that is no UUID names nothing.
func pathID(c echo.Context, name string) (domain.ID, error) {
	id, err := uuid.Parse(c.Param(name))
	if err != nil || len(c.Param(name)) != 36 {
		return "", domain.ErrNotFound("thing at this address")
	}
	return domain.ID(id.String()), nil
}

// query reads query parameters and remembers which a handler knows, so that a
// misspelt one is refused instead of ignored.
type query struct {
	c     echo.Context
	known map[string]bool
	err   error
}

// queryKey marks a request whose query a handler has read.
const queryKey = "query"

func newQuery(c echo.Context) *query {
	c.Set(queryKey, true)
	return &query{c: c, known: map[string]bool{}}
}

// refuseQuery refuses any query parameter, for an address that has none.
func refuseQuery(c echo.Context) error { return (&query{c: c}).done() }

func (q *query) text(name string) string {
	q.known[name] = true
	values := q.c.QueryParams()[name]
	if len(values) > 1 {
		q.fail(name, "is given more than once; give it once")
	}
	if len(values) == 0 {
		return ""
	}
	return values[0]
}

func (q *query) fail(name, detail string) {
	if q.err == nil {
		q.err = badParameter(name, detail)
	}
}

// id reads an identity; empty when absent.
func (q *query) id(name string) domain.ID {
	text := q.text(name)
	if text == "" {
		return ""
	}
	id, err := uuid.Parse(text)
	if err != nil || len(text) != 36 {
		q.fail(name, "is not a UUID; check the ID")
	}
	return domain.ID(id.String())
}

// flag reads true or false; false when absent.
func (q *query) flag(name string) bool {
	switch q.text(name) {
	case "", "false":
		return false
	case "true":
		return true
	}
	q.fail(name, "is neither; give true or false")
	return false
}

// number reads a whole number between low and high; otherwise when absent.
func (q *query) number(name string, low, high, otherwise int) int {
	text := q.text(name)
	if text == "" {
		return otherwise
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < low || n > high {
		q.fail(name, fmt.Sprintf("is %q; give a whole number from %d to %d", text, low, high))
	}
	return n
}

// word reads one of some words; empty when absent.
func (q *query) word(name string, words ...string) string {
	text := q.text(name)
	if text == "" {
		return ""
	}
	if slices.Contains(words, text) {
		return text
	}
	q.fail(name, fmt.Sprintf("is %q; use one of %s", text, strings.Join(words, ", ")))
	return ""
}

// done gives the first thing wrong, an unknown parameter included.
func (q *query) done() error {
	if q.err != nil {
		return q.err
	}
	for _, name := range slices.Sorted(maps.Keys(q.c.QueryParams())) {
		if !q.known[name] {
			return badParameter(name, "is not a parameter that this address knows; remove it or check its spelling")
		}
	}
	return nil
}
