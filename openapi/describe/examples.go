package describe

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"fringework/api"
)

// Examples are requests and answers of the service, as a test recorded them.
type Examples struct {
	// Operations are by method and path, such as "GET /v1/me".
	Operations map[string]Example `json:"operations"`
	// Problems are by status.
	Problems map[string]any `json:"problems"`
}

// Example is one exchange. Of long lists only the first entries are there.
type Example struct {
	Request  any `json:"request,omitempty"`
	Response any `json:"response,omitempty"`
}

// recorded is written by go test ./integration -run TestExamples -record.
//
//go:embed examples.json
var recorded []byte

// RecordedExamples gives the examples that the description shows.
func RecordedExamples() (e Examples, err error) {
	err = json.Unmarshal(recorded, &e)
	return e, err
}

// illustrate puts the recorded examples into the description.
func illustrate(doc object) error {
	examples, err := RecordedExamples()
	if err != nil {
		return fmt.Errorf("describe: reading the examples: %w", err)
	}
	for _, op := range operations(doc) {
		example, ok := examples.Operations[strings.ToUpper(op.method)+" "+op.path]
		if !ok {
			continue
		}
		body, _ := op.value["requestBody"].(object)
		show(body["content"], example.Request)
		for status, answer := range op.value["responses"].(object) {
			if !strings.HasPrefix(status, "2") {
				continue
			}
			// What is made and what was there already look alike; what does not has an
			// example of its own.
			shown := example
			if own, ok := examples.Operations[strings.ToUpper(op.method)+" "+op.path+" "+status]; ok {
				shown = own
			}
			show(answer.(object)["content"], shown.Response)
		}
	}
	for _, p := range api.RareProblems() {
		value, err := clone(p)
		if err != nil {
			return fmt.Errorf("describe: showing %d: %w", p.Status, err)
		}
		examples.Problems[strconv.Itoa(p.Status)] = value
	}
	for _, response := range doc["components"].(object)["responses"].(object) {
		content := response.(object)["content"].(object)
		for _, problem := range examples.Problems {
			if value, ok := problem.(object); ok && response.(object)["description"] == value["title"] {
				show(content, value)
			}
		}
	}
	return nil
}

// show gives every media type of a body that is JSON, or a form, its example.
func show(content, value any) {
	types, _ := content.(object)
	if value == nil {
		return
	}
	for name, media := range types {
		if name == jsonType || strings.HasSuffix(name, "+json") || strings.HasSuffix(name, "urlencoded") {
			media.(object)["example"] = value
		}
	}
}
