package describe

import (
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
)

// object and list are JSON as encoding/json reads it.
type (
	object = map[string]any
	list   = []any
)

const (
	jsonType    = "application/json"
	problemType = "application/problem+json"
)

// finish turns a converted description into the one that is served.
func finish(doc object) {
	doc["openapi"] = "3.1.0"
	doc["jsonSchemaDialect"] = "https://spec.openapis.org/oas/3.1/dialect/base"
	components := doc["components"].(object)
	components["securitySchemes"] = object{
		"Bearer": object{"type": "http", "scheme": "bearer", "bearerFormat": "JWT",
			"description": "An access token, from signing in or in exchange for an application key."},
		"Basic": object{"type": "http", "scheme": "basic", "description": "An application key: its ID as the user name and its secret as the password."},
	}
	components["headers"] = headers()
	delete(components, "requestBodies")
	info := doc["info"].(object)
	info["contact"] = object{"name": "The operator of this installation"}
	info["license"] = object{"name": "Use as agreed with the operator of this installation", "identifier": "LicenseRef-Operator"}
	for _, op := range operations(doc) {
		finishOperation(doc, op)
	}
	shareErrors(doc)
	answerPeople(doc)
	walkSchemas(doc, modernise)
	walkSchemas(doc, nameProperties)
	walkSchemas(doc, deprecateFields)
	walkSchemas(doc["components"], sayDefaults)
	closeRequests(doc)
	dropUnused(doc)
}

// answerPeople lets operations that answer with a page say with a page, too, that there
// is nothing at an address.
func answerPeople(doc object) {
	const page = "text/html"
	shared := doc["components"].(object)["responses"].(object)["NotFound"].(object)
	for _, op := range operations(doc) {
		responses := op.value["responses"].(object)
		done, _ := responses["200"].(object)
		if content, _ := done["content"].(object); content[page] == nil || responses["404"] == nil {
			continue
		}
		missing, content := maps.Clone(shared), maps.Clone(shared["content"].(object))
		content[page] = object{"schema": object{"type": "string"}}
		missing["content"] = content
		responses["404"] = missing
	}
}

// operation is one operation with where it is.
type operation struct {
	path, method string
	value        object
}

// operations lists the operations in order of path and method.
func operations(doc object) (all []operation) {
	paths := doc["paths"].(object)
	for _, path := range slices.Sorted(maps.Keys(paths)) {
		item := paths[path].(object)
		for _, method := range slices.Sorted(maps.Keys(item)) {
			if op, ok := item[method].(object); ok {
				all = append(all, operation{path, method, op})
			}
		}
	}
	return all
}

func headers() object {
	sent := func(always bool, description string) object {
		return object{"description": description, "required": always, "schema": object{"type": "string"}}
	}
	wait := sent(true, "How many seconds to wait.")
	wait["schema"] = object{"type": "integer", "minimum": 1}
	return object{
		"ETag":              sent(true, "The entity tag of this answer, for If-None-Match and If-Match."),
		"Location":          sent(true, "The address of what was created, as a relative reference."),
		"Challenge":         sent(true, "How to authenticate (RFC 6750, RFC 7617)."),
		"InsufficientScope": sent(false, "Sent if the token lacks a scope (RFC 6750)."),
		"RetryAfter":        wait,
		"RequestId":         sent(true, "Identifies the request in the service's log. You can send your own: 8 to 64 letters, digits, hyphens and underscores."),
	}
}

func header(name string) object { return object{"$ref": "#/components/headers/" + name} }

func finishOperation(doc object, at operation) {
	op := at.value
	switch {
	case op["security"] == nil:
		op["security"] = list{}
	case op["x-optional-security"] != nil:
		op["security"] = append(list{object{}}, op["security"].(list)...)
	}
	delete(op, "x-optional-security")
	responses := op["responses"].(object)
	common := []int{http.StatusBadRequest}
	if !isSystem(op) {
		common = append(common, http.StatusInternalServerError)
	}
	if body, ok := op["requestBody"].(object); ok {
		delete(body, "x-originalParamName")
		common = append(common, http.StatusRequestEntityTooLarge)
	}
	for _, status := range common {
		if code := strconv.Itoa(status); responses[code] == nil {
			responses[code] = object{"description": http.StatusText(status), "content": object{jsonType: object{"schema": problemSchema()}}}
		}
	}
	for code, r := range responses {
		finishResponse(code, r.(object))
		if isTagged(doc, at, code) {
			r.(object)["headers"].(object)["ETag"] = header("ETag")
		}
	}
}

