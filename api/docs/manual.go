package docs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strings"
)

// manual is the description, in the order in which it is read.
type manual struct {
	Title, Version string
	// About is the description's own words, one paragraph each.
	About []string
	Tags  []*tag
	byID  map[string]*operation
}

// tag is a subject and its operations.
type tag struct {
	Name, About string
	Operations  []*operation
}

// operation is one operation, made ready for a page.
type operation struct {
	ID, Method, Path, Summary string
	About                     []string
	Subject                   string
	Deprecated                bool
	// Who says who may ask: with a token, with a key, or anybody.
	Who        string
	Parameters []member
	// Body and Answers are what is sent and what comes back, Refusals what may come
	// back instead.
	Body              *content
	Answers, Refusals []content
	// Types are those that body and answers are made of.
	Types []*typeView
	// Command asks for it on the command line.
	Command string
}

// content is a body: of a request, or of an answer with its status.
type content struct {
	Status, About string
	Media         string
	Type          template.HTML
	Example       any
	Headers       []string
}

// typeView is a schema with its members.
type typeView struct {
	Name, About string
	Members     []member
}

// member is a property of a type, or a parameter.
type member struct {
	Name, About string
	// Where is path, query or header, for a parameter.
	Where    string
	Type     template.HTML
	Facts    []string
	Required bool
	ReadOnly bool

	Deprecated bool
}

// index is the manual with what was searched for.
type index struct {
	*manual
	Query string
	Tags  []*tag
	Found int
}

// search keeps the operations that have every word of a query in their subject,
// their name or their address.
func (m *manual) search(query string) index {
	out := index{manual: m, Query: query}
	words := strings.Fields(strings.ToLower(query))
	for _, t := range m.Tags {
		kept := &tag{Name: t.Name, About: t.About}
		for _, op := range t.Operations {
			text := strings.ToLower(strings.Join([]string{t.Name, op.Summary, op.Method, op.Path, op.ID}, " "))
			if !slices.ContainsFunc(words, func(word string) bool { return !strings.Contains(text, word) }) {
				kept.Operations = append(kept.Operations, op)
			}
		}
		if out.Found += len(kept.Operations); len(kept.Operations) > 0 {
			out.Tags = append(out.Tags, kept)
		}
	}
	return out
}

type object = map[string]any

// reader reads a description.
type reader struct{ doc object }

// readManual reads an OpenAPI description.
func readManual(description []byte) (*manual, error) {
	var doc object
	if err := json.Unmarshal(description, &doc); err != nil {
		return nil, err
	}
	r := reader{doc}
	info := of(doc, "info")
	m := &manual{Title: text(info, "title"), Version: text(info, "version"), About: paragraphs(text(info, "description")), byID: map[string]*operation{}}
	tags := map[string]*tag{}
	declared, _ := doc["tags"].([]any)
	for _, t := range declared {
		entry := &tag{Name: text(t, "name"), About: text(t, "description")}
		tags[entry.Name] = entry
		m.Tags = append(m.Tags, entry)
	}
	paths := of(doc, "paths")
	for _, path := range slices.Sorted(maps.Keys(paths)) {
		item := of(paths, path)
		for _, method := range []string{"get", "post", "put", "patch", "delete"} {
			if item[method] == nil {
				continue
			}
			op := r.operation(strings.ToUpper(method), path, of(item, method))
			t := tags[op.Subject]
			if t == nil {
				return nil, fmt.Errorf("%s %s has no tag that is declared", op.Method, path)
			}
			t.Operations = append(t.Operations, op)
			m.byID[op.ID] = op
		}
	}
	return m, nil
}

// of gives a member that is an object; nil is one without members.
func of(node any, name string) object {
	o, _ := node.(object)
	child, _ := o[name].(object)
	return child
}

func text(node any, name string) string {
	o, _ := node.(object)
	s, _ := o[name].(string)
	return s
}

func paragraphs(s string) []string { return strings.Split(strings.TrimSpace(s), "\n\n") }

