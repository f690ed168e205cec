package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// programmeDocumentSchema compiles the published JSON Schema.
func programmeDocumentSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := os.ReadFile("../openapi/programme.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("programme.schema.json", value); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("programme.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

// fits reports what a schema says of a document written as JSON.
func fits(schema *jsonschema.Schema, body []byte) error {
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		return err
	}
	return schema.Validate(value)
}

// trickyTexts look like something else in YAML: other types, syntax, or
// characters that must be escaped.
var trickyTexts = []string{
	"yes", "null", "~", "1", "0x1F", "1e3", ".inf", "2026-05-04", "- a", "a: b", "# c", "'", `"`, "two\nlines", "two\n\nlines", "ends\n", "\nstarts",
	" spaces ", "\ttab", "%TAG", "---", "...", "<<", "=", "@at", "`", "*alias", "&anchor", "!tag", "{", "]", ",", "a\r\nb", "\u0085", "\u2028", "\ufeff",
	"\u007f", "\u0001", "é", "練習", "⛳", "line\n  indented", "trailing \nspace", "|", ">", "?", ":", "a #b", "on", "12:30", "\\u0000",
}

func textOf(most int) *rapid.Generator[string] {
	loose := rapid.Map(rapid.StringN(1, most/2, -1), func(s string) string { return strings.ReplaceAll(s, "\x00", " ") })
	return rapid.OneOf(rapid.SampledFrom(trickyTexts), loose, rapid.SampledFrom([]string{"Pitch", "Long session", "One spot, one club."}))
}

func nameOf() *rapid.Generator[string] {
	return rapid.Map(textOf(110), func(s string) string { return "n" + s })
}

func lengthOf(low, high domain.Length) *rapid.Generator[domain.Length] {
	return rapid.OneOf(
		rapid.Map(rapid.IntRange(int(low), int(high)), func(n int) domain.Length { return domain.Length(n) }),
		rapid.Map(rapid.IntRange(int(low/domain.Foot)+1, int(high/domain.Foot)), func(n int) domain.Length { return domain.Length(n) * domain.Foot }),
	)
}

func kindOf() *rapid.Generator[curriculum.BlockKind] {
	return rapid.SampledFrom(curriculum.BlockKinds())
}

func choices(t *rapid.T, label string) []string {
	return rapid.SliceOfNDistinct(nameOf(), 0, 3, rapid.ID[string]).Draw(t, label)
}

func drillOf() *rapid.Generator[curriculum.Drill] {
	return rapid.Custom(func(t *rapid.T) curriculum.Drill {
		d := curriculum.Drill{Text: textOf(400).Draw(t, "text"), Lies: choices(t, "lies"), Clubs: choices(t, "clubs"), Carry: rapid.IntRange(0, 100).Draw(t, "carry"), MoreOfMisses: rapid.Bool().Draw(t, "more of misses")}
		d.Distances = rapid.SliceOfN(lengthOf(domain.Metre/10, 100*domain.Metre), 0, 3).Draw(t, "distances")
		if rapid.Bool().Draw(t, "has radius") {
			d.Radius = lengthOf(domain.Metre/10, 30*domain.Metre).Draw(t, "radius")
		}
		return d
	})
}

func skillsOf() *rapid.Generator[map[domain.ID]curriculum.Skill] {
	skill := rapid.Custom(func(t *rapid.T) curriculum.Skill {
		s := curriculum.Skill{Name: nameOf().Draw(t, "name"), Kind: rapid.SampledFrom(curriculum.SkillKinds()).Draw(t, "kind"), Text: textOf(400).Draw(t, "text")}
		s.Ladder.TestOnly = rapid.Bool().Draw(t, "test only")
		s.Ladder.Technique = rapid.Bool().Draw(t, "technique")
		s.Ladder.Tiers = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) streak.Tier {
			return streak.Tier{Run: rapid.IntRange(1, 200).Draw(t, "run"), Radius: lengthOf(domain.Metre/10, 30*domain.Metre).Draw(t, "radius"), Holed: rapid.IntRange(0, 200).Draw(t, "holed")}
		}), 1, 3).Draw(t, "tiers")
		for _, kind := range rapid.SliceOfNDistinct(kindOf(), 0, 3, rapid.ID[curriculum.BlockKind]).Draw(t, "drills") {
			d := drillOf().Draw(t, "drill")
			s.Drills = append(s.Drills, curriculum.SkillDrill{Kind: kind, Text: d.Text, Lies: d.Lies, Distances: d.Distances, Clubs: d.Clubs, Carry: d.Carry})
		}
		return s
	})
	return rapid.Custom(func(t *rapid.T) map[domain.ID]curriculum.Skill {
		out := map[domain.ID]curriculum.Skill{}
		for i, s := range rapid.SliceOfN(skill, 0, 4).Draw(t, "skills") {
			s.ID = domain.ID(fmt.Sprintf("0198c5f2-0000-7000-8000-%012d", i))
			out[s.ID] = s
		}
		return out
	})
}

