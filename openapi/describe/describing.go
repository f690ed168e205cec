package describe

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
)

// describeAll gives every operation, schema and property that has no words of its
// own those that the code has: the comment on the handler, on the type, or the
// meaning that a name has everywhere.
func describeAll(doc object, s source) {
	schemas := doc["components"].(object)["schemas"].(object)
	for name, schema := range schemas {
		if own := s.schemas[name]; own.text != "" {
			schema.(object)["description"] = own.text
		}
	}
	for schemaName, schema := range schemas {
		properties, _ := schema.(object)["properties"].(object)
		fields := s.fields("api", s.schemas[schemaName])
		for name, property := range properties {
			describeProperty(schemas, name, fields[name], property.(object))
		}
	}
	for _, op := range operations(doc) {
		if op.value["description"] == nil && op.value["operationId"] != nil {
			if text := s.operations[op.value["operationId"].(string)]; text != "" {
				op.value["description"] = text
			}
		}
	}
}

func describeProperty(schemas object, name, comment string, property object) {
	if property["description"] != nil {
		return
	}
	if text := cmp.Or(comment, meanings[name]); text != "" {
		property["description"] = text
		return
	}
	for _, ref := range slices.Sorted(slices.Values(refsIn(property))) {
		target, _ := schemas[strings.TrimPrefix(ref, "#/components/schemas/")].(object)
		if text, _ := target["description"].(string); text != "" {
			property["description"] = firstSentence(text)
			return
		}
	}
}

// sentenceEnd is a full stop, not one inside a number or an abbreviation.
var sentenceEnd = regexp.MustCompile(`\.( |$)`)

func firstSentence(text string) string {
	if at := sentenceEnd.FindStringIndex(text); at != nil {
		return text[:at[0]+1]
	}
	return text
}

// goName is a word that may be the Go name of a property or of a type.
var goName = regexp.MustCompile(`\b[A-Z][A-Za-z0-9]*\b`)

// nameProperties lets descriptions, which come from Go, speak of properties by
// the names they have in JSON, on one line.
func nameProperties(s object) {
	properties, _ := s["properties"].(object)
	names := map[string]string{}
	for name := range properties {
		names[strings.ReplaceAll(name, "_", "")] = name
	}
	tidy := func(schema object, from int) {
		text, _ := schema["description"].(string)
		if text == "" {
			return
		}
		text = oneLine(text)
		first := 0
		if from > 0 { // a type's comment begins with its own name
			first = max(0, strings.Index(text, " "))
		}
		schema["description"] = text[:first] + goName.ReplaceAllStringFunc(text[first:], func(word string) string {
			if name, ok := names[strings.ToLower(word)]; ok {
				return "`" + name + "`"
			}
			return word
		})
	}
	tidy(s, 1)
	for _, property := range properties {
		tidy(property.(object), 0)
	}
}
