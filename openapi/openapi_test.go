package openapi_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"fringework/api"
	"fringework/api/calc"
	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/streak"
	"fringework/domain/webhook"
	"fringework/openapi"
	"fringework/openapi/describe"
)

// TestIsCurrent fails when the comments in package api say something else than
// the description that is checked in.
func TestIsCurrent(t *testing.T) {
	got, err := describe.Generate("..")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, openapi.JSON) {
		t.Errorf("openapi.json is not what the comments say; run: go generate ./openapi\n%s",
			firstDifference(openapi.JSON, got))
	}
}

// TestIsDeterministic generates twice: maps must not show in the order.
func TestIsDeterministic(t *testing.T) {
	first, err := describe.Generate("..")
	if err != nil {
		t.Fatal(err)
	}
	second, err := describe.Generate("..")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first, second) {
		t.Errorf("two generations differ:\n%s", firstDifference(first, second))
	}
}

func firstDifference(a, b []byte) string {
	left, right := strings.Split(string(a), "\n"), strings.Split(string(b), "\n")
	for i := range min(len(left), len(right)) {
		if left[i] != right[i] {
			return fmt.Sprintf("line %d: %s\n    now: %s", i+1, left[i], right[i])
		}
	}
	return fmt.Sprintf("%d lines and %d", len(left), len(right))
}

func document(t *testing.T) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromData(openapi.JSON)
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// TestIsOpenAPI holds the document to the specification's own rules, as
// kin-openapi knows them.
func TestIsOpenAPI(t *testing.T) {
	doc := document(t)
	if err := doc.Validate(context.Background()); err != nil {
		t.Error(err)
	}
	if !doc.IsOpenAPI31OrLater() {
		t.Errorf("openapi is %q; want 3.1 or later", doc.OpenAPI)
	}
}

// described is one operation of the description.
type described struct {
	method, path string
	*openapi3.Operation
}

func (d described) String() string { return d.method + " " + d.path }

func operations(t *testing.T) (all []described) {
	t.Helper()
	paths := document(t).Paths
	for _, path := range paths.InMatchingOrder() {
		for method, op := range paths.Value(path).Operations() {
			all = append(all, described{method, path, op})
		}
	}
	return all
}

// routes is the server's own table, in which the route that the calculations
// share is one for each of them.
func routes() (all []api.Route) {
	for _, r := range api.New(api.Config{}).Routes() {
		if !strings.HasSuffix(r.Path, "/calc/{name}") {
			all = append(all, r)
			continue
		}
		for _, name := range calc.Names() {
			each := r
			each.Path = strings.Replace(r.Path, "{name}", name, 1)
			all = append(all, each)
		}
	}
	return all
}

func TestOperationsAreTheRoutes(t *testing.T) {
	var served, inDocument []string
	for _, r := range routes() {
		served = append(served, r.Method+" "+r.Path)
	}
	for _, op := range operations(t) {
		inDocument = append(inDocument, op.String())
	}
	slices.Sort(served)
	slices.Sort(inDocument)
	if diff := cmp.Diff(served, inDocument); diff != "" {
		t.Errorf("routes (-) and described operations (+) differ:\n%s", diff)
	}
}

// TestSecurity holds the description of who may come in to the route table.
func TestSecurity(t *testing.T) {
	public := map[string]bool{}
	for _, r := range routes() {
		public[r.Method+" "+r.Path] = r.Public
	}
	for _, op := range operations(t) {
		if op.Security == nil {
			t.Errorf("%s: security is not described; want [] where everybody may come in", op)
			continue
		}
		open := len(*op.Security) == 0 || slices.ContainsFunc(*op.Security, func(r openapi3.SecurityRequirement) bool { return len(r) == 0 })
		if open != public[op.String()] {
			t.Errorf("%s: described as open to everybody: %v; the route says %v", op, open, public[op.String()])
		}
		if !open && op.Responses.Status(401) == nil || !open && op.Responses.Status(403) == nil {
			t.Errorf("%s: 401 or 403 is not described", op)
		}
	}
}

