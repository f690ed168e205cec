package calc

import (
	"errors"
	"math"
	"reflect"
	"strconv"
	"strings"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"fringework/domain"
)

// MaxInput bounds the bytes of an input.
const MaxInput = 1 << 20

// decode reads one JSON value into v and tells what is wrong with its form at
// its pointer.
func decode(raw []byte, v any) error {
	if len(raw) > MaxInput {
		return malformed("", "is larger than %d bytes; leave out the oldest data", MaxInput)
	}
	err := json.Unmarshal(raw, v, json.RejectUnknownMembers(true))
	if err == nil {
		return nil
	}
	if semantic, ok := errors.AsType[*json.SemanticError](err); ok {
		return malformed(string(semantic.JSONPointer), "%s", semanticDetail(semantic))
	}
	if syntactic, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		if errors.Is(err, jsontext.ErrDuplicateName) {
			return malformed(string(syntactic.JSONPointer), "is given twice; give it once")
		}
		return malformed(string(syntactic.JSONPointer), "is not JSON at byte %d; check quotes, commas and what follows the value", syntactic.ByteOffset)
	}
	return malformed("", "is not one JSON value; check that it is complete")
}

func malformed(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return p.Err("calc_form", "The input does not have the expected form; see the example of the calculation.")
}

// semanticDetail says what a member should have been.
func semanticDetail(e *json.SemanticError) string {
	if errors.Is(e, json.ErrUnknownName) {
		return "is not a member of this input; remove it or check its spelling"
	}
	if e.GoType == nil {
		return "does not have the expected form; see the example of the calculation"
	}
	t := e.GoType
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Slice, reflect.Array:
		return "must be an array"
	case reflect.Int, reflect.Int64:
		return "must be a whole number, written without a point or an exponent"
	case reflect.Float64:
		return "must be a number in range"
	case reflect.Bool:
		return "must be true or false"
	case reflect.String:
		return "must be a string"
	default:
		return "must be an object"
	}
}

// need reads a member that must be there.
func need[T any](p *domain.Problems, pointer string, v *T) (value T) {
	if v == nil {
		p.Add(pointer, "is missing; give it")
		return value
	}
	return *v
}

// metres reads a length that must be there.
func metres(p *domain.Problems, pointer string, v *float64) domain.Length {
	if v == nil {
		p.Add(pointer, "is missing; give it")
		return 0
	}
	l, ok := domain.Metres(*v)
	if !ok {
		p.Add(pointer, "is %[2]v m; give a length of at most %[1]v m", domain.MaxLength.Metres(), *v)
	}
	return l
}

// most refuses more than a number of entries; it reports whether they are few
// enough to be looked at.
func most(p *domain.Problems, pointer, what string, n, limit int) bool {
	if n > limit {
		p.Add(pointer, "has %d %s; give at most %d", n, what, limit)
	}
	return n <= limit
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
