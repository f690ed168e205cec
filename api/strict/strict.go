// Package strict reads JSON strictly, and finds everything that is wrong with its
// form at once.
package strict

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// maxFaults bounds how many faults are looked for in one value, and maxReading how many
// bytes are read in doing so: the value is read anew after each.
const (
	maxFaults  = 50
	maxReading = 1 << 20
)

// Unmarshal reads one JSON value into what v points at: no unknown or repeated
// members, valid UTF-8. It gives everything that is wrong, each a
// *json.SemanticError or a *jsontext.SyntacticError, in the order found and at most
// 50, of a large value fewer; none when all is well. What does not fit is read as null, so that v holds the
// rest, unless read is false: then the text is no JSON, or the whole of another form.
func Unmarshal(raw []byte, v any) (faults []error, read bool) {
	for reading := 0; ; {
		reflect.ValueOf(v).Elem().SetZero()
		err := json.Unmarshal(raw, v, json.RejectUnknownMembers(true))
		if err == nil {
			return faults, true
		}
		semantic, ok := errors.AsType[*json.SemanticError](err)
		if !ok || semantic.JSONPointer == "" {
			return append(faults, err), false
		}
		again := func(f error) bool {
			known, _ := errors.AsType[*json.SemanticError](f)
			return known.JSONPointer == semantic.JSONPointer
		}
		if slices.ContainsFunc(faults, again) {
			return faults, false // it does not take null either
		}
		reading += len(raw)
		if faults = append(faults, err); len(faults) == maxFaults || reading > maxReading {
			return faults, false
		}
		tokens := slices.Collect(semantic.JSONPointer.Tokens())
		if raw, err = without(raw, tokens, errors.Is(err, json.ErrUnknownName)); err != nil {
			return append(faults, err), false
		}
	}
}

// without gives a value with null in place of the part that a pointer's tokens lead
// to, or, to remove it, without the member.
func without(raw jsontext.Value, tokens []string, remove bool) (jsontext.Value, error) {
	if len(tokens) == 0 {
		return jsontext.Value("null"), nil
	}
	if raw.Kind() == '[' {
		var list []jsontext.Value
		if err := json.Unmarshal(raw, &list); err != nil {
			return nil, err
		}
		i, err := strconv.Atoi(tokens[0])
		if err != nil {
			return nil, err
		}
		if list[i], err = without(list[i], tokens[1:], remove); err != nil {
			return nil, err
		}
		return json.Marshal(list)
	}
	var object map[string]jsontext.Value
	if err := json.Unmarshal(raw, &object); err != nil {
		return nil, err
	}
	if remove && len(tokens) == 1 {
		delete(object, tokens[0])
	} else {
		part, err := without(object[tokens[0]], tokens[1:], remove)
		if err != nil {
			return nil, err
		}
		object[tokens[0]] = part
	}
	return json.Marshal(object, json.Deterministic(true))
}

// NotJSON says from which byte on a text is no JSON, and what to check there.
func NotJSON(from int64, check string) string {
	if from == 0 {
		return "does not begin as JSON does; give an object in curly brackets"
	}
	return fmt.Sprintf("is not JSON from byte %d on; check %s", from, check)
}