// TestStyle is what linters of descriptions ask for.
func TestStyle(t *testing.T) {
	doc := document(t)
	ids := map[string]described{}
	camel := regexp.MustCompile(`^[a-z][a-zA-Z]*$`)
	for _, op := range operations(t) {
		if other, taken := ids[op.OperationID]; taken {
			t.Errorf("%s and %s: both are %q", op, other, op.OperationID)
		}
		ids[op.OperationID] = op
		if !camel.MatchString(op.OperationID) {
			t.Errorf("%s: operationId %q is not camelCase", op, op.OperationID)
		}
		if op.Summary == "" || strings.HasSuffix(op.Summary, ".") || len(op.Summary) > 80 {
			t.Errorf("%s: summary %q; want up to 80 characters without a full stop", op, op.Summary)
		}
		if len(op.Tags) != 1 {
			t.Errorf("%s: tags %q; want one", op, op.Tags)
			continue
		}
		if tag := doc.Tags.Get(op.Tags[0]); tag == nil || tag.Description == "" {
			t.Errorf("%s: tag %s has no description", op, op.Tags[0])
		}
		styleOfPath(t, op)
		styleOfParameters(t, op)
		styleOfResponses(t, op)
	}
}

func styleOfPath(t *testing.T, op described) {
	segment := regexp.MustCompile(`^([a-z]+(-[a-z]+)*|\{[a-z]+(_[a-z]+)*\}|[a-z]+(\.[a-z]+)+)$`)
	for s := range strings.SplitSeq(strings.TrimPrefix(op.path, "/"), "/") {
		if !segment.MatchString(s) && s != "v1" && s != ".well-known" { // RFC 8615
			t.Errorf("%s: %q is neither kebab-case nor a {snake_case} parameter", op, s)
		}
	}
}

func styleOfParameters(t *testing.T, op described) {
	inPath := regexp.MustCompile(`\{(\w+)\}`).FindAllStringSubmatch(op.path, -1)
	for _, m := range inPath {
		p := op.Parameters.GetByInAndName("path", m[1])
		if p == nil || !p.Required {
			t.Errorf("%s: path parameter %s is not described as required", op, m[1])
		} else if strings.HasSuffix(m[1], "_id") && p.Schema.Value.Format != "uuid" {
			t.Errorf("%s: path parameter %s has format %q; want uuid", op, m[1], p.Schema.Value.Format)
		}
	}
	snake := regexp.MustCompile(`^[a-z]+(_[a-z]+)*$`)
	for _, ref := range op.Parameters {
		p := ref.Value
		if p.Description == "" {
			t.Errorf("%s: parameter %s has no description", op, p.Name)
		}
		if p.In == "query" && !snake.MatchString(p.Name) {
			t.Errorf("%s: query parameter %s is not snake_case", op, p.Name)
		}
		if p.In == "path" && !strings.Contains(op.path, "{"+p.Name+"}") {
			t.Errorf("%s: path parameter %s is not in the path", op, p.Name)
		}
	}
}

func styleOfResponses(t *testing.T, op described) {
	success := 0
	for status, ref := range op.Responses.Map() {
		r := ref.Value
		if strings.HasPrefix(status, "2") {
			success++
		}
		if r.Description == nil || *r.Description == "" {
			t.Errorf("%s: %s has no description", op, status)
		}
		for media, content := range r.Content {
			if content.Schema == nil {
				t.Errorf("%s: %s %s has no schema", op, status, media)
			}
		}
		problem := r.Content["application/problem+json"] != nil
		if failed := status >= "400"; failed != problem && r.Content["application/json"] == nil {
			t.Errorf("%s: %s is a problem document: %v; want %v", op, status, problem, failed)
		}
	}
	if success == 0 {
		t.Errorf("%s: no success is described", op)
	}
	if strings.Contains(op.path, "{") && op.Responses.Status(404) == nil {
		t.Errorf("%s: 404 is not described", op)
	}
	if op.RequestBody != nil && op.Responses.Status(413) == nil {
		t.Errorf("%s: 413 is not described", op)
	}
	if op.RequestBody != nil && op.RequestBody.Value.Content["application/x-www-form-urlencoded"] == nil && op.Responses.Status(415) == nil {
		t.Errorf("%s: 415 is not described", op)
	}
}

// schemas walks every schema there is, with where it stands.
func schemas(node any, at string, visit func(at string, schema map[string]any)) {
	switch n := node.(type) {
	case []any:
		for i, child := range n {
			schemas(child, fmt.Sprintf("%s/%d", at, i), visit)
		}
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(n)) {
			if name != "examples" && name != "default" && name != "enum" {
				schemas(n[name], at+"/"+strings.NewReplacer("~", "~0", "/", "~1").Replace(name), visit)
			}
		}
		_, typed := n["type"].(string)
		_, referred := n["$ref"].(string)
		if typed || referred {
			visit(at, n)
		}
	}
}