func contentOf(skills map[domain.ID]curriculum.Skill) *rapid.Generator[curriculum.Content] {
	ids := []domain.ID{""}
	for i := range len(skills) {
		ids = append(ids, domain.ID(fmt.Sprintf("0198c5f2-0000-7000-8000-%012d", i)))
	}
	id := rapid.SampledFrom(ids)
	block := rapid.Custom(func(t *rapid.T) curriculum.Block {
		return curriculum.Block{Kind: kindOf().Draw(t, "kind"), Share: rapid.IntRange(0, 100).Draw(t, "share"), Skill: id.Draw(t, "skill"), Drill: drillOf().Draw(t, "drill")}
	})
	plan := rapid.Custom(func(t *rapid.T) curriculum.Plan {
		return curriculum.Plan{Name: textOf(110).Draw(t, "name"), Minutes: rapid.IntRange(5, 240).Draw(t, "minutes"), Times: rapid.IntRange(1, 14).Draw(t, "times"), Blocks: rapid.SliceOfN(block, 0, 4).Draw(t, "blocks")}
	})
	week := rapid.Custom(func(t *rapid.T) curriculum.Week {
		return curriculum.Week{Title: textOf(110).Draw(t, "title"), Skill: id.Draw(t, "skill"), Text: textOf(400).Draw(t, "text"), Plans: rapid.SliceOfN(plan, 0, 2).Draw(t, "plans")}
	})
	return rapid.Custom(func(t *rapid.T) curriculum.Content {
		c := curriculum.Content{Name: nameOf().Draw(t, "name"), Text: textOf(400).Draw(t, "text"), Weeks: rapid.SliceOfN(week, 0, 3).Draw(t, "weeks")}
		for _, k := range rapid.SliceOfNDistinct(kindOf(), 0, 3, rapid.ID[curriculum.BlockKind]).Draw(t, "limits") {
			low := rapid.IntRange(0, 100).Draw(t, "at least")
			c.Limits = append(c.Limits, curriculum.Limit{Kind: k, AtLeast: low, AtMost: rapid.IntRange(low, 100).Draw(t, "at most")})
		}
		return c
	})
}

// byKey gives the content with skills named by the keys of a document.
func byKey(c curriculum.Content, keys map[domain.ID]string) curriculum.Content {
	name := func(id domain.ID) domain.ID { return domain.ID(keys[id]) }
	for i := range c.Weeks {
		w := &c.Weeks[i]
		w.Skill = name(w.Skill)
		for j := range w.Plans {
			for k := range w.Plans[j].Blocks {
				b := &w.Plans[j].Blocks[k]
				b.Skill = name(b.Skill)
			}
		}
	}
	return c
}

// Exporting and importing gives the same programme and the same skills, in
// either writing, and every export satisfies the published schema.
func TestDocumentRoundTrip(t *testing.T) {
	schema := programmeDocumentSchema(t)
	for _, mediaType := range []string{mimeYAML, mimeJSON} {
		t.Run(mediaType, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				skills := skillsOf().Draw(t, "skills")
				content := contentOf(skills).Draw(t, "content")
				document := documentOf(content, skills)
				plain, err := json.Marshal(document)
				if err != nil {
					t.Fatal(err)
				}
				if err := fits(schema, plain); err != nil {
					t.Fatalf("the export does not satisfy the schema: %v\n%s", err, plain)
				}
				body, err := encodeDocument(document, mediaType)
				if err != nil {
					t.Fatal(err)
				}
				back, _, err := decodeDocument(body, mediaType)
				if err != nil {
					t.Fatalf("the export cannot be read: %v\n%s", errorText(err), body)
				}
				got, gotSkills, err := back.read()
				if err != nil {
					t.Fatalf("the export is refused: %v\n%s", err, body)
				}
				keys := skillKeys(content.SkillIDs(), skills)
				want := byKey(content, keys)
				if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
					t.Fatalf("the programme changed (-want +got):\n%s\n%s", diff, body)
				}
				if len(gotSkills) != len(keys) {
					t.Fatalf("got %d skills, want the %d that are used", len(gotSkills), len(keys))
				}
				for id, key := range keys {
					want := skills[id]
					want.ID = ""
					if diff := cmp.Diff(want, gotSkills[domain.ID(key)], cmpopts.EquateEmpty()); diff != "" {
						t.Fatalf("skill %s changed (-want +got):\n%s", key, diff)
					}
				}
			})
		})
	}
}