// follow gives what a reference stands for.
func (r reader) follow(node object) object {
	ref := text(node, "$ref")
	if ref == "" {
		return node
	}
	target := any(r.doc)
	for name := range strings.SplitSeq(strings.TrimPrefix(ref, "#/"), "/") {
		target = of(target, name)
	}
	o, _ := target.(object)
	return o
}

func (r reader) operation(method, path string, op object) *operation {
	out := &operation{ID: text(op, "operationId"), Method: method, Path: path, Summary: text(op, "summary"), About: paragraphs(text(op, "description")), Deprecated: op["deprecated"] == true, Who: who(op)}
	if names, _ := op["tags"].([]any); len(names) > 0 {
		out.Subject, _ = names[0].(string)
	}
	seen := map[string]bool{}
	parameters, _ := op["parameters"].([]any)
	for _, p := range parameters {
		parameter := r.follow(p.(object))
		m := r.member(text(parameter, "name"), of(parameter, "schema"), parameter["required"] == true)
		m.About, m.Where = text(parameter, "description"), text(parameter, "in")
		out.Parameters = append(out.Parameters, m)
	}
	if body := of(op, "requestBody"); body != nil {
		c := r.content(body)
		c.About = text(body, "description")
		out.Body = &c
		r.types(body, seen, out)
	}
	responses := of(op, "responses")
	for _, status := range slices.Sorted(maps.Keys(responses)) {
		response := r.follow(of(responses, status))
		c := r.content(response)
		c.Status, c.About = status, text(response, "description")
		c.Headers = slices.Sorted(maps.Keys(of(response, "headers")))
		if status >= "400" {
			out.Refusals = append(out.Refusals, c)
		} else {
			out.Answers = append(out.Answers, c)
		}
		r.types(response, seen, out)
	}
	out.Command = command(out)
	return out
}

// who says what an operation's security asks for.
func who(op object) string {
	all, _ := op["security"].([]any)
	if len(all) == 0 {
		return "Anybody; it needs no token."
	}
	var ways []string
	optional := false
	for _, requirement := range all {
		names := requirement.(object)
		optional = optional || len(names) == 0
		for name := range names {
			ways = append(ways, map[string]string{"Bearer": "an access token", "Basic": "the ID and the secret of an application key"}[name])
		}
	}
	slices.Sort(ways)
	if optional {
		return "Anybody; " + strings.Join(ways, " or ") + " may be sent."
	}
	return "Whoever sends " + strings.Join(ways, " or ") + "."
}

// content reads the first media type of a body, which is the one to use.
func (r reader) content(body object) content {
	types := of(body, "content")
	for _, media := range slices.SortedFunc(maps.Keys(types), func(a, b string) int { return len(a) - len(b) }) {
		entry := of(types, media)
		return content{Media: media, Type: r.typeOf(of(entry, "schema")), Example: entry["example"]}
	}
	return content{}
}

// types gathers the types that a piece of the description is made of, as they are
// met.
func (r reader) types(node any, seen map[string]bool, op *operation) {
	switch n := node.(type) {
	case []any:
		for _, child := range n {
			r.types(child, seen, op)
		}
	case object:
		for _, name := range slices.Sorted(maps.Keys(n)) {
			if name != "example" && name != "examples" {
				r.types(n[name], seen, op)
			}
		}
		name, ok := strings.CutPrefix(text(n, "$ref"), "#/components/schemas/")
		if !ok || seen[name] {
			return
		}
		seen[name] = true
		schema := r.follow(n)
		view := &typeView{Name: name, About: text(schema, "description")}
		required, _ := schema["required"].([]any)
		properties := of(schema, "properties")
		for _, property := range slices.Sorted(maps.Keys(properties)) {
			view.Members = append(view.Members, r.member(property, of(properties, property), slices.Contains(required, any(property))))
		}
		op.Types = append(op.Types, view)
		r.types(schema, seen, op)
	}
}