func TestExamplesAreValid(t *testing.T) {
	var doc map[string]any
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("openapi.json", doc); err != nil {
		t.Fatal(err)
	}
	checked := 0
	schemas(doc, "", func(at string, schema map[string]any) {
		examples, _ := schema["examples"].([]any)
		if value, ok := schema["default"]; ok {
			examples = append(examples, value)
		}
		if len(examples) == 0 {
			return
		}
		compiled, err := c.Compile("openapi.json#" + strings.NewReplacer("{", "%7B", "}", "%7D").Replace(at))
		if err != nil {
			t.Errorf("%s: %v", at, err)
			return
		}
		for _, example := range examples {
			checked++
			if err := compiled.Validate(example); err != nil {
				t.Errorf("%s: example %v: %v", at, example, err)
			}
		}
	})
	if checked < 50 {
		t.Errorf("%d examples were checked; want 50 at least", checked)
	}
}

// TestBodiesHaveExamples: every JSON body that is sent or answered has an example,
// which is valid.
func TestBodiesHaveExamples(t *testing.T) {
	doc := decoded(t)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("openapi.json", doc); err != nil {
		t.Fatal(err)
	}
	check := func(at string, content any) {
		for media, value := range members(content) {
			if media != "application/json" && !strings.HasSuffix(media, "+json") || members(members(value)["schema"])["additionalProperties"] == true {
				continue // a stream, or a description of its own
			}
			example, ok := members(value)["example"]
			if !ok {
				t.Errorf("%s has no example; give the operation a row in integration/access_rows_test.go or, if it needs no token, "+
					"a line in openOperations of integration/examples_test.go, then: go test ./integration -run TestExamples -record && go generate ./openapi", at)
				continue
			}
			ref, _ := members(members(value)["schema"])["$ref"].(string)
			schema, err := c.Compile("openapi.json" + ref)
			if err != nil {
				t.Errorf("%s: %v", at, err)
			} else if err := schema.Validate(example); err != nil {
				t.Errorf("%s: %v", at, err)
			}
		}
	}
	for path, item := range members(doc["paths"]) {
		for method, op := range members(item) {
			at := strings.ToUpper(method) + " " + path
			check(at+": the body", members(members(op)["requestBody"])["content"])
			for status, response := range members(members(op)["responses"]) {
				if status < "300" {
					check(at+": "+status, members(response)["content"])
				}
			}
		}
	}
	for name, response := range members(members(doc["components"])["responses"]) {
		content := members(members(response)["content"])
		if members(content["application/problem+json"])["example"] != nil {
			check(name, content)
		}
	}
}

// TestPropertiesAreSnakeCase holds every property of every body to the one
// style of names.
func TestPropertiesAreSnakeCase(t *testing.T) {
	snake := regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	number := regexp.MustCompile(`^[0-9.]+$`) // a probability or a length that a value belongs to
	for name, schema := range document(t).Components.Schemas {
		for property := range schema.Value.Properties {
			if !snake.MatchString(property) && !number.MatchString(property) {
				t.Errorf("%s: property %q is not snake_case", name, property)
			}
		}
	}
}

// TestRequestsAreClosed: the service refuses unknown members, so must the
// description.
func TestRequestsAreClosed(t *testing.T) {
	for _, op := range operations(t) {
		if op.RequestBody == nil {
			continue
		}
		schema := op.RequestBody.Value.Content["application/json"]
		if schema == nil {
			continue
		}
		if extra := schema.Schema.Value.AdditionalProperties; extra.Has == nil || *extra.Has {
			t.Errorf("%s: the body may have any members; want additionalProperties: false", op)
		}
	}
}

// TestListsAreBounded: what swag leaves out of arrays is put in.
func TestListsAreBounded(t *testing.T) {
	tiers := document(t).Components.Schemas["Ladder"].Value.Properties["tiers"].Value
	if tiers.MinItems != 1 || tiers.MaxItems == nil || *tiers.MaxItems != 12 {
		t.Errorf("a ladder has %d to %v tiers; want 1 to 12", tiers.MinItems, tiers.MaxItems)
	}
}

// alike reports whether words are one of some lists.
func alike(words []string, lists map[string][]string) bool {
	for _, list := range lists {
		if slices.Equal(words, list) {
			return true
		}
	}
	return false
}