// errorText writes a refusal with its fields.
func errorText(err error) string {
	p := ProblemOf(err)
	text := fmt.Sprintf("%d %s: %s", p.Status, p.Code, p.Detail)
	for _, f := range p.Errors {
		text += fmt.Sprintf(" [%s%s: %s]", f.Pointer, f.Parameter, f.Detail)
	}
	return text
}

// The example can be imported and published as it is.
func TestDocumentExample(t *testing.T) {
	text, err := os.ReadFile("../openapi/examples/six-weeks.yaml")
	if err != nil {
		t.Fatal(err)
	}
	body, _, err := jsonOfYAML(text)
	if err != nil {
		t.Fatal(err)
	}
	if err := fits(programmeDocumentSchema(t), body); err != nil {
		t.Errorf("the example does not satisfy the schema: %v", err)
	}
	d, _, err := decodeDocument(text, mimeYAML)
	if err != nil {
		t.Fatal(errorText(err))
	}
	content, skills, err := d.read()
	if err != nil {
		t.Fatal(err)
	}
	if err := content.CheckDraft(skills); err != nil {
		t.Error(err)
	}
	if err := content.CheckPublishable(skills); err != nil {
		t.Error(err)
	}
	if got := len(content.Weeks); got != 6 {
		t.Errorf("got %d weeks, want 6", got)
	}
	// 50 minutes of 20, 15, 30 and 35 %: 10, 7.5, 15 and 17.5; of equal remainders
	// the earlier gets the minute (worked by hand).
	if got, want := content.Weeks[0].Plans[0].BlockMinutes(), []int{10, 8, 15, 17}; !cmp.Equal(got, want) {
		t.Errorf("minutes of the first plan: got %v, want %v", got, want)
	}
	want := []streak.Tier{{Run: 3, Radius: 3 * domain.Metre}, {Run: 5, Radius: 25 * domain.Metre / 10}, {Run: 5, Radius: 2 * domain.Metre, Holed: 1}}
	if got := skills["pitch"].Ladder.Tiers; !cmp.Equal(got, want) {
		t.Errorf("steps of the pitch: got %+v, want %+v", got, want)
	}
}

// The page that explains the format shows a document that can be published.
func TestDocumentPage(t *testing.T) {
	page, err := os.ReadFile("../openapi/programme.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(page), "```yaml\n")
	text, _, found := strings.Cut(rest, "```")
	if !found {
		t.Fatal("the page shows no document")
	}
	d, _, err := decodeDocument([]byte(text), mimeYAML)
	if err != nil {
		t.Fatal(errorText(err))
	}
	content, skills, err := d.read()
	if err != nil {
		t.Fatal(err)
	}
	if err := content.CheckPublishable(skills); err != nil {
		t.Error(err)
	}
	body, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	if err := fits(programmeDocumentSchema(t), body); err != nil {
		t.Error(err)
	}
}

func TestLengths(t *testing.T) {
	// A foot is 0.3048 m and a yard three feet, exactly: International Yard and
	// Pound Agreement, 1959.
	for text, want := range map[string]float64{
		"5 ft": 1.524, "5ft": 1.524, "12 yd": 10.9728, "1.5 m": 1.5, "0.1 m": 0.1, "2.5 ft": 0.762, "1000 m": 1000, "0 m": 0,
	} {
		l, ok := parseLength(text)
		if !ok || l.Metres() != want {
			t.Errorf("parseLength(%q) = %v m, %v; want %v m", text, l.Metres(), ok, want)
		}
	}
	for _, text := range []string{"", "5", "ft", "-5 ft", "5 feet", "5  ft", "5 FT", "1,5 m", "1.5m ", "5e1 m", ".5 m", "5. m", "1001 m", "4000 ft", "١ m", "5 ft\n"} {
		if l, ok := parseLength(text); ok {
			t.Errorf("parseLength(%q) = %v, want a refusal", text, l)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		l := domain.Length(rapid.IntRange(0, int(domain.MaxLength)).Draw(t, "length"))
		if got, ok := parseLength(lengthText(l)); !ok || got != l {
			t.Fatalf("parseLength(%q) = %d, %v; want %d", lengthText(l), got, ok, l)
		}
	})
}
