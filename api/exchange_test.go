package api

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// shortDocument is a document that can be read, to break in one place.
const shortDocument = `format: fringework-programme/1
name: Short
skills:
  pitch:
    name: Pitch
    kind: pitch
    ladder:
      tiers:
        - {run: 4, radius: 8 ft}
weeks:
  - skill: pitch
    plans:
      - minutes: 45
        blocks:
          - kind: test
            share: 100
            drill: {text: One spot., radius: 8 ft, clubs: ["56"], distances: [20 yd]}
`

// readShort reads a document as an import does, up to the store.
func readShort(text, mediaType string) error {
	d, lines, err := decodeDocument([]byte(text), mediaType)
	if err != nil {
		return err
	}
	content, skills, err := d.read()
	if err == nil {
		err = content.CheckDraft(skills)
	}
	return documentError(err, lines)
}

func TestDocumentRefusals(t *testing.T) {
	if err := readShort(shortDocument, mimeYAML); err != nil {
		t.Fatalf("the document to break is refused itself: %s", errorText(err))
	}
	tests := []struct {
		name, old, new string
		status         int
		pointer, says  string // says is a part of the field's detail
	}{
		{"unknown format", "programme/1", "programme/2", 422, "/format", `line 1: is "fringework-programme/2"; this service reads fringework-programme/1`},
		{"no format", "format: fringework-programme/1\n", "", 422, "/format", "this service reads fringework-programme/1"},
		{"unknown member", "minutes: 45", "minutes: 45\n        colour: red", 400, "/weeks/0/plans/0/colour", "line 14: is not a field here"},
		{"repeated member", "name: Short", "name: Short\nname: Long", 400, "/name", "line 3: is given twice"},
		{"a number where a text is wanted", "[\"56\"]", "[56]", 400, "/weeks/0/plans/0/blocks/0/drill/clubs/0", "line 17: is a number; a string is expected; put it in quotes"},
		{"a text where a number is wanted", "minutes: 45", "minutes: an hour", 400, "/weeks/0/plans/0/minutes", "line 13: is a string; a whole number is expected"},
		{"a fraction", "minutes: 45", "minutes: 45.5", 400, "/weeks/0/plans/0/minutes", "line 13: "},
		{"a list where an object is wanted", "skills:\n  pitch:", "skills:\n  - pitch:", 400, "/skills", "line 3: is an array; an object is expected"},
		{"a length without a unit", "radius: 8 ft}", "radius: \"5\"}", 422, "/skills/pitch/ladder/tiers/0/radius", `line 9: "5" is not a length; write a number and its unit, such as "5 ft"`},
		{"a length in centimetres", "[20 yd]", "[20 cm]", 422, "/weeks/0/plans/0/blocks/0/drill/distances/0", `line 17: "20 cm" is not a length`},
		{"an empty distance", "[20 yd]", "['']", 422, "/weeks/0/plans/0/blocks/0/drill/distances/0", "line 17: is empty"},
		{"a skill that is not there", "skill: pitch", "skill: lob", 422, "/weeks/0/skill", `line 11: "lob" is not a skill of this document`},
		{"an identity instead of a key", "skill: pitch", "skill: 0198c5f2-0000-7000-8000-000000000000", 422, "/weeks/0/skill", "is not a skill of this document"},
		{"a key out of form", "  pitch:\n", "  Pitch Shot:\n", 422, "/skills/Pitch Shot", "line 4: is not a valid key"},
		{"a bound of the domain", "minutes: 45", "minutes: 4", 422, "/weeks/0/plans/0/minutes", "line 13: is 4; give a session of 5 to 240 minutes"},
		{"a radius out of bounds", "radius: 8 ft, clubs", "radius: 40 m, clubs", 422, "/weeks/0/plans/0/blocks/0/drill/radius", "line 17: is 40 m"},
		{"an unknown kind", "kind: test", "kind: exam", 422, "/weeks/0/plans/0/blocks/0/kind", `line 15: "exam" is not a kind of block`},
		{"an anchor", "skill: pitch", "skill: &p pitch", 400, "/weeks/0/skill", "line 11: is an anchor or an alias"},
		{"an alias", "name: Short", "name: *p", 400, "", "unknown anchor"},
		{"a merge key", "  - skill: pitch", "  - <<: {skill: pitch}", 400, "/weeks/0", "line 11: has a key that is not a plain string"},
		{"a list as a key", "  - skill: pitch", "  - [a]: pitch", 400, "/weeks/0", "line 11: has a key that is not a plain string"},
		{"a tag", "name: Short", "name: !!str Short", 400, "/name", "line 2: has the tag !!str"},
		{"a tag of one's own", "name: Short", "name: !secret Short", 400, "/name", "line 2: has the tag !secret"},
		{"not a number", "share: 100", "share: .nan", 400, "/weeks/0/plans/0/blocks/0/share", "line 16: \".nan\" is not a usable number"},
		{"too large a number", "share: 100", "share: 99999999999999999999", 400, "/weeks/0/plans/0/blocks/0/share", "line 16: "},
		{"two documents", "weeks:", "---\nweeks:", 400, "", ""},
		{"broken YAML", "kind: test", "kind: [test", 400, "", "line "},
		{"a tab as indentation", "    kind: pitch", "\tkind: pitch", 400, "", "line "},
		{"nested without end", "name: Short", "name: " + strings.Repeat("[", 40) + strings.Repeat("]", 40), 400, "/name" + strings.Repeat("/0", maxYAMLDepth), "is nested more than"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if !strings.Contains(shortDocument, test.old) {
				t.Fatalf("%q is not in the document", test.old)
			}
			err := readShort(strings.Replace(shortDocument, test.old, test.new, 1), mimeYAML)
			if err == nil {
				t.Fatal("accepted, want a refusal")
			}
			p := ProblemOf(err)
			if p.Status != test.status {
				t.Errorf("got status %d, want %d: %s", p.Status, test.status, errorText(err))
			}
			if test.says == "" && len(p.Errors) == 0 {
				return
			}
			if len(p.Errors) == 0 || p.Errors[0].Pointer != test.pointer || !strings.Contains(p.Errors[0].Detail, test.says) {
				t.Errorf("got %+v, want %s at %q", p.Errors, test.says, test.pointer)
			}
		})
	}
}