// TestWordsAreTheDomains: whatever names one word of a list that the domain
// declares names them all, in the same order; of the roles some may be left out.
func TestWordsAreTheDomains(t *testing.T) {
	lists := map[string][]string{
		"surfaces": texts(curriculum.Surfaces()), "versions of a plan": texts(curriculum.Variants()), "purposes of a test": texts(curriculum.Purposes()),
		"block kinds": texts(curriculum.BlockKinds()), "outcomes": texts(streak.Outcomes()), "reasons": texts(advice.Reasons()),
		"roles": texts(domain.Roles()), "skill kinds": texts(curriculum.SkillKinds()), "kinds of adjustment": texts(curriculum.AdjustmentKinds()),
		"moves": texts(advice.Moves()), "how a match stands": texts(practice.MatchStandings()), "ways to miss": texts(practice.Misses()), "contacts": texts(practice.Contacts()), "hands": texts(greenside.Hands()), "lies": texts(greenside.StruckLies()), "lies, the green too": texts(greenside.Lies()), "what a chance is of": texts(advice.Measures()),
		"webhooks' kinds of events": webhook.Kinds(), "reasons why a webhook is off": texts(webhook.Reasons()), "states of a delivery": texts(webhook.States()),
	}
	for name, text := range map[string][]byte{"openapi.json": openapi.JSON, "programme.schema.json": openapi.ProgrammeSchema} {
		var doc any
		if err := json.Unmarshal(text, &doc); err != nil {
			t.Fatal(err)
		}
		found := map[string]int{}
		enums(doc, "", func(at string, words []string) {
			for list, want := range lists {
				if strings.HasSuffix(at, "/code") || strings.HasSuffix(at, "/Event/properties/kind") || !slices.ContainsFunc(words, func(w string) bool { return slices.Contains(want, w) }) {
					continue
				}
				if alike(words, lists) && !slices.Equal(words, want) {
					continue // left is a hand, and a way to miss
				}
				found[list]++
				if list == "roles" {
					if len(words) < len(want) {
						want = slices.DeleteFunc(slices.Clone(want), func(w string) bool { return !slices.Contains(words, w) })
					}
				}
				if !slices.Equal(words, want) {
					t.Errorf("%s%s has %v, want the %s %v", name, at, words, list, want)
				}
			}
		})
		for list := range lists {
			if found[list] == 0 && (name == "openapi.json" || strings.HasSuffix(list, "kinds")) {
				t.Errorf("%s never names the %s", name, list)
			}
		}
	}
}

// enums calls fn on every list of words in a document, with its JSON pointer.
func enums(node any, at string, fn func(at string, words []string)) {
	switch n := node.(type) {
	case []any:
		for i, child := range n {
			enums(child, fmt.Sprintf("%s/%d", at, i), fn)
		}
	case map[string]any:
		for name, child := range n {
			if words, ok := child.([]any); ok && name == "enum" {
				fn(at, texts(words))
			}
			enums(child, at+"/"+name, fn)
		}
	}
}

func texts[W any](all []W) (out []string) {
	for _, w := range all {
		out = append(out, fmt.Sprint(w))
	}
	return out
}

