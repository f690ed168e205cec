package describe

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
)

// source is what the Go code says of itself: the comments on types, on fields and
// on handlers, so that a description repeats none of them.
type source struct {
	// schemas has the comments on types by the name after @name; goTypes by
	// package and Go name, as in "calc.SplitOut".
	schemas, goTypes map[string]typeDoc
	// operations has the comments on handlers by their @ID.
	operations map[string]string
}

// typeDoc is the comment on a type and those on its fields, by their names in JSON.
type typeDoc struct {
	text     string
	fields   map[string]string
	embedded []string
	spec     *ast.TypeSpec
}

// readSource reads the comments of the packages that make the API.
func readSource(root string) (source, error) {
	s := source{schemas: map[string]typeDoc{}, goTypes: map[string]typeDoc{}, operations: map[string]string{}}
	for _, dir := range []string{"api", filepath.Join("api", "calc")} {
		files, err := parseDir(filepath.Join(root, dir))
		if err != nil {
			return s, err
		}
		for _, file := range files {
			for _, decl := range file.Decls {
				s.note(file.Name.Name, decl)
			}
		}
	}
	return s, nil
}

// parseDir reads the Go files of a folder, without its tests.
func parseDir(dir string) (files []*ast.File, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if e.IsDir() || !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), filepath.Join(dir, e.Name()), nil, parser.ParseComments)
		if err != nil {
			return nil, err
		}
		files = append(files, file)
	}
	return files, nil
}

func (s source) note(pkg string, decl ast.Decl) {
	switch d := decl.(type) {
	case *ast.FuncDecl:
		words, annotations, _ := strings.Cut(d.Doc.Text(), "@")
		_, id, found := strings.Cut("@"+annotations, "@ID")
		if id, _, _ = strings.Cut(id, "\n"); found {
			s.operations[strings.TrimSpace(id)] = ofHandler(d.Name.Name, words)
		}
	case *ast.GenDecl:
		for _, spec := range d.Specs {
			t, ok := spec.(*ast.TypeSpec)
			if !ok {
				continue
			}
			fields, embedded := fieldDocs(t)
			doc := typeDoc{text: oneLine(d.Doc.Text() + t.Doc.Text()), fields: fields, embedded: embedded, spec: t}
			s.goTypes[pkg+"."+t.Name.Name] = doc
			if name := schemaName(t); name != "" {
				s.schemas[name] = doc
			}
		}
	}
}

// ofHandler turns "listSkills lists the skills." into "Lists the skills."
func ofHandler(name, text string) string {
	text = strings.TrimPrefix(oneLine(text), name+" ")
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

// fieldDocs gives the comments on the fields of a struct by their names in JSON.
// One comment often speaks of several fields; it is that of each that it names and
// that has none of its own.
func fieldDocs(t *ast.TypeSpec) (docs map[string]string, embedded []string) {
	docs = map[string]string{}
	body, ok := t.Type.(*ast.StructType)
	if !ok {
		return docs, nil
	}
	for i, field := range body.Fields.List {
		if len(field.Names) == 0 {
			embedded = append(embedded, calledName(field.Type))
			continue
		}
		text := oneLine(field.Doc.Text())
		for before := i - 1; text == "" && before >= 0; before-- {
			if words := oneLine(body.Fields.List[before].Doc.Text()); names(words, field.Names[0].Name) {
				text = words
			}
		}
		docs[jsonName(field)] = text
	}
	return docs, embedded
}

// names tells whether a comment speaks of a field. Shorter names than these are
// words of a sentence as well.
func names(text, field string) bool {
	const shortest = 3
	return len(field) >= shortest && regexp.MustCompile(`\b`+field+`\b`).MatchString(text)
}

func jsonName(field *ast.Field) string {
	if field.Tag == nil {
		return field.Names[0].Name
	}
	text, err := strconv.Unquote(field.Tag.Value)
	if err != nil {
		return ""
	}
	name, _, _ := strings.Cut(reflect.StructTag(text).Get("json"), ",")
	return name
}

// fields gives the comments on the fields of a type, those of embedded types
// included.
func (s source) fields(pkg string, t typeDoc) map[string]string {
	all := map[string]string{}
	for _, name := range t.embedded {
		maps.Copy(all, s.fields(pkg, s.goTypes[pkg+"."+name]))
	}
	maps.Copy(all, t.fields)
	return all
}

// schemaName is the name after @name in the comment behind a type.
func schemaName(spec *ast.TypeSpec) string {
	_, name, _ := strings.Cut(spec.Comment.Text(), "@name ")
	return strings.TrimSpace(name)
}

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }
