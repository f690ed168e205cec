package calc

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"fringework/api/strict"
	"fringework/domain"
)

// MaxInput bounds the bytes of an input.
const MaxInput = 1 << 20

// decode reads one JSON value into v, and notes in p what is wrong with its form, at
// its pointer; what does not fit is left out. The error is of a value that could not
// be read at all.
func decode(raw []byte, v any, p *domain.Problems) error {
	if len(raw) > MaxInput {
		return malformed("", "is larger than %d bytes; leave out the oldest data", MaxInput)
	}
	faults, read := strict.Unmarshal(raw, v)
	for _, fault := range faults {
		if semantic, ok := errors.AsType[*json.SemanticError](fault); ok {
			p.Add(string(semantic.JSONPointer), "%s", semanticDetail(semantic))
		} else if syntactic, ok := errors.AsType[*jsontext.SyntacticError](fault); !ok {
			return malformed("", "is not one JSON value; check that it is complete")
		} else if errors.Is(fault, jsontext.ErrDuplicateName) {
			return malformed(string(syntactic.JSONPointer), "is given twice; give it once")
		} else {
			return malformed(string(syntactic.JSONPointer), "%s", strict.NotJSON(syntactic.ByteOffset, "quotes, commas and what follows the value"))
		}
	}
	if !read {
		return refuseForm(p)
	}
	return nil
}

func malformed(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return refuseForm(&p)
}

func refuseForm(p *domain.Problems) error {
	return p.Err("calc_form", "The input does not have the expected form; see the example of the calculation.")
}

// semanticDetail says what a member should have been.
func semanticDetail(e *json.SemanticError) string {
	if errors.Is(e, json.ErrUnknownName) {
		return strict.Unknown(e)
	}
	if e.GoType == nil {
		return "does not have the expected form; see the example of the calculation"
	}
	t := e.GoType
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Int, reflect.Int64:
		if e.JSONKind == '"' {
			return "must be a whole number, without quotes"
		}
		return "must be a whole number, written without a point or an exponent"
	case reflect.Float64:
		switch metres := inMetres(e.JSONPointer); {
		case metres && e.JSONKind == '"':
			return "must be a number of metres, without quotes and without a unit"
		case metres:
			return fmt.Sprintf("must be a number of metres, at most %v", domain.MaxLength.Metres())
		case e.JSONKind == '"':
			return "must be a number, without quotes and without a unit"
		}
		return "must be a number, no larger than 1e308"
	default:
		return "must be " + wanted(t)
	}
}

// inMetres says whether a member, or the list that it is in, is named for metres.
func inMetres(pointer jsontext.Pointer) bool {
	name := pointer.LastToken()
	if _, err := strconv.Atoi(name); err == nil {
		name = pointer.Parent().LastToken()
	}
	return strings.HasSuffix(name, "_m")
}

// need reads a member that must be there. The rest is to be checked without it as
// well, so something that fits stands in for one that is not: 0, or what is given.
func need[T any](p *domain.Problems, pointer string, v *T, standIn ...T) (value T) {
	if v != nil {
		return *v
	}
	p.Add(pointer, "is missing; give %s", wanted(reflect.TypeFor[T]()))
	if len(standIn) > 0 {
		return standIn[0]
	}
	return value
}

// wanted words a Go type for somebody who sends JSON.
func wanted(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Slice, reflect.Array:
		return "an array"
	case reflect.Int, reflect.Int64:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a string"
	default:
		return "an object"
	}
}

// metres reads a length that must be there.
func metres(p *domain.Problems, pointer string, v *float64, standIn ...domain.Length) domain.Length {
	if v == nil {
		p.Add(pointer, "is missing; give a length in metres")
	} else if l, ok := domain.Metres(*v); ok {
		return l
	} else {
		p.Add(pointer, "is %[2]v m; give a length of at most %[1]v m", domain.MaxLength.Metres(), *v)
	}
	if len(standIn) > 0 {
		return standIn[0]
	}
	return 0
}

// most refuses more than a number of entries, which then are not looked at.
func most[T any](p *domain.Problems, pointer, what string, given []T, limit int) []T {
	if n := len(given); n > limit {
		p.Add(pointer, "has %d %s; give at most %d", n, what, limit)
		return nil
	}
	return given
}

// at joins a pointer and an index.
func at(pointer string, i int) string { return pointer + "/" + strconv.Itoa(i) }

// finite is nil for what does not exist: infinities and NaN.
func finite(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}

// finiteIf is finite of what exists only on a condition.
func finiteIf(exists bool, x float64) *float64 {
	if !exists {
		return nil
	}
	return finite(x)
}

// byRadius is a JSON object with radii in metres for names, smallest first.
type byRadius[T any] []radiusValue[T]

type radiusValue[T any] struct {
	radius float64
	value  T
}

func (o byRadius[T]) tidy() any {
	out := make(byRadius[T], len(o))
	for i, entry := range o {
		out[i] = radiusValue[T]{round(entry.radius, places["_m"]), Tidy(entry.value)}
	}
	return out
}

// MarshalJSON writes the object in order.
func (o byRadius[T]) MarshalJSON() ([]byte, error) {
	var b strings.Builder
	b.WriteByte('{')
	for i, entry := range o {
		if i > 0 {
			b.WriteByte(',')
		}
		value, err := json.Marshal(entry.value)
		if err != nil {
			return nil, err
		}
		b.WriteString(strconv.Quote(strconv.FormatFloat(entry.radius, 'f', -1, 64)))
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return []byte(b.String()), nil
}
