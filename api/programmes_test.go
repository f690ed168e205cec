package api_test

import (
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"fringework/api"
)

// pitch makes a skill whose first step is eight in a row inside 2.5 m and whose
// second is ten with two holed.
func (h *fixture) pitch(token string) (s api.Skill) {
	h.Helper()
	h.do("POST", "/v1/skills", object{"name": "Pitch", "kind": "pitch", "ladder": object{"tiers": []object{
		{"run": 8, "radius_m": 2.5}, {"run": 10, "radius_m": 2.5, "holed": 2}}}}, as(token)).want(201).read(&s)
	return s
}

// draft is a programme of one week with one plan of 40 minutes: technique for what
// the test leaves.
func draft(name string, skill any, test int) object {
	drill := object{"text": "One spot.", "radius_m": 2.5}
	return object{"name": name, "limits": []object{{"kind": "technique", "at_most": 60}, {"kind": "test", "at_least": 15}}, "weeks": []object{
		{"title": "First", "skill_id": skill, "plans": []object{{"name": "Evening", "minutes": 40, "times": 2, "blocks": []object{
			{"kind": "technique", "share": 50, "drill": drill}, {"kind": "test", "share": test, "drill": drill}}}}}}}
}

// programme makes a draft.
func (h *fixture) programme(token string, body object) (p api.Programme) {
	h.Helper()
	h.do("POST", "/v1/programmes", body, as(token)).want(201).read(&p)
	return p
}

// published makes a skill and a programme of three weeks with a published
// version.
func (h *fixture) published(token string) (api.Skill, api.Version) {
	h.Helper()
	skill := h.pitch(token)
	body := draft("Pitching", skill.ID, 50)
	week := body["weeks"].([]object)[0]
	body["weeks"] = []object{week, week, week}
	return skill, h.publish(token, h.programme(token, body))
}

func (h *fixture) publish(token string, p api.Programme) (v api.Version) {
	h.Helper()
	h.do("POST", "/v1/programmes/"+string(p.ID)+"/versions", nil, as(token)).want(201).read(&v)
	return v
}

func TestDraftTellsWhatIsMissing(t *testing.T) {
	h := newFixture(t)
	coach := h.cast().coach.AccessToken
	skill := h.pitch(coach)
	p := h.programme(coach, draft("Pitching", skill.ID, 45))
	want := api.ProblemField{Pointer: "/weeks/0/plans/0/blocks", Place: "week 1, plan 1 (Evening)", Detail: "week 1, plan 1 (Evening): shares sum to 95; add 5"}
	if len(p.Problems) != 1 || p.Problems[0] != want {
		t.Errorf("problems: got %+v, want %+v", p.Problems, want)
	}
	refused := h.do("POST", "/v1/programmes/"+string(p.ID)+"/versions", nil, as(coach)).problem(422, "programme_unpublishable")
	if len(refused.Errors) != 1 || refused.Errors[0] != want {
		t.Errorf("publishing: got %+v, want %+v", refused.Errors, want)
	}
	if kept := read[api.Programme](h, "/v1/programmes/"+string(p.ID), coach); kept.Published != 0 || len(kept.Problems) != 1 {
		t.Errorf("the draft was not kept: %+v", kept)
	}
}

