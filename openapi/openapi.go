// Package openapi holds the description of the service's API and the schema of
// a programme document, as they are served.
package openapi

import _ "embed"

//go:generate go run ./generate

// JSON is the OpenAPI 3.1 description, made from the comments in package api.
//
//go:embed openapi.json
var JSON []byte

// ProgrammeSchema is the JSON Schema of a programme document.
//
//go:embed programme.schema.json
var ProgrammeSchema []byte
