package calc

import (
	"math"
	"reflect"
	"strconv"
	"strings"
)

// places is to how many decimal places an answer gives what is in a unit, by how its
// name ends: a thousandth of what anybody measures, and fine enough to go on from.
var places = map[string]int{"_m": 6, "_ft": 6, "_deg": 6, "_mps": 6, "_rpm": 3}

// digits is how many digits the rest has that counts: arithmetic gives no more of them
// right.
const digits = 12

// tidy gives an answer with its numbers rounded, so that 9 is not 9.000000000000002.
func tidy[T any](answer T) T {
	v := reflect.ValueOf(&answer).Elem()
	v.Set(tidied(v, -1))
	return answer
}

// tidier is what holds numbers where tidied does not see them.
type tidier interface{ tidy() any }

// tidied copies a value with its numbers rounded: to decimal places, or when those are
// below 0 to digits.
func tidied(v reflect.Value, decimals int) reflect.Value {
	if t, ok := reflect.TypeAssert[tidier](v); ok {
		return reflect.ValueOf(t.tidy())
	}
	out := reflect.New(v.Type()).Elem()
	out.Set(v)
	switch v.Kind() {
	case reflect.Float64:
		out.SetFloat(round(v.Float(), decimals))
	case reflect.Interface:
		if !v.IsNil() {
			out.Set(tidied(v.Elem(), decimals))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			out.Set(reflect.New(v.Type().Elem()))
			out.Elem().Set(tidied(v.Elem(), decimals))
		}
	case reflect.Slice:
		if !v.IsNil() {
			out.Set(reflect.MakeSlice(v.Type(), v.Len(), v.Len()))
		}
		tidyEach(v, out, decimals)
	case reflect.Array:
		tidyEach(v, out, decimals)
	case reflect.Struct:
		tidyFields(v, out)
	default: // no number, or a whole one
	}
	return out
}

func tidyEach(v, out reflect.Value, decimals int) {
	for i := range v.Len() {
		out.Index(i).Set(tidied(v.Index(i), decimals))
	}
}

func tidyFields(v, out reflect.Value) {
	for i := range v.NumField() {
		if field := v.Type().Field(i); field.IsExported() {
			name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
			out.Field(i).Set(tidied(v.Field(i), decimalsOf(name)))
		}
	}
}

// decimalsOf is to how many decimal places a member of a name is given; -1 when its
// name ends in no unit.
func decimalsOf(name string) int {
	if i := strings.LastIndexByte(name, '_'); i >= 0 {
		if n, ok := places[name[i:]]; ok {
			return n
		}
	}
	return -1
}

func round(x float64, decimals int) float64 {
	if decimals < 0 {
		near, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
		return near
	}
	scale := math.Pow10(decimals)
	if near := math.Round(x*scale) / scale; !math.IsInf(near, 0) && near != 0 {
		return near
	}
	return round(x, -1) // far too large or small for its unit: as it is
}
