package describe

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"strings"

	"fringework/api/calc"
)

// calculationPath is the route that all calculations share. In the description
// each has an operation of its own, with its own input and answer.
const calculationPath = "/v1/calc/{name}"

// nameCalculations replaces the operation of the shared route by one for each
// calculation.
func nameCalculations(doc object, s source) error {
	paths := doc["paths"].(object)
	shared := paths[calculationPath].(object)["post"]
	delete(paths, calculationPath)
	w := schemaWriter{schemas: doc["components"].(object)["schemas"].(object), source: s}
	for _, c := range calc.All() {
		op, err := clone(shared)
		if err != nil {
			return err
		}
		title := strings.ReplaceAll(c.Name, "-", " ")
		op["operationId"] = "calculate" + camel(c.Name)
		op["summary"] = "Calculate: " + title
		op["description"] = c.About + "\n\n" + op["description"].(string)
		delete(op, "parameters")
		in := object{"schema": w.ref(c.In)}
		out := object{"schema": w.ref(c.Out)}
		op["requestBody"] = object{"required": true, "description": "The input.", "content": object{jsonType: in}}
		op["responses"].(object)["200"].(object)["content"] = object{jsonType: out}
		delete(op["responses"].(object), "404") // there is no name to mistype
		paths[strings.Replace(calculationPath, "{name}", c.Name, 1)] = object{"post": op}
	}
	return w.err
}

func clone(value any) (copied object, err error) {
	text, err := json.Marshal(value)
	if err != nil {
		return nil, err
	}
	return copied, json.Unmarshal(text, &copied)
}

// camel turns "streak-odds" into "StreakOdds".
func camel(name string) (out string) {
	for word := range strings.SplitSeq(name, "-") {
		out += strings.ToUpper(word[:1]) + word[1:]
	}
	return out
}

// schemaWriter writes the schemas of the types of calculations, as
// encoding/json reads and writes them.
type schemaWriter struct {
	schemas object
	source  source
	err     error
}

// calculationSchema is the schema's name of a type of package calc: CalcSplitInput
// for splitIn, CalcSplitAnswer for SplitOut.
func calculationSchema(t reflect.Type) string {
	name := camel(t.Name())
	if base, ok := strings.CutSuffix(name, "In"); ok {
		return "Calc" + base + "Input"
	}
	return "Calc" + strings.TrimSuffix(name, "Out") + "Answer"
}

// ref writes the schema of a struct, unless it is there, and refers to it.
func (w *schemaWriter) ref(t reflect.Type) object {
	name := calculationSchema(t)
	if w.schemas[name] == nil {
		schema := object{"type": "object"}
		w.schemas[name] = schema // before its fields, which may refer to it
		properties, required := w.fields(t)
		schema["properties"] = properties
		if len(required) > 0 {
			schema["required"] = required
		}
		if text := w.source.goTypes["calc."+t.Name()].text; text != "" {
			schema["description"] = strings.TrimPrefix(text, t.Name()+" ")
			schema["description"] = name + " " + schema["description"].(string)
		}
	}
	return object{"$ref": "#/components/schemas/" + name}
}

// fields are the properties of a struct and which of them are always there: in an
// input what is marked as required, in an answer all but what may be left out.
func (w *schemaWriter) fields(t reflect.Type) (object, list) {
	properties, required := object{}, list{}
	docs := w.source.fields("calc", w.source.goTypes["calc."+t.Name()])
	for f := range t.Fields() {
		if f.Anonymous {
			more, needed := w.fields(f.Type)
			maps.Copy(properties, more)
			required = append(required, needed...)
			continue
		}
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		property := w.schema(f.Type, strings.HasSuffix(t.Name(), "In"))
		if format := f.Tag.Get("format"); format != "" {
			property["format"] = format
		}
		if text := docs[name]; text != "" {
			property["description"] = text
		}
		properties[name] = property
		if isInput := strings.HasSuffix(t.Name(), "In"); isInput && f.Tag.Get("validate") == "required" || !isInput && options != "omitempty" {
			required = append(required, name)
		}
	}
	return properties, required
}

// schema is that of a value. A pointer is null in an answer that has nothing to
// say; in an input it only tells what was left out.
func (w *schemaWriter) schema(t reflect.Type, input bool) object {
	switch t.Kind() {
	case reflect.Pointer:
		s := w.schema(t.Elem(), input)
		if !input {
			s["nullable"] = true
		}
		return s
	case reflect.Struct:
		return w.ref(t)
	case reflect.Slice:
		if value, ok := byRadius(t); ok {
			return object{"type": "object", "additionalProperties": w.schema(value, input)}
		}
		return object{"type": "array", "items": w.schema(t.Elem(), input)}
	case reflect.Array:
		return object{"type": "array", "items": w.schema(t.Elem(), input), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.String:
		return object{"type": "string"}
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.Int:
		return object{"type": "integer"}
	case reflect.Float64:
		return object{"type": "number"}
	default:
		w.err = fmt.Errorf("describe: no schema for %s in a calculation", t)
		return object{}
	}
}

// byRadius tells a list that is written as an object with radii for names, and
// gives the type of its values.
func byRadius(t reflect.Type) (value reflect.Type, ok bool) {
	if _, ok = t.MethodByName("MarshalJSON"); !ok {
		return nil, false
	}
	field, ok := t.Elem().FieldByName("value")
	return field.Type, ok
}