func TestDraftMinutesAndEditing(t *testing.T) {
	h := newFixture(t)
	coach := h.cast().coach.AccessToken
	skill := h.pitch(coach)
	p := h.programme(coach, draft("Pitching", skill.ID, 50))
	path := "/v1/programmes/" + string(p.ID)
	got := h.do("GET", path, nil, as(coach)).want(200)
	tag := got.header.Get("ETag")
	got.read(&p)
	// Half of 40 minutes is 20.
	if b := p.Draft.Weeks[0].Plans[0].Blocks; b[0].Minutes != 20 || b[1].Minutes != 20 || len(p.Problems) != 0 {
		t.Errorf("blocks: got %+v with %+v, want 20 minutes each and no problems", b, p.Problems)
	}
	if h.do("GET", path, nil, as(coach), set("If-None-Match", tag)).status != http.StatusNotModified {
		t.Error("the entity tag does not answer 304")
	}
	// What was read can be sent back, changed.
	p.Draft.Weeks[0].Title = "Week of pitching"
	var saved api.Programme
	h.do("PUT", path, p.Draft, as(coach), set("If-Match", tag)).want(200).read(&saved)
	if saved.Revision != 2 || saved.Draft.Weeks[0].Title != "Week of pitching" {
		t.Errorf("saved: got %+v", saved)
	}
	h.do("PUT", path, p.Draft, as(coach), set("If-Match", tag)).problem(412, "stale")
	at(t, h.do("PUT", path, object{"name": "N", "week": 1}, as(coach)).problem(400, "body_invalid"), "/week")
	at(t, h.do("PUT", path, object{"name": "N", "weeks": []object{{"skill_id": p.ID}}}, as(coach)).problem(422, "programme_invalid"), "/weeks/0/skill_id")
}

func TestVersions(t *testing.T) {
	h := newFixture(t)
	coach := h.cast().coach.AccessToken
	skill := h.pitch(coach)
	p := h.programme(coach, draft("Pitching", skill.ID, 50))
	path := "/v1/programmes/" + string(p.ID)
	first := h.do("POST", path+"/versions", nil, as(coach)).want(201)
	if got, want := first.header.Get("Location"), path+"/versions/1"; got != want {
		t.Errorf("Location %q, want %q", got, want)
	}
	h.do("POST", path+"/versions", nil, as(coach)).problem(409, "nothing_changed")

	changed := draft("Pitching", skill.ID, 50)
	changed["weeks"].([]object)[0]["plans"].([]object)[0]["minutes"] = 90
	h.do("PUT", path, changed, as(coach)).want(200)
	// The skill changes as well; version 1 keeps it as it was.
	h.do("PUT", "/v1/skills/"+string(skill.ID), object{"name": "Pitch", "kind": "pitch", "ladder": object{"tiers": []object{{"run": 5, "radius_m": 3}}}}, as(coach)).want(200)
	h.do("POST", path+"/versions", nil, as(coach)).want(201)

	list := read[api.VersionList](h, path+"/versions", coach)
	if len(list.Items) != 2 || list.Items[0].Number != 2 {
		t.Errorf("versions: got %+v, want 2 and 1", list.Items)
	}
	one := read[api.Version](h, path+"/versions/1", coach)
	if one.Content.Weeks[0].Plans[0].Minutes != 40 || one.Skills[0].Ladder.Tiers[0].Run != 8 {
		t.Errorf("version 1 has changed: %+v", one)
	}
	diff := read[api.Differences](h, path+"/differences?from=1&to=2", coach)
	var got []string
	for _, d := range diff.Items {
		got = append(got, fmt.Sprintf("%s, %s: %s → %s", d.Place, d.What, d.Before, d.After))
	}
	want := []string{"skill Pitch, ladder: 8 in a row inside 8.2 ft; 10 in a row inside 8.2 ft, 2 holed → 5 in a row inside 9.8 ft", "week 1, plan 1, minutes: 40 → 90"}
	if !cmp.Equal(got, want) {
		t.Errorf("differences: got %q, want %q", got, want)
	}
	at(t, h.do("GET", path+"/differences?from=1", nil, as(coach)).problem(400, "parameter_invalid"), "to")
	h.do("GET", path+"/differences?from=1&to=9", nil, as(coach)).problem(404, "not_found")
	h.do("GET", path+"/versions/3", nil, as(coach)).problem(404, "not_found")
	h.do("GET", path+"/versions/one", nil, as(coach)).problem(404, "not_found")
}

func TestProgrammesCloneArchiveAndList(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	coach := c.coach.AccessToken
	p := h.programme(coach, object{"name": "Empty"})
	path := "/v1/programmes/" + string(p.ID)
	var copied, named api.Programme
	h.do("POST", path+"/clone", nil, as(coach)).want(201).read(&copied)
	h.do("POST", path+"/clone", object{"name": "Another"}, as(coach)).want(201).read(&named)
	if copied.Draft.Name != "Empty (copy)" || named.Draft.Name != "Another" {
		t.Errorf("copies are called %q and %q", copied.Draft.Name, named.Draft.Name)
	}
	var archived api.Programme
	h.do("POST", path+"/archive", nil, as(coach)).want(200).read(&archived)
	if archived.ArchivedAt == nil {
		t.Error("an archived programme has no archived_at")
	}
	h.do("POST", path+"/versions", nil, as(coach)).problem(409, "programme_archived")
	if n := len(read[api.ProgrammePage](h, "/v1/programmes", coach).Items); n != 2 {
		t.Errorf("got %d programmes in use, want 2", n)
	}
	// Every programme once, in pages of one.
	var seen []string
	for next := "/v1/programmes?archived=true&limit=1"; next != ""; {
		page := read[api.ProgrammePage](h, next, coach)
		for _, x := range page.Items {
			seen = append(seen, x.Name)
		}
		next = page.Links.Next
	}
	if want := []string{"Empty", "Empty (copy)", "Another"}; !cmp.Equal(seen, want) {
		t.Errorf("pages: got %q, want %q", seen, want)
	}
	h.do("POST", path+"/restore", nil, as(coach)).want(200)
	h.do("GET", path, nil, as(c.student.AccessToken)).problem(403, "role_refused")
	stranger := h.signUp("Olga").AccessToken
	for _, method := range []string{"GET", "PUT"} {
		h.do(method, path, object{"name": "Mine"}, as(stranger)).problem(404, "not_found")
	}
}

func TestDocumentExchange(t *testing.T) {
	h := newFixture(t)
	coach := h.cast().coach.AccessToken
	text, err := os.ReadFile("../openapi/examples/six-weeks.yaml")
	if err != nil {
		t.Fatal(err)
	}
	yaml := set("Content-Type", "application/yaml")
	var first api.Programme
	h.do("POST", "/v1/programmes/import", string(text), as(coach), yaml).want(201).read(&first)
	if len(first.Problems)+len(first.Warnings) != 0 || len(first.Draft.Weeks) != 6 {
		t.Fatalf("imported: got %d weeks and %+v, %+v, want 6, no problems and no warnings", len(first.Draft.Weeks), first.Problems, first.Warnings)
	}
	path := "/v1/programmes/" + string(first.ID) + "/document"
	exported := h.do("GET", path, nil, as(coach)).want(200)
	if got := exported.header.Get("Content-Type"); got != "application/yaml" {
		t.Errorf("media type %q, want application/yaml", got)
	}
	if got, want := exported.header.Get("Content-Disposition"), `attachment; filename="six-weeks-around-the-green.yaml"`; got != want {
		t.Errorf("Content-Disposition %q, want %q", got, want)
	}
	// Into the same academy: the same programme by the same skills.
	var second api.Programme
	h.do("POST", "/v1/programmes/import", string(exported.body), as(coach), yaml).want(201).read(&second)
	if diff := cmp.Diff(first.Draft, second.Draft); diff != "" {
		t.Errorf("the programme changed (-first +second):\n%s", diff)
	}
	if n := len(read[api.SkillPage](h, "/v1/skills", coach).Items); n != 3 {
		t.Errorf("got %d skills, want the document's 3", n)
	}
	// Into another academy, as JSON: the same but for the skills' identities.
	inJSON := h.do("GET", path, nil, as(coach), set("Accept", "application/json")).want(200)
	var third api.Programme
	owner := h.signUp("Olga").AccessToken
	h.do("POST", "/v1/programmes/import", string(inJSON.body), as(owner)).want(201).read(&third)
	if diff := cmp.Diff(first.Draft, third.Draft, cmpopts.IgnoreFields(api.Week{}, "SkillID"), cmpopts.IgnoreFields(api.Block{}, "SkillID")); diff != "" {
		t.Errorf("the programme changed (-first +third):\n%s", diff)
	}
	if h.do("GET", path, nil, as(coach), set("If-None-Match", exported.header.Get("ETag"))).status != http.StatusNotModified {
		t.Error("the entity tag does not answer 304")
	}
	h.publish(coach, first)
	if got := h.do("GET", path+"?version=1", nil, as(coach)).want(200); string(got.body) != string(exported.body) {
		t.Error("version 1 is exported otherwise than the draft it was made of")
	}
	h.do("GET", path+"?version=2", nil, as(coach)).problem(404, "not_found")
	h.do("GET", path, nil, as(coach), set("Accept", "text/html")).problem(406, "not_acceptable")
}

func TestImportRefusals(t *testing.T) {
	h := newFixture(t)
	coach := h.cast().coach.AccessToken
	yaml := set("Content-Type", "application/yaml")
	h.do("POST", "/v1/programmes/import", "name: N", as(coach), set("Content-Type", "text/plain")).problem(415, "media_type")
	at(t, h.do("POST", "/v1/programmes/import", "format: fringework-programme/1\nname: N\ncolour: red\n", as(coach), yaml).problem(400, "body_invalid"), "/colour")
	p := h.do("POST", "/v1/programmes/import", `format: fringework-programme/1
name: N
skills:
  pitch:
    name: Pitch
    kind: pitch
    ladder:
      tiers: [{run: 9, radius: 5 ft}, {run: 8, radius: 5 ft}]
`, as(coach), yaml).problem(422, "programme_invalid")
	at(t, p, "/skills/pitch/ladder/tiers/1/run")
	if !strings.HasPrefix(p.Errors[0].Detail, "line 8: step 2 must be harder than step 1") {
		t.Errorf("got %q, want the line and the remedy", p.Errors[0].Detail)
	}
	if n := len(read[api.SkillPage](h, "/v1/skills", coach).Items); n != 0 {
		t.Errorf("a refused import left %d skills", n)
	}
}

// TestDraftReadBack: a programme that was read is taken as it is, and what is wrong
// with its draft is told where it stands.
func TestDraftReadBack(t *testing.T) {
	h := newFixture(t)
	token := h.signUp("Ines").AccessToken
	var made api.Programme
	h.do("POST", "/v1/programmes", object{"name": "Weeks", "weeks": []object{{"title": "One"}}}, as(token)).want(201).read(&made)
	path := "/v1/programmes/" + string(made.ID)
	body := read[object](h, path, token)
	h.do("PUT", path, body, as(token)).want(200)
	body["draft"].(object)["name"] = strings.Repeat("x", 200)
	at(t, h.do("PUT", path, body, as(token)).problem(422, "programme_invalid"), "/draft/name")
	body["draft"].(object)["colour"] = "red"
	at(t, h.do("PUT", path, body, as(token)).problem(400, "body_invalid"), "/draft/colour")
	body["paint"] = "red"
	h.do("POST", "/v1/programmes", body, as(token)).problem(400, "body_invalid")
	skill := object{"name": "Pitch", "kind": "pitch", "ladder": object{"tiers": []object{{"run": 4, "radius_m": 2}}}, "paint": "red", "revision": 3}
	var kept api.Skill
	delete(skill, "paint")
	h.do("POST", "/v1/skills", skill, as(token)).problem(400, "body_invalid")
	delete(skill, "revision")
	h.do("POST", "/v1/skills", skill, as(token)).want(201).read(&kept)
	skill["revision"], skill["paint"] = 3, "red"
	at(t, h.do("PUT", "/v1/skills/"+string(kept.ID), skill, as(token)).problem(400, "body_invalid"), "/paint")
}
