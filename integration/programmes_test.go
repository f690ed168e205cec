package integration_test

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// plan gives a plan of some blocks.
func plan(minutes int, blocks ...object) object {
	return object{"name": "Long session", "minutes": minutes, "blocks": blocks}
}

// programme is a draft of weeks that train one skill, each with one plan.
func programme(skill domain.ID, plans ...object) object {
	var weeks []object
	for _, p := range plans {
		weeks = append(weeks, object{"skill_id": skill, "plans": []object{p}})
	}
	return object{"name": "Six weeks", "weeks": weeks}
}

// What is wrong with a draft is told where it is, and what would be right.
func testDrafts(t *testing.T, s *service) {
	coach := s.open(t, "Draper").coach
	skill := coach.skill("Pitch", pitchSteps()).ID
	four := func() []object {
		return []object{block("technique", 20), block("stations", 20), block("random", 25), block("test", 35)}
	}
	with := func(edit func([]object)) object {
		all := four()
		edit(all)
		return programme(skill, afterWork(), plan(70, all...))
	}
	limited := with(func(all []object) { all[0]["share"], all[3]["share"] = 46, 9 })
	limited["limits"] = []object{{"kind": "technique", "at_most": 45}, {"kind": "test", "at_least": 15}}
	for _, c := range []struct {
		name, at, say string
		content       object
	}{
		{"shares below 100", "/weeks/1/plans/0/blocks", "week 2, plan 1 (Long session): shares sum to 95; add 5",
			with(func(all []object) { all[3]["share"] = 30 })},
		{"shares above 100", "/weeks/1/plans/0/blocks", "week 2, plan 1 (Long session): shares sum to 103; take away 3",
			with(func(all []object) { all[0]["share"] = 23 })},
		{"no share", "/weeks/1/plans/0/blocks/2/share", "week 2, plan 1 (Long session), block 3 (random)",
			with(func(all []object) { all[2]["share"], all[3]["share"] = 0, 60 })},
		{"less than a minute", "/weeks/0/plans/0/blocks/1/share", "less than a minute",
			programme(skill, plan(20, block("technique", 98), block("test", 2)))},
		{"technique above its limit", "/weeks/1/plans/0/blocks/0/share", "technique has 46 %; the limit is at most 45 %, so take away 1", limited},
		{"test below its limit", "/weeks/1/plans/0/blocks/3/share", "test has 9 %; the limit is at least 15 %, so add 6", limited},
		{"no radius", "/weeks/1/plans/0/blocks/3/drill/radius_m", "no target radius",
			with(func(all []object) { delete(all[3]["drill"].(object), "radius_m") })},
		{"no skill", "/weeks/0/skill_id", "week 1: has no skill", programme("", afterWork())},
		{"no weeks", "/weeks", "add at least one", object{"name": "Empty"}},
		{"no plans", "/weeks/0/plans", "week 1: has no session plan", object{"name": "Bare", "weeks": []object{{"skill_id": skill}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			coach := coach.in(t)
			if c.content["weeks"] != nil {
				for _, w := range c.content["weeks"].([]object) {
					if w["skill_id"] == domain.ID("") {
						delete(w, "skill_id")
					}
				}
			}
			draft := made[api.Programme](coach.caller, "/v1/programmes", c.content)
			if !slices.ContainsFunc(draft.Problems, func(p api.ProblemField) bool { return p.Pointer == c.at && strings.Contains(p.Detail, c.say) }) {
				t.Errorf("the draft has the problems %+v; want one at %s that says %q", draft.Problems, c.at, c.say)
			}
			path := "/v1/programmes/" + string(draft.ID)
			wrongAt(t, coach.post(path+"/versions", nil).problem(422, "programme_unpublishable"), c.at, c.say)
			if kept := read[api.Programme](coach.caller, path); kept.Published != 0 || kept.Revision != draft.Revision {
				t.Errorf("a refused publication left %+v; want the draft as it was", kept)
			}
		})
	}
	t.Run("words and sizes", func(t *testing.T) {
		bad := with(func(all []object) { all[1]["kind"], all[2]["share"] = "warm-up", 101 })
		p := coach.in(t).post("/v1/programmes", bad).problem(422, "programme_invalid")
		wrongAt(t, p, "/weeks/1/plans/0/blocks/1/kind", "warmup")
		wrongAt(t, p, "/weeks/1/plans/0/blocks/2/share", "100")
	})
	t.Run("ladders", func(t *testing.T) {
		for at, tiers := range map[string][]object{
			"/ladder/tiers/1":          {{"run": 9, "radius_m": wide}, {"run": 9, "radius_m": wide}},
			"/ladder/tiers/0/holed":    {{"run": 3, "radius_m": wide, "holed": 4}},
			"/ladder/tiers/0/radius_m": {{"run": 9, "radius_m": 31}},
			"/ladder/tiers":            {},
		} {
			p := coach.in(t).post("/v1/skills", object{"name": "Pitch", "kind": "pitch", "ladder": object{"tiers": tiers}}).problem(422, "skill_invalid")
			wrongAt(t, p, at, "")
		}
	})
}

// Minutes are given out by largest remainder (worked by hand): shares that come
// to whole minutes get them; 25, 25, 10, 25 and 15 %
// of 30 are 7.5, 7.5, 3, 7.5 and 4.5, so the first two round up; and 33, 33 and 34 % of 47 are 15.51,
// 15.51 and 15.98, so the third and the first round up.
func testSplits(t *testing.T, s *service) {
	coach := s.open(t, "Splitter").coach
	skill := coach.skill("Pitch", pitchSteps()).ID
	for _, c := range []struct {
		minutes int
		shares  []int
		want    []int
	}{
		{80, []int{20, 35, 15, 30}, []int{16, 28, 12, 24}},
		{30, []int{25, 25, 10, 25, 15}, []int{8, 8, 3, 7, 4}},
		{47, []int{33, 33, 34}, []int{16, 15, 16}},
	} {
		var blocks []object
		for _, share := range c.shares {
			blocks = append(blocks, block("test", share))
		}
		id := coach.publish(programme(skill, plan(c.minutes, blocks...)))
		v := read[api.Version](coach.caller, "/v1/programmes/"+string(id)+"/versions/1")
		var got []int
		for _, b := range v.Content.Weeks[0].Plans[0].Blocks {
			got = append(got, b.Minutes)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%d minutes of %v %% are %v; want %v", c.minutes, c.shares, got, c.want)
		}
	}
}

// Versions are frozen; what changed between two can be read.
func testVersions(t *testing.T, s *service) {
	a := s.open(t, "Verity")
	coach := a.coach
	skill := coach.skill("Pitch", pitchSteps())
	content := programme(skill.ID, afterWork(), afterWork())
	id := coach.publish(content)
	path := "/v1/programmes/" + string(id)
	first := coach.get(path + "/versions/1").want(200)

	coach.post(path+"/versions", nil).problem(409, "nothing_changed")
	blocks := content["weeks"].([]object)[1]["plans"].([]object)[0]["blocks"].([]object)
	blocks[0]["share"], blocks[3]["share"] = 23, 21
	coach.put(path, content).want(200)
	harder := object{"name": "Pitch", "kind": "pitch", "ladder": object{"tiers": []object{{"run": 12, "radius_m": wide}}}}
	coach.put("/v1/skills/"+string(skill.ID), harder).want(200)
	second := coach.post(path+"/versions", nil).want(201)
	if at := second.header.Get("Location"); at != path+"/versions/2" {
		t.Errorf("published at %s; want %s/versions/2", at, path)
	}
	if now := coach.get(path + "/versions/1").want(200); string(now.body) != string(first.body) || now.header.Get("ETag") != first.header.Get("ETag") {
		t.Errorf("version 1 changed from\n%s\nto\n%s", first.body, now.body)
	}
	list := read[api.VersionList](coach.caller, path+"/versions")
	if len(list.Items) != 2 || list.Items[0].Number != 2 {
		t.Errorf("versions %+v; want 2 and 1", list.Items)
	}
	d := read[api.Differences](coach.caller, path+"/differences?from=1&to=2")
	changed := map[string]string{}
	for _, x := range d.Items {
		changed[x.Pointer] = x.Before + " > " + x.After
	}
	for pointer, want := range map[string]string{"/weeks/1/plans/0/blocks/0/share": "30 > 23", "/weeks/1/plans/0/blocks/3/share": "14 > 21"} {
		if changed[pointer] != want {
			t.Errorf("differences %v; want %s at %s", changed, want, pointer)
		}
	}
	if len(d.Items) != 3 || !slices.ContainsFunc(d.Items, func(x api.Difference) bool { return strings.Contains(x.Before+x.After, "12") }) {
		t.Errorf("differences %+v; want the two shares and the ladder", d.Items)
	}
	if same := read[api.Differences](coach.caller, path+"/differences?from=2&to=2"); len(same.Items) != 0 {
		t.Errorf("version 2 differs from itself by %+v", same.Items)
	}
	coach.get(path+"/versions/3").problem(404, "not_found")
	coach.get(path+"/differences?from=1&to=3").problem(404, "not_found")

	clone := made[api.Programme](coach.caller, path+"/clone", object{"name": "Winter"})
	if clone.ID == id || clone.Published != 0 || clone.Draft.Name != "Winter" || len(clone.Draft.Weeks) != 2 {
		t.Errorf("the clone is %+v; want an unpublished draft called Winter", clone)
	}
	coach.post(path+"/archive", nil).want(200)
	coach.post(path+"/versions", nil).problem(409, "programme_archived")
	listed := func(query string) bool {
		page := read[api.ProgrammePage](coach.caller, "/v1/programmes?limit=200"+query)
		return slices.ContainsFunc(page.Items, func(p api.ProgrammeSummary) bool { return p.ID == id })
	}
	if listed("") || !listed("&archived=true") {
		t.Error("an archived programme is listed only when asked for")
	}
	coach.post(path+"/restore", nil).want(200)
	if !listed("") {
		t.Error("a restored programme is not listed")
	}
	coach.post("/v1/skills/"+string(skill.ID)+"/archive", nil).want(200)
	content["name"] = "Seven weeks"
	coach.put(path, content).want(200)
	wrongAt(t, coach.post(path+"/versions", nil).problem(422, "programme_unpublishable"), "/weeks/0/skill_id", "is archived")
}

// A document made by export makes the same programme when it is imported.
func testDocuments(t *testing.T, s *service) {
	from, to := s.open(t, "Exporter").coach, s.open(t, "Importer").coach
	yaml := readFile(t, "../openapi/examples/six-weeks.yaml")
	var first api.Programme
	from.do("POST", "/v1/programmes/import", yaml, header("Content-Type", "application/yaml")).want(201).into(&first)
	from.post("/v1/programmes/"+string(first.ID)+"/versions", nil).want(201)
	if first.Draft.Name != "Six weeks around the green" || len(first.Draft.Weeks) != 6 || len(first.Problems) != 0 {
		t.Errorf("imported %s of %d weeks with %+v; want the six weeks, ready to publish", first.Draft.Name, len(first.Draft.Weeks), first.Problems)
	}
	for _, media := range []string{"application/yaml", "application/json"} {
		t.Run(media, func(t *testing.T) {
			from, to := from.in(t), to.in(t)
			accept := header("Accept", media)
			document := from.get("/v1/programmes/"+string(first.ID)+"/document", accept).want(200)
			if got := document.header.Get("Content-Type"); got != media {
				t.Errorf("exported as %s; want %s", got, media)
			}
			version := from.get("/v1/programmes/"+string(first.ID)+"/document?version=1", accept).want(200)
			if string(version.body) != string(document.body) {
				t.Errorf("version 1 as a document is\n%s\nand the draft that it was made of\n%s", version.body, document.body)
			}
			var again api.Programme
			to.do("POST", "/v1/programmes/import", string(document.body), header("Content-Type", media)).want(201).into(&again)
			second := to.get("/v1/programmes/"+string(again.ID)+"/document", accept).want(200)
			if string(second.body) != string(document.body) {
				t.Errorf("after a round trip\n%s\nwant\n%s", second.body, document.body)
			}
			// Identities apart, the programmes are the same.
			want, got := names(from.caller, first), names(to.caller, again)
			if !maps.Equal(got, want) {
				t.Errorf("the programme is\n%v\nwant\n%v", got, want)
			}
			tag := document.header.Get("ETag")
			from.get("/v1/programmes/"+string(first.ID)+"/document", accept, header("If-None-Match", tag)).want(304)
		})
	}
	t.Run("the same skills are found again", func(t *testing.T) {
		before := read[api.SkillPage](from.caller.in(t), "/v1/skills?limit=200")
		from.in(t).do("POST", "/v1/programmes/import", yaml, header("Content-Type", "application/yaml")).want(201)
		if after := read[api.SkillPage](from.caller.in(t), "/v1/skills?limit=200"); len(after.Items) != len(before.Items) {
			t.Errorf("%d skills became %d; want the same ones used", len(before.Items), len(after.Items))
		}
	})
	t.Run("refusals", func(t *testing.T) {
		from := from.in(t)
		send := func(text string) answer {
			return from.do("POST", "/v1/programmes/import", text, header("Content-Type", "application/yaml"))
		}
		p := send(strings.Replace(yaml, "share: 20", "share: 120", 1)).problem(422, "programme_invalid")
		wrongAt(t, p, "/weeks/0/plans/0/blocks/0/share", "line ")
		wrongAt(t, send("format: fringework-programme/1\nname: X\nwekes: []\n").problem(400, "body_invalid"), "/wekes", "line 3")
		send("name: [").want(400)
		from.get("/v1/programmes/"+string(first.ID)+"/document", header("Accept", "text/html")).problem(406, "not_acceptable")
		from.do("POST", "/v1/programmes/import", yaml, header("Content-Type", "text/plain")).problem(415, "media_type")
	})
}

// names flattens a programme, with the names of skills for their identities.
func names(c *caller, p api.Programme) map[string]string {
	c.Helper()
	skills := map[string]string{"": ""}
	for _, s := range read[api.SkillPage](c, "/v1/skills?limit=200").Items {
		skills[string(s.ID)] = s.Name
	}
	var tree any
	c.get("/v1/programmes/" + string(p.ID)).want(200).into(&tree)
	flat := map[string]string{}
	flatten(flat, "", tree.(map[string]any)["draft"], skills)
	return flat
}

func flatten(into map[string]string, at string, node any, words map[string]string) {
	switch n := node.(type) {
	case map[string]any:
		for name, child := range n {
			flatten(into, at+"/"+name, child, words)
		}
	case []any:
		for i, child := range n {
			flatten(into, at+"/"+strconv.Itoa(i), child, words)
		}
	case float64:
		into[at] = strconv.FormatFloat(n, 'g', -1, 64)
	case string:
		if word, ok := words[n]; ok {
			n = word
		}
		into[at] = n
	}
}