// isTagged tells which answers carry an entity tag: what is read or replaced
// at its own address, and whatever else has a revision.
func isTagged(doc object, at operation, code string) bool {
	content, _ := at.value["responses"].(object)[code].(object)["content"].(object)
	body, ok := content[jsonType].(object)
	switch {
	case code == "304", at.method == "get" && (code == "200" || code == "206") && at.value["responses"].(object)["304"] != nil:
		return true
	case !ok || !strings.HasPrefix(code, "2") || isSystem(at.value):
		return false
	case at.method == "get" || at.method == "put" || at.method == "patch":
		return true
	}
	name := strings.TrimPrefix(refOf(body["schema"]), "#/components/schemas/")
	schema, _ := doc["components"].(object)["schemas"].(object)[name].(object)
	properties, _ := schema["properties"].(object)
	return properties["revision"] != nil
}

func problemSchema() object { return object{"$ref": "#/components/schemas/Problem"} }

// isSystem tells the operations that are about the service itself.
func isSystem(op object) bool { return slices.Contains(op["tags"].(list), any("System")) }

// finishResponse gives a response its own media types and headers.
func finishResponse(code string, r object) {
	status, _ := strconv.Atoi(code)
	sent := object{"X-Request-Id": header("RequestId")}
	content, _ := r["content"].(object)
	switch {
	case status >= 400:
		r["content"] = errorContent(status, content)
		if status == http.StatusUnauthorized {
			sent["WWW-Authenticate"] = header("Challenge")
		}
		if status == http.StatusForbidden {
			sent["WWW-Authenticate"] = header("InsufficientScope")
		}
		if status == http.StatusTooManyRequests || status == http.StatusServiceUnavailable {
			sent["Retry-After"] = header("RetryAfter")
		}
	case status == http.StatusCreated:
		sent["Location"] = header("Location")
	}
	r["headers"] = sent
}

// errorContent sends problem documents as what they are. OAuth's errors are
// plain JSON; beside them a request that is no grant at all gets a problem.
func errorContent(status int, content object) object {
	sent := object{problemType: object{"schema": problemSchema()}}
	for _, c := range content {
		schema := c.(object)["schema"]
		if ref := refOf(schema); strings.HasSuffix(ref, "/OAuthProblem") {
			sent[jsonType] = object{"schema": schema}
			if status == http.StatusUnauthorized {
				delete(sent, problemType)
			}
		}
	}
	return sent
}

func refOf(schema any) string {
	s, _ := schema.(object)
	ref, _ := s["$ref"].(string)
	return ref
}

// shareErrors puts problem responses that are alike among the components.
func shareErrors(doc object) {
	shared := object{}
	for _, op := range operations(doc) {
		responses := op.value["responses"].(object)
		for code, r := range responses {
			content, _ := r.(object)["content"].(object)
			if content[problemType] == nil || content[jsonType] != nil {
				continue
			}
			status, _ := strconv.Atoi(code)
			name := strings.ReplaceAll(http.StatusText(status), " ", "")
			shared[name] = r
			responses[code] = object{"$ref": "#/components/responses/" + name}
		}
	}
	doc["components"].(object)["responses"] = shared
}

// walkSchemas calls fn on every schema, children first.
func walkSchemas(node any, fn func(object)) {
	switch n := node.(type) {
	case list:
		for _, child := range n {
			walkSchemas(child, fn)
		}
	case object:
		for name, child := range n {
			switch {
			case name == "schema" || name == "items" || name == "additionalProperties":
				walkSchema(child, fn)
			case name == "schemas" || name == "properties":
				for _, schema := range child.(object) {
					walkSchema(schema, fn)
				}
			case name != "example" && name != "default" && name != "enum":
				walkSchemas(child, fn)
			}
		}
	}
}

func walkSchema(schema any, fn func(object)) {
	if s, ok := schema.(object); ok {
		walkSchemas(s, fn)
		fn(s)
	}
}

