// Package describe makes the OpenAPI description of the service out of the
// comments and types in package api: comments to Swagger 2.0 (swag), that to OpenAPI 3.0
// (kin-openapi), and that to the OpenAPI 3.1 which is served, with what neither
// step can say put in.
package describe

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"path/filepath"

	"github.com/getkin/kin-openapi/openapi2"
	"github.com/getkin/kin-openapi/openapi2conv"
	"github.com/swaggo/swag"

	"fringework/api"
)

// Generate reads the comments of the module at root and gives the description
// as indented JSON. The same comments always give the same bytes.
func Generate(root string) ([]byte, error) {
	swagger, err := parse(root)
	if err != nil {
		return nil, err
	}
	var v2 openapi2.T
	if err := json.Unmarshal(swagger, &v2); err != nil {
		return nil, fmt.Errorf("describe: reading Swagger 2.0: %w", err)
	}
	v3, err := openapi2conv.ToV3(&v2)
	if err != nil {
		return nil, fmt.Errorf("describe: converting to OpenAPI 3: %w", err)
	}
	text, err := json.Marshal(v3)
	if err != nil {
		return nil, err
	}
	var doc object
	if err := json.Unmarshal(text, &doc); err != nil {
		return nil, err
	}
	if err := nameWords(doc); err != nil {
		return nil, err
	}
	source, err := readSource(root)
	if err != nil {
		return nil, err
	}
	words, err := readVocabulary(root)
	if err != nil {
		return nil, err
	}
	words.enumerate(doc)
	if err := nameCalculations(doc, source); err != nil {
		return nil, err
	}
	describeAll(doc, source)
	boundLists(doc, source)
	if err := acceptReadBack(doc); err != nil {
		return nil, err
	}
	routes := api.New(api.Config{}).Routes()
	if err := sayWhoMay(doc, routes); err != nil {
		return nil, err
	}
	finish(doc)
	if err := illustrate(doc); err != nil {
		return nil, err
	}
	if err := Deprecate(doc, routes); err != nil {
		return nil, err
	}
	return write(doc)
}

// parse reads the comments into Swagger 2.0.
func parse(root string) ([]byte, error) {
	p := swag.New(swag.SetDebugger(log.New(io.Discard, "", 0)), swag.SetStrict(true))
	dirs := []string{filepath.Join(root, "api"), filepath.Join(root, "domain")}
	if err := p.ParseAPIMultiSearchDir(dirs, "server.go", 0); err != nil {
		return nil, fmt.Errorf("describe: reading the comments: %w", err)
	}
	return json.Marshal(p.GetSwagger())
}

// write is JSON with sorted names, two spaces and a line end.
func write(doc object) ([]byte, error) {
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(doc)
	return out.Bytes(), err
}