// TestBoundsAreTheDomains: what the description and the schema bound is bounded
// as the domain bounds it.
func TestBoundsAreTheDomains(t *testing.T) {
	kinds := len(curriculum.BlockKinds())
	for name, c := range map[string]struct {
		text   []byte
		bounds map[string]float64
	}{
		"openapi.json": {openapi.JSON, map[string]float64{
			"components/schemas/Programme*/properties/weeks/maxItems":     curriculum.MaxWeeks,
			"components/schemas/Programme*/properties/limits/maxItems":    float64(kinds),
			"components/schemas/Programme*/properties/name/maxLength":     curriculum.MaxName,
			"components/schemas/Programme*/properties/text/maxLength":     curriculum.MaxText,
			"components/schemas/*Week/properties/plans/maxItems":          curriculum.MaxPlans,
			"components/schemas/*Week/properties/title/maxLength":         curriculum.MaxName,
			"components/schemas/*Plan/properties/blocks/maxItems":         curriculum.MaxBlocks,
			"components/schemas/*Plan/properties/minutes/minimum":         curriculum.MinMinutes,
			"components/schemas/*Plan/properties/minutes/maximum":         curriculum.MaxMinutes,
			"components/schemas/*Plan/properties/times/maximum":           curriculum.MaxTimes,
			"components/schemas/*Plan/properties/name/maxLength":          curriculum.MaxName,
			"components/schemas/*Drill/properties/lies/maxItems":          curriculum.MaxChoices,
			"components/schemas/*Drill/properties/clubs/maxItems":         curriculum.MaxChoices,
			"components/schemas/*Drill/properties/distances*/maxItems":    curriculum.MaxChoices,
			"components/schemas/*Drill/properties/text/maxLength":         curriculum.MaxText,
			"components/schemas/Drill/properties/radius_m/maximum":        streak.MaxRadius.Metres(),
			"components/schemas/*Ladder/properties/tiers/maxItems":        streak.MaxTiers,
			"components/schemas/*Tier/properties/run/maximum":             streak.MaxRun,
			"components/schemas/*Tier/properties/holed/maximum":           streak.MaxRun,
			"components/schemas/Tier/properties/radius_m/minimum":         streak.MinRadius.Metres(),
			"components/schemas/Tier/properties/radius_m/maximum":         streak.MaxRadius.Metres(),
			"components/schemas/SessionBlock/properties/radius_m/minimum": streak.MinRadius.Metres(),
			"components/schemas/SessionBlock/properties/radius_m/maximum": streak.MaxRadius.Metres(),
			"components/schemas/Acknowledgement*/properties/days/maximum": advice.LongestSilence,
			"components/schemas/SkillRequest/properties/name/maxLength":   curriculum.MaxName,
			"components/schemas/SkillRequest/properties/text/maxLength":   curriculum.MaxText,
			"components/schemas/SkillRequest/properties/drills/maxItems":  float64(kinds),
			"components/schemas/DocumentSkill/properties/drills/maxItems": float64(kinds),
			"components/schemas/DocumentSkill/properties/name/maxLength":  curriculum.MaxName,
			"components/schemas/DocumentSkill/properties/text/maxLength":  curriculum.MaxText,
			"components/schemas/CloneRequest/properties/name/maxLength":   curriculum.MaxName,
		}},
		"programme.schema.json": {openapi.ProgrammeSchema, map[string]float64{
			"properties/limits/maxItems":                 float64(kinds),
			"properties/weeks/maxItems":                  curriculum.MaxWeeks,
			"$defs/name/maxLength":                       curriculum.MaxName,
			"$defs/title/maxLength":                      curriculum.MaxName,
			"$defs/text/maxLength":                       curriculum.MaxText,
			"$defs/choices/maxItems":                     curriculum.MaxChoices,
			"$defs/ladder/properties/tiers/maxItems":     streak.MaxTiers,
			"$defs/tier/properties/run/maximum":          streak.MaxRun,
			"$defs/tier/properties/holed/maximum":        streak.MaxRun,
			"$defs/week/properties/plans/maxItems":       curriculum.MaxPlans,
			"$defs/plan/properties/minutes/minimum":      curriculum.MinMinutes,
			"$defs/plan/properties/minutes/maximum":      curriculum.MaxMinutes,
			"$defs/plan/properties/times/maximum":        curriculum.MaxTimes,
			"$defs/plan/properties/blocks/maxItems":      curriculum.MaxBlocks,
			"$defs/*drill/properties/distances/maxItems": curriculum.MaxChoices,
			"$defs/skill/properties/drills/maxItems":     float64(kinds),
		}},
	} {
		var doc any
		if err := json.Unmarshal(c.text, &doc); err != nil {
			t.Fatal(err)
		}
		for pattern, want := range c.bounds {
			met := 0
			numbers(doc, "", func(at string, n float64) {
				if ok, err := path.Match(pattern, at); err != nil {
					t.Fatal(err)
				} else if !ok {
					return
				}
				met++
				if n != want {
					t.Errorf("%s: %s is %v, want %v", name, at, n, want)
				}
			})
			if met == 0 {
				t.Errorf("%s: nothing is bounded at %s", name, pattern)
			}
		}
	}
}

// numbers calls fn on every number in a document, with its place.
func numbers(node any, at string, fn func(at string, n float64)) {
	switch n := node.(type) {
	case float64:
		fn(at, n)
	case map[string]any:
		for name, child := range n {
			numbers(child, path.Join(at, name), fn)
		}
	}
}

// TestProgrammeSchema compiles the schema of a programme document.
func TestProgrammeSchema(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(openapi.ProgrammeSchema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("programme.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Compile("programme.schema.json"); err != nil {
		t.Error(err)
	}
}
