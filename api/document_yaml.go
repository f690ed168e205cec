package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"github.com/go-json-experiment/json/jsontext"
	"go.yaml.in/yaml/v3"

	"fringework/domain"
)

// maxYAMLDepth is far deeper than a programme goes.
const maxYAMLDepth = 32

// yamlLines tells the line on which the value at a JSON pointer stands.
type yamlLines map[string]int

// at finds the line of a pointer or of the nearest thing around it; 0 when
// nothing is known.
func (l yamlLines) at(pointer string) int {
	for {
		if line, ok := l[pointer]; ok {
			return line
		}
		cut := strings.LastIndexByte(pointer, '/')
		if cut < 0 {
			return 0
		}
		pointer = pointer[:cut]
	}
}

// detail puts the line in front of what is wrong at a pointer.
func (l yamlLines) detail(pointer, detail string) string {
	if line := l.at(pointer); line > 0 {
		return fmt.Sprintf("line %d: %s", line, detail)
	}
	return detail
}

// jsonOfYAML turns one YAML document into JSON, and tells the line of every
// value. Only what JSON can say is taken: anchors, aliases, merge keys and tags
// are refused, so a document is never larger than it looks.
func jsonOfYAML(text []byte) ([]byte, yamlLines, error) {
	dec := yaml.NewDecoder(bytes.NewReader(text))
	var root, more yaml.Node
	if err := dec.Decode(&root); err != nil {
		return nil, nil, yamlSyntax(err)
	}
	if err := dec.Decode(&more); !errors.Is(err, io.EOF) {
		return nil, nil, malformed("body_malformed", "The request body has more than one YAML document; send one.")
	}
	var body bytes.Buffer
	r := yamlReader{out: jsontext.NewEncoder(&body), lines: yamlLines{}}
	if err := r.value("", root.Content[0], 0); err != nil {
		return nil, nil, err
	}
	return body.Bytes(), r.lines, nil
}

// yamlPlace finds the line in an error of the YAML library.
var yamlPlace = regexp.MustCompile(`^yaml: (?:line ([0-9]+): )?`)

func yamlSyntax(err error) error {
	if errors.Is(err, io.EOF) {
		return malformed("body_missing", "Send a programme document; the request body is empty.")
	}
	text := err.Error()
	m := yamlPlace.FindStringSubmatch(text)
	if m == nil {
		return malformed("body_malformed", "The request body is not valid YAML.")
	}
	detail := "is not YAML: " + text[len(m[0]):]
	if m[1] != "" {
		detail = "line " + m[1] + ": " + detail
	}
	return malformed("body_malformed", "The request body is not valid YAML.", ProblemField{Detail: detail})
}

type yamlReader struct {
	out   *jsontext.Encoder
	lines yamlLines
}

func (r yamlReader) refuse(at string, n *yaml.Node, format string, args ...any) error {
	return malformed("body_invalid", "The document uses a part of YAML that is not supported here.",
		ProblemField{Pointer: at, Detail: fmt.Sprintf("line %d: %s", n.Line, fmt.Sprintf(format, args...))})
}

func (r yamlReader) value(at string, n *yaml.Node, depth int) error {
	r.lines[at] = n.Line
	switch {
	case depth > maxYAMLDepth:
		return r.refuse(at, n, "is nested more than %d levels deep; flatten it", maxYAMLDepth)
	case n.Anchor != "" || n.Kind == yaml.AliasNode:
		return r.refuse(at, n, "is an anchor or an alias; write the value itself")
	case n.Style&yaml.TaggedStyle != 0:
		return r.refuse(at, n, "has the tag %s; remove it, and put strings in quotes", n.Tag)
	}
	switch n.Kind {
	case yaml.MappingNode:
		return r.mapping(at, n, depth)
	case yaml.SequenceNode:
		return r.sequence(at, n, depth)
	default:
		return r.scalar(at, n)
	}
}

func (r yamlReader) mapping(at string, n *yaml.Node, depth int) error {
	if err := r.out.WriteToken(jsontext.BeginObject); err != nil {
		return err
	}
	seen := map[string]bool{}
	for i := 0; i < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if key.Kind != yaml.ScalarNode || key.Anchor != "" || key.Style&yaml.TaggedStyle != 0 || key.Tag == "!!merge" {
			return r.refuse(at, key, "has a key that is not a plain string; write it out, without merge keys")
		}
		here := at + "/" + domain.PointerToken(key.Value)
		if seen[key.Value] {
			return r.refuse(here, key, "is given twice; give it once")
		}
		seen[key.Value] = true
		if err := r.out.WriteToken(jsontext.String(key.Value)); err != nil {
			return r.refuse(at, key, "is not valid UTF-8; save the file as UTF-8")
		}
		if err := r.value(here, value, depth+1); err != nil {
			return err
		}
		r.lines[here] = key.Line
	}
	return r.out.WriteToken(jsontext.EndObject)
}

