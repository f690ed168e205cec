package describe

import (
	"go/ast"
	"reflect"
	"strconv"
	"strings"
)

// boundLists gives arrays the minItems and maxItems that the tags of their
// fields say, which swag leaves out.
func boundLists(doc object, s source) {
	schemas := doc["components"].(object)["schemas"].(object)
	for name, t := range s.schemas {
		if schema, ok := schemas[name].(object); ok {
			boundFields(t.spec, schema)
		}
	}
}

func boundFields(spec *ast.TypeSpec, schema object) {
	body, ok := spec.Type.(*ast.StructType)
	if !ok {
		return
	}
	properties, _ := schema["properties"].(object)
	for _, field := range body.Fields.List {
		if field.Tag == nil {
			continue
		}
		text, err := strconv.Unquote(field.Tag.Value)
		if err != nil {
			continue
		}
		tag := reflect.StructTag(text)
		name, _, _ := strings.Cut(tag.Get("json"), ",")
		property, ok := properties[name].(object)
		if !ok || property["type"] != "array" {
			continue
		}
		for _, bound := range []string{"minItems", "maxItems"} {
			if n, err := strconv.Atoi(tag.Get(bound)); err == nil {
				property[bound] = n
			}
		}
	}
}