func (r reader) member(name string, schema object, required bool) member {
	return member{Name: name, About: text(schema, "description"), Type: r.typeOf(schema), Facts: facts(schema), Required: required, ReadOnly: schema["readOnly"] == true, Deprecated: schema["deprecated"] == true}
}

// typeOf words a type, with links to those that have members.
func (r reader) typeOf(schema object) template.HTML {
	if name, ok := strings.CutPrefix(text(schema, "$ref"), "#/components/schemas/"); ok {
		return template.HTML(fmt.Sprintf(`<a href="#%[1]s">%[1]s</a>`, template.HTMLEscapeString(name))) //nolint:gosec // escaped
	}
	if either, ok := schema["anyOf"].([]any); ok {
		return alternatives(either, r.typeOf)
	}
	if items := of(schema, "items"); items != nil {
		return "list of " + r.typeOf(items) + orNull(schema)
	}
	if values := of(schema, "additionalProperties"); len(values) > 0 {
		return "object of " + r.typeOf(values)
	}
	name := text(schema, "type")
	if both, ok := schema["type"].([]any); ok {
		name, _ = both[0].(string)
	}
	if format := text(schema, "format"); format != "" {
		name = map[string]string{"uuid": "UUID", "date-time": "time (RFC 3339)", "date": "date", "email": "e-mail address", "uri": "address", "uri-reference": "address"}[format]
	}
	return template.HTML(template.HTMLEscapeString(name)) + orNull(schema) //nolint:gosec // escaped
}

func orNull(schema object) template.HTML {
	if both, ok := schema["type"].([]any); ok && slices.Contains(both, any("null")) {
		return " or null"
	}
	return ""
}

func alternatives(all []any, word func(object) template.HTML) (out template.HTML) {
	for i, one := range all {
		if i > 0 {
			out += " or "
		}
		out += word(one.(object))
	}
	return out
}

// facts are the limits of a value, in words.
func facts(schema object) (all []string) {
	if items := of(schema, "items"); items != nil {
		all = facts(items)
	}
	if list, ok := schema["enum"].([]any); ok {
		var names []string
		for _, word := range list {
			names = append(names, fmt.Sprint(word))
		}
		all = append(all, "one of "+strings.Join(names, ", "))
	}
	for _, f := range []struct{ name, words string }{
		{"minimum", "at least %v"}, {"maximum", "at most %v"}, {"minLength", "at least %v characters"}, {"maxLength", "at most %v characters"},
		{"minItems", "at least %v entries"}, {"maxItems", "at most %v entries"}, {"default", "%v when left out"},
	} {
		if value, ok := schema[f.name]; ok {
			all = append(all, fmt.Sprintf(f.words, value))
		}
	}
	return all
}

// command is a line that asks for an operation with curl.
func command(op *operation) string {
	var b strings.Builder
	fmt.Fprintf(&b, "curl -X %s $HOST%s", op.Method, strings.NewReplacer("{", "$", "}", "").Replace(op.Path))
	if op.Method == http.MethodGet {
		b.Reset()
		fmt.Fprintf(&b, "curl $HOST%s", strings.NewReplacer("{", "$", "}", "").Replace(op.Path))
	}
	if strings.Contains(op.Who, "access token") {
		b.WriteString(" \\\n  -H \"Authorization: Bearer $TOKEN\"")
	}
	if op.Body != nil && op.Body.Example != nil && strings.HasSuffix(op.Body.Media, "json") {
		fmt.Fprintf(&b, " \\\n  -H 'Content-Type: %s' \\\n  -d @body.json", op.Body.Media)
	}
	return b.String()
}

// words writes text with `names` as code.
func words(s string) template.HTML {
	var b strings.Builder
	for i, part := range strings.Split(s, "`") {
		part = template.HTMLEscapeString(part)
		if i%2 == 1 {
			part = "<code>" + part + "</code>"
		}
		b.WriteString(part)
	}
	return template.HTML(b.String()) //nolint:gosec // escaped
}

func indented(value any) (string, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(value)
	return b.String(), err
}