// modernise turns a schema of OpenAPI 3.0 into one of JSON Schema 2020-12.
func modernise(s object) {
	for name := range s {
		if strings.HasPrefix(name, "x-") && name != "x-nullable" {
			delete(s, name)
		}
	}
	if all, ok := s["allOf"].(list); ok && len(all) == 1 && refOf(all[0]) != "" {
		s["$ref"] = refOf(all[0])
		delete(s, "allOf")
	}
	if s["nullable"] == true || s["x-nullable"] == true {
		nullable(s)
	}
	delete(s, "nullable")
	delete(s, "x-nullable")
	if example, ok := s["example"]; ok {
		s["examples"] = list{example}
		delete(s, "example")
	}
	onItems(s)
}

// sayDefaults tells the default of a property in words. Generators of clients take
// one in the schema to mean that the property is always there.
func sayDefaults(s object) {
	properties, _ := s["properties"].(object)
	for _, p := range properties {
		property := p.(object)
		value, ok := property["default"]
		if !ok {
			continue
		}
		delete(property, "default")
		if text, _ := property["description"].(string); !strings.Contains(text, "by default") {
			property["description"] = fmt.Sprintf("%s When left out: %v.", text, value)
		}
	}
}

// nullable lets null through.
func nullable(s object) {
	if ref := refOf(s); ref != "" {
		delete(s, "$ref")
		s["anyOf"] = list{object{"$ref": ref}, object{"type": "null"}}
		return
	}
	s["type"] = list{s["type"], "null"}
	if words, ok := s["enum"].(list); ok {
		s["enum"] = append(words, nil)
	}
}

// onItems moves to an array's items what swag says of the array and means of
// them.
func onItems(s object) {
	items, ok := s["items"].(object)
	if s["type"] != "array" || !ok {
		return
	}
	for _, name := range []string{"format", "enum", "minLength", "maxLength", "pattern"} {
		if value, found := s[name]; found {
			items[name] = value
			delete(s, name)
		}
	}
}

// closeRequests refuses unknown members in everything that can be sent, as
// the service does.
func closeRequests(doc object) {
	schemas := doc["components"].(object)["schemas"].(object)
	seen := map[string]bool{}
	var follow func(node any)
	follow = func(node any) {
		for _, ref := range refsIn(withoutReadOnly(node)) {
			name, isSchema := strings.CutPrefix(ref, "#/components/schemas/")
			if !isSchema || seen[name] {
				continue
			}
			seen[name] = true
			schema := schemas[name].(object)
			if schema["properties"] != nil && schema["additionalProperties"] == nil {
				schema["additionalProperties"] = false
			}
			follow(schema)
		}
	}
	for _, op := range operations(doc) {
		follow(op.value["requestBody"])
	}
}

// withoutReadOnly gives a piece of the description without what only answers have.
func withoutReadOnly(node any) any {
	switch n := node.(type) {
	case list:
		var all list
		for _, child := range n {
			all = append(all, withoutReadOnly(child))
		}
		return all
	case object:
		all := object{}
		for name, child := range n {
			if c, ok := child.(object); !ok || c["readOnly"] != true {
				all[name] = withoutReadOnly(child)
			}
		}
		return all
	}
	return node
}

// refsIn lists the references in a piece of the description.
func refsIn(node any) (refs []string) {
	switch n := node.(type) {
	case list:
		for _, child := range n {
			refs = append(refs, refsIn(child)...)
		}
	case object:
		if ref := refOf(n); ref != "" {
			refs = append(refs, ref)
		}
		for _, child := range n {
			refs = append(refs, refsIn(child)...)
		}
	}
	return refs
}

// dropUnused removes components that nothing refers to.
func dropUnused(doc object) {
	components := doc["components"].(object)
	for {
		used := map[string]bool{}
		for _, ref := range refsIn(doc) {
			used[ref] = true
		}
		dropped := false
		for _, kind := range []string{"schemas", "responses", "headers"} {
			group := components[kind].(object)
			for name := range group {
				if !used["#/components/"+kind+"/"+name] {
					delete(group, name)
					dropped = true
				}
			}
		}
		if !dropped {
			return
		}
	}
}