func (r yamlReader) sequence(at string, n *yaml.Node, depth int) error {
	if err := r.out.WriteToken(jsontext.BeginArray); err != nil {
		return err
	}
	for i, value := range n.Content {
		if err := r.value(at+"/"+strconv.Itoa(i), value, depth+1); err != nil {
			return err
		}
	}
	return r.out.WriteToken(jsontext.EndArray)
}

func (r yamlReader) scalar(at string, n *yaml.Node) error {
	token, ok := scalarToken(n)
	if !ok {
		return r.refuse(at, n, "%q is not a usable number; if it is a string, put it in quotes", n.Value)
	}
	if err := r.out.WriteToken(token); err != nil {
		return r.refuse(at, n, "is not valid UTF-8; save the file as UTF-8")
	}
	return nil
}

// scalarToken reads a scalar as YAML 1.2's core schema does; a date stays the
// text it is.
func scalarToken(n *yaml.Node) (jsontext.Token, bool) {
	switch n.ShortTag() {
	case "!!null":
		return jsontext.Null, true
	case "!!bool":
		var b bool
		err := n.Decode(&b)
		return jsontext.Bool(b), err == nil
	case "!!int":
		var i int64
		err := n.Decode(&i)
		return jsontext.Int(i), err == nil
	case "!!float":
		var f float64
		err := n.Decode(&f)
		return jsontext.Float(f), err == nil && !math.IsInf(f, 0) && !math.IsNaN(f)
	default:
		return jsontext.String(n.Value), true
	}
}

// yamlOfJSON writes JSON as YAML, members in their order, short lists of plain
// values on one line.
func yamlOfJSON(body []byte) ([]byte, error) {
	root, err := yamlNode(jsontext.NewDecoder(bytes.NewReader(body)))
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	if err := enc.Encode(root); err != nil {
		return nil, err
	}
	return out.Bytes(), enc.Close()
}

func yamlNode(dec *jsontext.Decoder) (*yaml.Node, error) {
	token, err := dec.ReadToken()
	if err != nil {
		return nil, err
	}
	switch token.Kind() {
	case '{':
		return yamlBranch(dec, yaml.MappingNode)
	case '[':
		return yamlBranch(dec, yaml.SequenceNode)
	case '"':
		return textNode(token.String()), nil
	default:
		return &yaml.Node{Kind: yaml.ScalarNode, Value: token.String()}, nil
	}
}

// yamlBranch reads an object or an array to its end.
func yamlBranch(dec *jsontext.Decoder, kind yaml.Kind) (*yaml.Node, error) {
	n := &yaml.Node{Kind: kind}
	flat := true
	for dec.PeekKind() != '}' && dec.PeekKind() != ']' {
		child, err := yamlNode(dec)
		if err != nil {
			return nil, err
		}
		flat = flat && child.Kind == yaml.ScalarNode && child.Style == 0
		n.Content = append(n.Content, child)
	}
	if flat && (kind == yaml.SequenceNode || isTier(n)) {
		n.Style = yaml.FlowStyle
	}
	_, err := dec.ReadToken()
	return n, err
}

// isTier reports whether a mapping is a tier, which reads well on one line.
func isTier(n *yaml.Node) bool { return len(n.Content) > 0 && n.Content[0].Value == "run" }

// textNode writes a text plain where that is safe, in a block where it has
// lines, and in double quotes, which can say anything, otherwise.
func textNode(text string) *yaml.Node {
	n := &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: text}
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		clean := line == strings.TrimSpace(line) && strings.IndexFunc(line, func(r rune) bool { return !unicode.IsPrint(r) }) < 0
		if !clean || i == 0 && line == "" || i > 0 && i == len(lines)-2 && line == "" {
			n.Style = yaml.DoubleQuotedStyle
			return n
		}
	}
	if len(lines) > 1 {
		n.Style = yaml.LiteralStyle
	}
	return n
}
