package openapi_test

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"

	"fringework/openapi"
)

// decoded is the description as plain JSON.
func decoded(t *testing.T) map[string]any {
	t.Helper()
	var doc map[string]any
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

// members gives an object's members, none for what is no object.
func members(node any) map[string]any {
	n, _ := node.(map[string]any)
	return n
}

// TestEverythingIsDescribed says of everything without words where to write them.
func TestEverythingIsDescribed(t *testing.T) {
	schemas := members(members(decoded(t)["components"])["schemas"])
	for _, name := range slices.Sorted(maps.Keys(schemas)) {
		schema := members(schemas[name])
		if schema["description"] == nil {
			t.Errorf("the schema %s has no description; write a comment on its Go type: // %s is ...", name, name)
		}
		for property, value := range members(schema["properties"]) {
			if text, _ := members(value)["description"].(string); text == "" {
				t.Errorf("%s.%s has no description; write a comment on the Go field (// Field is ...) or, if the name means the same everywhere, "+
					"a line for %q in openapi/describe/meanings.go; then run: go generate ./openapi", name, property, property)
			}
		}
	}
	for _, op := range operations(t) {
		if op.Description == "" {
			t.Errorf("%s has no description; begin the handler's comment with a sentence about it (// %s does ...), or add an @Description line; "+
				"then run: go generate ./openapi", op, op.OperationID)
		}
	}
}

// TestDescriptionsRead holds every description to the form of sentences.
func TestDescriptionsRead(t *testing.T) {
	visit := func(at string, node map[string]any) {
		text, ok := node["description"].(string)
		if ok && (text != strings.TrimSpace(text) || text == "" || strings.Contains(text, "  ")) {
			t.Errorf("%s: the description %q is empty or has spaces too many", at, text)
		}
	}
	schemas(decoded(t), "", visit)
}

// TestClientErrorsAreDescribed: whoever asks can do something wrong, except where
// there is nothing to say.
func TestClientErrorsAreDescribed(t *testing.T) {
	for _, op := range operations(t) {
		wrong := 0
		for status := range op.Responses.Map() {
			if status >= "400" && status < "500" {
				wrong++
			}
		}
		if wrong == 0 {
			t.Errorf("%s: no answer of 400 to 499 is described", op)
		}
	}
}

// TestEverythingIsUsed: no tag and no component stands there for nothing, and none
// is missing.
func TestEverythingIsUsed(t *testing.T) {
	doc := decoded(t)
	used := map[string]bool{}
	references(doc, used)
	for kind, group := range members(doc["components"]) {
		if kind == "securitySchemes" {
			continue // referred to by name
		}
		for name := range members(group) {
			if at := "#/components/" + kind + "/" + name; !used[at] {
				t.Errorf("nothing refers to %s", at)
			}
		}
	}
	schemes, tags := map[string]bool{}, map[string]bool{}
	for _, op := range operations(t) {
		for _, requirement := range *op.Security {
			for name := range requirement {
				schemes[name] = true
			}
		}
		for _, tag := range op.Tags {
			tags[tag] = true
		}
	}
	for name := range members(members(doc["components"])["securitySchemes"]) {
		if !schemes[name] {
			t.Errorf("no operation uses the security scheme %s", name)
		}
	}
	for _, tag := range document(t).Tags {
		if !tags[tag.Name] {
			t.Errorf("no operation has the tag %s", tag.Name)
		}
	}
	info := members(doc["info"])
	if info["license"] == nil || info["contact"] == nil || len(doc["servers"].([]any)) == 0 {
		t.Error("the licence, the contact or the server is missing")
	}
}

// references notes every $ref.
func references(node any, used map[string]bool) {
	switch n := node.(type) {
	case []any:
		for _, child := range n {
			references(child, used)
		}
	case map[string]any:
		if ref, ok := n["$ref"].(string); ok {
			used[ref] = true
		}
		for _, child := range n {
			references(child, used)
		}
	}
}

// TestAnswersAreOpen: what is only answered may gain members, so a client that was
// made from the description must not refuse them.
func TestAnswersAreOpen(t *testing.T) {
	doc := decoded(t)
	sent := map[string]bool{}
	for _, path := range members(doc["paths"]) {
		for _, op := range members(path) {
			reach(doc, members(op)["requestBody"], sent)
		}
	}
	for name, schema := range members(members(doc["components"])["schemas"]) {
		if members(schema)["additionalProperties"] == false && !sent["#/components/schemas/"+name] {
			t.Errorf("%s is only answered, and closed to what may come; want no additionalProperties: false", name)
		}
	}
}

// writable is a piece of the description without what is only answered.
func writable(node any) any {
	n, ok := node.(map[string]any)
	if !ok {
		return node
	}
	all := map[string]any{}
	for name, child := range n {
		if members(child)["readOnly"] != true {
			all[name] = writable(child)
		}
	}
	return all
}

// reach notes the schemas that can be reached from a node.
func reach(doc map[string]any, node any, seen map[string]bool) {
	direct := map[string]bool{}
	references(writable(node), direct)
	for ref := range direct {
		name, isSchema := strings.CutPrefix(ref, "#/components/schemas/")
		if isSchema && !seen[ref] {
			seen[ref] = true
			reach(doc, members(members(doc["components"])["schemas"])[name], seen)
		}
	}
}

// TestTextsHaveFormats: what is named as a time, a date, an identity, an e-mail or
// an address says that it has the form of one.
func TestTextsHaveFormats(t *testing.T) {
	loose := map[string]bool{
		"Invitee.email": true, "InviteResult.email": true, "SignInRequest.email": true, // as they were typed
		"Problem.request_id":         true,                                        // may be the caller's own
		"SkillBrief.technique_until": true, "SkillProgress.technique_until": true, // a moment, not a day
		"MessagesRead.up_to":       true,                                                                              // a message
		"Webhook.old_secret_until": true, "WebhookPut.old_secret_until": true, "WebhookSecret.old_secret_until": true, // a moment, not a day
		"WebhookDelivery.message_id": true, // with its prefix
	}
	forms := []struct{ ends, format string }{
		{"_at", "date-time"}, {"_date", "date"}, {"_until", "date"}, {"_from", "date"}, {"_id", "uuid"}, {"_ids", "uuid"}, {"email", "email"}, {"url", "uri"}, {"_url", "uri"},
	}
	for name, schema := range document(t).Components.Schemas {
		for property, ref := range schema.Value.Properties {
			value := ref.Value
			if value.Type.Is("array") {
				value = value.Items.Value
			}
			if !value.Type.Includes("string") || loose[name+"."+property] {
				continue
			}
			for _, form := range forms {
				if "_"+property == form.ends || strings.HasSuffix("_"+property, form.ends) {
					if value.Format != form.format {
						t.Errorf("%s.%s has format %q; want %q", name, property, value.Format, form.format)
					}
				}
			}
		}
	}
}

// TestWhoMayIsSaid: every operation that needs somebody says who, by the table of
// what roles and scopes may do.
func TestWhoMayIsSaid(t *testing.T) {
	ends := map[string]string{
		"GET /v1/dashboard":             "For owners and coaches. Scope of keys and apps: `progress:read`.",
		"GET /v1/me":                    "For every member, also before an academy is chosen. Not for keys or apps.",
		"PUT /v1/sessions/{session_id}": "For owners, coaches and students. Not for keys or apps.",
		"GET /v1/webhooks":              "For owners. Not for keys or apps.",
		"POST /v1/calc/split":           "For every member. Scope of keys and apps: `calc:use`.",
	}
	public := map[string]bool{}
	for _, r := range routes() {
		public[r.Method+" "+r.Path] = r.Public
	}
	seen := 0
	for _, op := range operations(t) {
		last := op.Description[strings.LastIndex(op.Description, "\n")+1:]
		if want, listed := ends[op.String()]; listed {
			seen++
			if last != want {
				t.Errorf("%s ends with %q, want %q", op, last, want)
			}
		}
		if said := strings.HasPrefix(last, "For ") && (strings.Contains(last, "keys or apps.") || strings.Contains(last, "keys and apps: `")); said == public[op.String()] {
			t.Errorf("%s ends with %q; who may call it is to be said where somebody must sign in, and only there", op, last)
		}
	}
	if seen != len(ends) {
		t.Errorf("%d of the %d operations are there", seen, len(ends))
	}
}
