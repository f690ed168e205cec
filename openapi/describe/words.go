package describe

import (
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/streak"
	"fringework/domain/webhook"
)

// mark is the extension by which a comment says that a text is one of the words
// of a list: extensions:"x-words=reasons".
const mark = "x-words"

// lists are the lists of words that the domain declares.
var lists = map[string]list{
	"block_kinds":      words(curriculum.BlockKinds()),
	"surfaces":         words(curriculum.Surfaces()),
	"variants":         words(curriculum.Variants()),
	"purposes":         words(curriculum.Purposes()),
	"gaps":             words(estimate.Gaps()),
	"quiet_sides":      words(academy.QuietSides()),
	"outcomes":         words(streak.Outcomes()),
	"misses":           words(practice.Misses()),
	"contacts":         words(practice.Contacts()),
	"adjustment_kinds": words(curriculum.AdjustmentKinds()),
	"reasons":          words(advice.Reasons()),
	"moves":            words(advice.Moves()),
	"written_kinds":    words(academy.WrittenKinds()),
	"absences":         words(academy.Absences()),
	"chance_measures":  words(advice.Measures()),
	"match_standings":  words(practice.MatchStandings()),
	"hands":            words(greenside.Hands()),
	"roles":            words(domain.Roles()),
	"lies":             words(greenside.StruckLies()),
	"all_lies":         words(greenside.Lies()),
	"course_verdicts":  words(course.Verdicts()),
	"course_findings":  words(course.Findings()),
	"course_lacks":     words(course.Lacks()),
	"skill_kinds":      words(curriculum.SkillKinds()),
	"webhook_kinds":    words(webhook.Kinds()),
	"webhook_reasons":  words(webhook.Reasons()),
	"webhook_states":   words(webhook.States()),
}

func words[W any](all []W) list {
	var out list
	for _, w := range all {
		out = append(out, fmt.Sprint(w))
	}
	return out
}

// nameWords writes out the lists that schemas and parameters are marked with.
func nameWords(doc object) error {
	var err error
	replace := func(marked, schema object) {
		name, found := marked[mark]
		if !found {
			return
		}
		delete(marked, mark)
		text, _ := name.(string)
		if lists[text] == nil {
			err = fmt.Errorf("describe: there is no list of words %q", name)
			return
		}
		schema["enum"] = slices.Clone(lists[text])
		if about := wordMeanings[text]; about != "" && marked["description"] == nil {
			marked["description"] = about
		}
	}
	walkSchemas(doc, func(s object) { replace(s, s) })
	for _, op := range operations(doc) {
		parameters, _ := op.value["parameters"].(list)
		for _, p := range parameters {
			parameter := p.(object)
			schema, _ := parameter["schema"].(object)
			replace(parameter, schema)
		}
	}
	return err
}
