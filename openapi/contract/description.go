package contract

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// description is the OpenAPI document, made ready for checking. Bodies are
// checked by schemas compiled once, everything else by kin-openapi.
type description struct {
	spec       *openapi3.T
	operations []*operation
	problem    *jsonschema.Schema
}

// operation is one operation with its compiled schemas.
type operation struct {
	routers.Route
	segments []string
	// requests are by media type, responses by status and media type. A nil
	// schema takes anything.
	requests  map[string]*jsonschema.Schema
	responses map[string]*jsonschema.Schema
}

// read makes a description of a document.
func read(document []byte) (*description, error) {
	spec, err := openapi3.NewLoader().LoadFromData(document)
	if err != nil {
		return nil, err
	}
	c, err := newCompiler(document)
	if err != nil {
		return nil, err
	}
	d := &description{spec: spec}
	for _, path := range spec.Paths.InMatchingOrder() {
		item := spec.Paths.Value(path)
		for _, method := range slices.Sorted(maps.Keys(item.Operations())) {
			o := &operation{
				Route:    routers.Route{Spec: spec, Path: path, PathItem: item, Method: method, Operation: item.GetOperation(method)},
				segments: strings.Split(path, "/"),
			}
			if err := o.compile(c); err != nil {
				return nil, fmt.Errorf("%s %s: %w", method, path, err)
			}
			d.operations = append(d.operations, o)
		}
	}
	d.problem, err = c.Compile(resource + "#/components/schemas/Problem")
	return d, err
}

// compiler compiles the document's schemas.
type compiler struct {
	*jsonschema.Compiler
	inline map[string]any
}

const resource = "openapi.json"

func newCompiler(document []byte) (*compiler, error) {
	var doc map[string]any
	if err := json.Unmarshal(document, &doc); err != nil {
		return nil, err
	}
	// The service may add members to answers later; today it must not.
	schemas := doc["components"].(map[string]any)["schemas"].(map[string]any)
	for _, s := range schemas {
		closeObjects(s)
	}
	c := &compiler{jsonschema.NewCompiler(), map[string]any{}}
	doc["x-inline"] = c.inline
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	return c, c.AddResource(resource, doc)
}

// closeObjects refuses members that a schema does not name.
func closeObjects(node any) {
	switch n := node.(type) {
	case []any:
		for _, child := range n {
			closeObjects(child)
		}
	case map[string]any:
		for _, child := range n {
			closeObjects(child)
		}
		if _, named := n["properties"].(map[string]any); named && n["additionalProperties"] == nil {
			n["additionalProperties"] = false
		}
	}
}

// schema compiles a schema of the document, wherever it stands.
func (c *compiler) schema(ref *openapi3.SchemaRef) (*jsonschema.Schema, error) {
	if ref == nil {
		return nil, nil
	}
	if strings.HasPrefix(ref.Ref, "#/") {
		return c.Compile(resource + ref.Ref)
	}
	text, err := ref.MarshalJSON()
	if err != nil {
		return nil, err
	}
	var node any
	if err := json.Unmarshal(text, &node); err != nil {
		return nil, err
	}
	name := strconv.Itoa(len(c.inline))
	c.inline[name] = node
	return c.Compile(resource + "#/x-inline/" + name)
}

func (o *operation) compile(c *compiler) (err error) {
	o.requests, o.responses = map[string]*jsonschema.Schema{}, map[string]*jsonschema.Schema{}
	if body := o.Operation.RequestBody; body != nil {
		for media, content := range body.Value.Content {
			if o.requests[media], err = c.schema(content.Schema); err != nil {
				return err
			}
		}
	}
	for status, response := range o.Operation.Responses.Map() {
		for media, content := range response.Value.Content {
			if o.responses[status+" "+media], err = c.schema(content.Schema); err != nil {
				return err
			}
		}
	}
	return nil
}

// successes lists what the description promises, as Seen names it.
func (d *description) successes() (keys []string) {
	for _, o := range d.operations {
		for status := range o.Operation.Responses.Map() {
			if strings.HasPrefix(status, "2") {
				keys = append(keys, o.Operation.OperationID+" "+status)
			}
		}
	}
	slices.Sort(keys)
	return keys
}

// find gives the operation of a method and a path, and what stands for its
// parameters; nil when there is none.
func (d *description) find(method, path string) (*operation, map[string]string) {
	segments := strings.Split(path, "/")
	for _, o := range d.operations {
		if o.Method != method || len(o.segments) != len(segments) {
			continue
		}
		if params, ok := match(o.segments, segments); ok {
			return o, params
		}
	}
	return nil, nil
}

func match(template, segments []string) (map[string]string, bool) {
	params := map[string]string{}
	for i, s := range template {
		name, isParam := strings.CutPrefix(s, "{")
		switch {
		case isParam && segments[i] != "":
			params[strings.TrimSuffix(name, "}")] = segments[i]
		case s != segments[i]:
			return nil, false
		}
	}
	return params, true
}

// options check parameters and leave bodies to the compiled schemas.
var options = &openapi3filter.Options{
	ExcludeRequestBody: true, ExcludeResponseBody: true, IncludeResponseStatus: true,
	SkipSettingDefaults: true, AuthenticationFunc: openapi3filter.NoopAuthenticationFunc,
}