// An alias that multiplies is refused before it is expanded.
func TestDocumentBomb(t *testing.T) {
	bomb := "format: fringework-programme/1\nname: &a [x,x,x,x,x,x,x,x,x]\ntext: [*a,*a,*a,*a,*a,*a,*a,*a,*a]\n"
	err := readShort(bomb, mimeYAML)
	if err == nil || ProblemOf(err).Status != http.StatusBadRequest {
		t.Fatalf("got %v, want a refusal", err)
	}
	for _, empty := range []string{"", "# nothing\n", "---\n", "null"} {
		if err := readShort(empty, mimeYAML); err == nil {
			t.Errorf("%q was accepted", empty)
		}
	}
}

// JSON is read by the same rules, and its errors name no line.
func TestDocumentJSON(t *testing.T) {
	body, _, err := jsonOfYAML([]byte(shortDocument))
	if err != nil {
		t.Fatal(err)
	}
	if err := readShort(string(body), mimeJSON); err != nil {
		t.Fatal(errorText(err))
	}
	err = readShort(strings.Replace(string(body), `"minutes":45`, `"minutes":3`, 1), mimeJSON)
	p := ProblemOf(err)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "/weeks/0/plans/0/minutes" || strings.Contains(p.Errors[0].Detail, "line") {
		t.Errorf("got %s, want one error at the minutes, without a line", errorText(err))
	}
}

