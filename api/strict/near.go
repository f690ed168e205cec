package strict

import (
	"reflect"
	"strings"

	json "github.com/go-json-experiment/json"
)

// Unknown says what is wrong with a field that is not there, and names the one that
// was probably meant.
func Unknown(e *json.SemanticError) string {
	if name := nearest(e.JSONPointer.LastToken(), e.GoType); name != "" {
		return "is not a field here; did you mean " + name + "?"
	}
	return "is not a field here; remove it or check its spelling"
}

// nearest gives the field of a type whose name is nearest to a misspelt one, unless all
// are so far that another may have been meant.
func nearest(misspelt string, of reflect.Type) (name string) {
	least := 1 + min(2, len(misspelt)/3)
	for _, known := range fields(of) {
		if strings.HasPrefix(known, misspelt+"_") {
			return known // only the unit is missing
		}
		if n := apart(plain(misspelt), plain(known)); n < least {
			name, least = known, n
		}
	}
	return name
}

// plain is a name as it is compared: toHole, to-hole and to_hole are alike.
func plain(name string) string {
	return strings.ToLower(strings.NewReplacer("_", "", "-", "").Replace(name))
}

// fields are the names of a type's fields in JSON, those of embedded ones included.
func fields(of reflect.Type) (names []string) {
	for of != nil && of.Kind() == reflect.Pointer {
		of = of.Elem()
	}
	if of == nil || of.Kind() != reflect.Struct {
		return nil
	}
	for _, f := range reflect.VisibleFields(of) {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); f.IsExported() && name != "" && name != "-" {
			names = append(names, name)
		}
	}
	return names
}

// apart is how many letters are to be put in, taken out or changed to make one of two
// words the other (V. I. Levenshtein, Soviet Physics Doklady 10 (1966) 707-710).
func apart(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		before := row[0] // of the row above, one to the left
		row[0] = i + 1
		for j := range len(b) {
			change := before
			if a[i] != b[j] {
				change++
			}
			before = row[j+1]
			row[j+1] = min(change, before+1, row[j]+1)
		}
	}
	return row[len(b)]
}
