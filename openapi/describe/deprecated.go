package describe

import (
	"fmt"
	"maps"
	"strings"

	"fringework/api"
)

// Deprecate marks the operations of a finished description that the service's own table
// says are deprecated, with the headers that it sends for them. A mistake in the table is
// an error: it names an operation that is not described.
func Deprecate(doc map[string]any, routes []api.Route) error {
	const date = "2 January 2006"
	for _, r := range routes {
		if r.Deprecation == nil {
			continue
		}
		item, _ := doc["paths"].(object)[r.Path].(object)
		op, ok := item[strings.ToLower(r.Method)].(object)
		if !ok {
			return fmt.Errorf("describe: %s %s is deprecated and not described", r.Method, r.Path)
		}
		op["deprecated"] = true
		about, _ := op["description"].(string)
		op["description"] = strings.TrimSpace(fmt.Sprintf("%s\n\nDeprecated since %s, and served until %s at least. What to use instead: %s",
			about, r.Deprecation.Since.Format(date), r.Deprecation.Sunset.Format(date), r.Deprecation.Link))
		tellDeprecated(doc, op)
	}
	return nil
}

// tellDeprecated gives every response of an operation the headers. Those that other
// operations share are copied for it.
func tellDeprecated(doc, op object) {
	components := doc["components"].(object)
	for _, h := range []struct{ name, about string }{
		{"Deprecation", "Since when the operation is deprecated: @ and Unix time in seconds (RFC 9745)."},
		{"Sunset", "Until when the operation is served at least: an HTTP date (RFC 8594)."},
		{"Link", "Where it says what to use instead, with the relations deprecation and sunset (RFC 8288)."},
	} {
		components["headers"].(object)[h.name] = object{"description": h.about, "required": true, "schema": object{"type": "string"}}
	}
	responses := op["responses"].(object)
	for status, r := range responses {
		from := r.(object)
		if shared, ok := strings.CutPrefix(refOf(from), "#/components/responses/"); ok {
			from = components["responses"].(object)[shared].(object)
		}
		response, headers := maps.Clone(from), object{}
		sent, _ := from["headers"].(object)
		maps.Copy(headers, sent)
		for _, name := range []string{"Deprecation", "Sunset", "Link"} {
			headers[name] = header(name)
		}
		response["headers"] = headers
		responses[status] = response
	}
}

// deprecateFields marks the fields whose comments say so, as Go does: a sentence that
// begins "Deprecated:" with since when, until when at least, and what to use instead.
func deprecateFields(s object) {
	properties, _ := s["properties"].(object)
	for _, p := range properties {
		property := p.(object)
		if text, _ := property["description"].(string); strings.Contains(text, "Deprecated:") {
			property["deprecated"] = true
		}
	}
}