// What the schema refuses, reading refuses too.
func TestDocumentSchemaRefusals(t *testing.T) {
	schema := programmeDocumentSchema(t)
	for _, change := range [][2]string{
		{"programme/1", "programme/9"},
		{"name: Short", "name: \"\""},
		{"name: Short", "name: \" \""},
		{"name: Short", "title: Short"},
		{"kind: pitch", "kind: putt"},
		{"run: 4", "run: 0"},
		{"run: 4", "run: 201"},
		{"run: 4, ", "holes: 9, run: 4, "},
		{"radius: 8 ft}", "radius: 5 miles}"},
		{"        - {run: 4, radius: 8 ft}", "        []"},
		{"  pitch:\n", "  Pitch:\n"},
		{"minutes: 45", "minutes: 241"},
		{"minutes: 45", "minutes: 45\n        times: 15"},
		{"share: 100", "share: 101"},
		{"share: 100", "share: half"},
		{"kind: test", "kind: exam"},
		{`["56"]`, `["56", "56"]`},
		{`["56"]`, `[""]`},
		{"skill: pitch", "skill: Pitch"},
		{"skill: pitch", "skills: pitch"},
	} {
		text := strings.Replace(shortDocument, change[0], change[1], 1)
		body, _, err := jsonOfYAML([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if fits(schema, body) == nil {
			t.Errorf("%q for %q satisfies the schema, want a refusal", change[1], change[0])
		}
		if importError(text) == nil {
			t.Errorf("%q for %q can be read, want a refusal", change[1], change[0])
		}
	}
	body, _, err := jsonOfYAML([]byte(shortDocument))
	if err != nil {
		t.Fatal(err)
	}
	if err := fits(schema, body); err != nil {
		t.Errorf("the document does not satisfy the schema: %v", err)
	}
}

// importError reads a document and checks its skills as an import does.
func importError(text string) error {
	if err := readShort(text, mimeYAML); err != nil {
		return err
	}
	d, _, err := decodeDocument([]byte(text), mimeYAML)
	if err != nil {
		return err
	}
	_, skills, err := d.read()
	var p domain.Problems
	for _, s := range skills {
		s.Ladder.Check(&p, "")
		if !slices.Contains(curriculum.SkillKinds(), s.Kind) {
			p.Add("/kind", "unknown")
		}
	}
	if err == nil {
		err = p.Err("skills", "")
	}
	return err
}

func TestDocumentPointers(t *testing.T) {
	for pointer, want := range map[string]string{
		"/weeks/0/skill_id":                             "/weeks/0/skill",
		"/weeks/0/plans/1/blocks/2/drill/radius_m":      "/weeks/0/plans/1/blocks/2/drill/radius",
		"/weeks/0/plans/1/blocks/2/drill/distances_m/3": "/weeks/0/plans/1/blocks/2/drill/distances/3",
		"/skills/radius_m/ladder/tiers/0/radius_m":      "/skills/radius_m/ladder/tiers/0/radius",
		"/weeks/0/plans/1/blocks/2/drill/carry_percent": "/weeks/0/plans/1/blocks/2/drill/carry_percent",
		"": "",
	} {
		if got := documentPointer(pointer); got != want {
			t.Errorf("documentPointer(%q) = %q, want %q", pointer, got, want)
		}
	}
}

func TestSkillKeys(t *testing.T) {
	skills := map[domain.ID]curriculum.Skill{
		"a": {Name: "Chip & Run!"}, "b": {Name: "chip-and-run"}, "c": {Name: "Chip and run"}, "d": {Name: "練習"}, "e": {Name: "切る"},
		"f": {Name: strings.Repeat("long ", 30)}, "g": {Name: "Chip and run 2"},
	}
	want := map[domain.ID]string{
		"a": "chip-run", "b": "chip-and-run", "c": "chip-and-run-2", "d": "skill", "e": "skill-2", "f": "long-long-long-long-long-long-long-long", "g": "chip-and-run-2-2",
	}
	got := skillKeys([]domain.ID{"a", "b", "c", "d", "e", "f", "g", "gone"}, skills)
	for id, key := range want {
		if got[id] != key {
			t.Errorf("key of %q: got %q, want %q", skills[id].Name, got[id], key)
		}
		if !skillKey.MatchString(got[id]) {
			t.Errorf("key %q is not in the form of a key", got[id])
		}
	}
	if len(got) != len(want) {
		t.Errorf("got %d keys, want %d", len(got), len(want))
	}
}

// RFC 9110 §12.5.1: the most specific range decides, and q=0 refuses.
func TestAccepted(t *testing.T) {
	for header, want := range map[string]string{
		"":                                  mimeYAML,
		"*/*":                               mimeYAML,
		"application/json":                  mimeJSON,
		"application/yaml":                  mimeYAML,
		"application/*":                     mimeYAML,
		"text/html":                         "",
		"application/json;q=0.5, */*;q=0.1": mimeJSON,
		"application/yaml;q=0, */*":         mimeJSON,
		"application/yaml;q=0":              "",
		"application/*;q=0.2, application/json;q=0.1": mimeYAML,
		"text/html, application/json;q=0.9":           mimeJSON,
		"nonsense, application/json":                  mimeJSON,
		"application/json;q=x":                        "",
	} {
		var values []string
		if header != "" {
			values = []string{header}
		}
		if got := accepted(values, mimeYAML, mimeJSON); got != want {
			t.Errorf("Accept %q: got %q, want %q", header, got, want)
		}
	}
}

// Whatever is sent, reading ends in a document or in a refusal that is the
// sender's; what was read can be written and read again.
func FuzzDocument(f *testing.F) {
	f.Add(shortDocument)
	f.Add("a: &a [*a]")
	f.Add("? [x]\n: y")
	f.Add("%YAML 1.2\n---\n- !!binary aGk=\n")
	f.Fuzz(func(t *testing.T, text string) {
		d, _, err := decodeDocument([]byte(text), mimeYAML)
		if err != nil {
			if status := ProblemOf(err).Status; status < 400 || status > 499 {
				t.Fatalf("refused with %d: %v", status, err)
			}
			return
		}
		body, err := encodeDocument(d, mimeYAML)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := decodeDocument(body, mimeYAML); err != nil {
			t.Fatalf("what was written cannot be read: %s\n%s", errorText(err), body)
		}
	})
}
