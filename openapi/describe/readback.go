package describe

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// acceptReadBack lets what PUT replaces be sent as GET gave it: the members that
// only the answer has may be there, and are ignored. A schema that is sent elsewhere
// as well, or answered, is left alone, and its copy gets them.
func acceptReadBack(doc object) error {
	schemas := doc["components"].(object)["schemas"].(object)
	for path, item := range doc["paths"].(object) {
		get, put := item.(object)["get"], item.(object)["put"]
		if get == nil || put == nil {
			continue
		}
		read := get.(object)["responses"].(object)["200"].(object)["content"].(object)[jsonType].(object)
		sent := put.(object)["requestBody"].(object)["content"].(object)[jsonType].(object)
		name := strings.TrimPrefix(refOf(sent["schema"]), "#/components/schemas/")
		answer, isAnswer := schemas[strings.TrimPrefix(refOf(read["schema"]), "#/components/schemas/")].(object)
		request, isRequest := schemas[name].(object)
		if !isAnswer || !isRequest {
			return fmt.Errorf("describe: %s is read or replaced by something without a name", path)
		}
		copied, err := clone(request)
		if err != nil {
			return err
		}
		if err := addRead(copied, answer, refOf(sent["schema"])); err != nil {
			return err
		}
		if uses(doc, refOf(sent["schema"])) > 1 {
			text := copied["description"].(string)
			copied["description"] = strings.Replace(text, name, putName(name), 1)
			name = putName(name)
			sent["schema"] = object{"$ref": "#/components/schemas/" + name}
		}
		schemas[name] = copied
	}
	return nil
}

// putName turns GroupRequest into GroupPut.
func putName(name string) string {
	for _, end := range []string{"Request", "Content", "Body"} {
		name = strings.TrimSuffix(name, end)
	}
	return name + "Put"
}

// addRead gives a request the members that only its answer has.
func addRead(request, answer object, content string) error {
	properties := request["properties"].(object)
	for _, name := range slices.Sorted(maps.Keys(answer["properties"].(object))) {
		if properties[name] != nil {
			continue
		}
		member, err := clone(answer["properties"].(object)[name])
		if err != nil {
			return err
		}
		properties[name] = member
		if refOf(member) == content {
			member["description"] = "The content as it was read. It stands in place of the members beside it."
			delete(request, "required")
			continue
		}
		member["readOnly"] = true
	}
	request["description"] = request["description"].(string) + " What was read can be sent back: members that only the service writes are ignored."
	return nil
}

// uses counts the references to a component.
func uses(doc object, ref string) (n int) {
	for _, other := range refsIn(doc) {
		if other == ref {
			n++
		}
	}
	return n
}
