package describe

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
)

// boundLists gives arrays the minItems and maxItems that the tags of their
// fields say, which swag leaves out.
func boundLists(root string, doc object) error {
	files, err := filepath.Glob(filepath.Join(root, "api", "*.go"))
	if err != nil {
		return err
	}
	schemas := doc["components"].(object)["schemas"].(object)
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			if s, ok := schemas[schemaName(spec)].(object); ok {
				boundFields(spec, s)
			}
			return false
		})
	}
	return nil
}

// schemaName is the name after @name in the comment behind a type.
func schemaName(spec *ast.TypeSpec) string {
	_, name, _ := strings.Cut(spec.Comment.Text(), "@name ")
	return strings.TrimSpace(name)
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
