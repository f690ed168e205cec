package curriculum

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fringework/domain"
	"fringework/domain/streak"
)

// Change is one difference between two versions.
type Change struct {
	// Pointer is an RFC 6901 pointer into the later content, or into the
	// earlier one when the thing was removed.
	Pointer string
	// Place says where in words: "week 2, plan 1, block 3".
	Place string
	// What names the thing: "share".
	What string
	// Before and After are its values as text; empty when it was not there.
	Before string
	After  string
}

// Week is the week that the change is in, from 1; 0 for what concerns the whole
// programme or a skill.
func (c Change) Week() int {
	rest, within := strings.CutPrefix(c.Pointer, "/weeks/")
	if !within {
		return 0
	}
	number, _, _ := strings.Cut(rest, "/")
	week, err := strconv.Atoi(number)
	if err != nil {
		return 0
	}
	return week + 1
}

// Diff lists what changed between two versions of a programme, in the order of
// the programme: the whole and the skills first, then week by week. Weeks, plans
// and blocks are matched by position: a coach reads a programme as "week 3", not
// as an identity. Lengths are written by write.
func Diff(before, after Version, write func(domain.Length) string) []Change {
	d := differ{before: before, after: after, write: write}
	d.compare("/name", "programme", "name", before.Content.Name, after.Content.Name)
	d.compare("/text", "programme", "text", before.Content.Text, after.Content.Text)
	d.compare("/limits", "programme", "limits", limitText(before.Content.Limits), limitText(after.Content.Limits))
	d.skills()
	pair(before.Content.Weeks, after.Content.Weeks, func(i int, a, b *Week) {
		d.week(fmt.Sprintf("/weeks/%d", i), fmt.Sprintf("week %d", i+1), a, b)
	})
	return d.changes
}

type differ struct {
	before, after Version
	write         func(domain.Length) string
	changes       []Change
}

func (d *differ) compare(pointer, place, what, before, after string) {
	if before != after {
		d.note(pointer, place, what, before, after)
	}
}

func (d *differ) note(pointer, place, what, before, after string) {
	d.changes = append(d.changes, Change{Pointer: pointer, Place: place, What: what, Before: before, After: after})
}

// compareWords compares lists of words, which may look alike when written out.
func (d *differ) compareWords(pointer, place, what string, before, after []string) {
	if !slices.Equal(before, after) {
		d.note(pointer, place, what, strings.Join(before, ", "), strings.Join(after, ", "))
	}
}

// compareSkill tells by identity: what became of a skill itself is told once,
// and two skills may bear one name.
func (d *differ) compareSkill(pointer, place string, before, after domain.ID) {
	if before == after {
		return
	}
	a, b := skillName(d.before, before), skillName(d.after, after)
	if a == b {
		a, b = fmt.Sprintf("%s (%s)", a, before), fmt.Sprintf("%s (%s)", b, after)
	}
	d.note(pointer, place, "skill", a, b)
}

// pair walks two lists by position; a missing partner is nil.
func pair[T any](a, b []T, visit func(i int, a, b *T)) {
	for i := range max(len(a), len(b)) {
		var x, y *T
		if i < len(a) {
			x = &a[i]
		}
		if i < len(b) {
			y = &b[i]
		}
		visit(i, x, y)
	}
}

// both reports whether the thing stands on both sides, noting it whole when it
// was added or removed.
func both[T any](d *differ, pointer, place string, a, b *T, name func(T) string) bool {
	switch {
	case a == nil:
		d.compare(pointer, place, "added", "", name(*b))
	case b == nil:
		d.compare(pointer, place, "removed", name(*a), "")
	default:
		return true
	}
	return false
}

func (d *differ) skills() {
	for _, s := range d.after.Skills {
		old, ok := d.before.SkillByID(s.ID)
		if !ok {
			continue // told where a week or a block takes it up
		}
		place := "skill " + s.Name
		d.compare("/skills", place, "name", old.Name, s.Name)
		d.compare("/skills", place, "kind", string(old.Kind), string(s.Kind))
		d.compare("/skills", place, "text", old.Text, s.Text)
		if !old.Ladder.Equal(s.Ladder) {
			d.note("/skills", place, "ladder", ladderText(old, d.write), ladderText(s, d.write))
		}
		for _, kind := range BlockKinds() {
			d.compare("/skills", place, "drill of a "+string(kind)+" block", d.own(old, kind), d.own(s, kind))
		}
	}
}

// own writes what the coach gave for a kind of block; empty when nothing.
func (d *differ) own(s Skill, kind BlockKind) string {
	var parts []string
	for _, own := range s.Drills {
		if own.Kind != kind {
			continue
		}
		parts = append(parts, own.Text, strings.Join(own.Lies, ", "), d.lengths(own.Distances...), strings.Join(own.Clubs, ", "))
		if own.Carry > 0 {
			parts = append(parts, fmt.Sprintf("%d %% in the air", own.Carry))
		}
	}
	return strings.Join(slices.DeleteFunc(parts, func(part string) bool { return part == "" }), "; ")
}

func (d *differ) week(pointer, place string, a, b *Week) {
	if !both(d, pointer, place, a, b, func(w Week) string { return nonEmpty(w.Title, "untitled") }) {
		return
	}
	d.compare(pointer+"/title", place, "title", a.Title, b.Title)
	d.compare(pointer+"/text", place, "text", a.Text, b.Text)
	d.compareSkill(pointer+"/skill_id", place, a.Skill, b.Skill)
	pair(a.Plans, b.Plans, func(i int, p, q *Plan) {
		d.plan(fmt.Sprintf("%s/plans/%d", pointer, i), fmt.Sprintf("%s, plan %d", place, i+1), p, q)
	})
}

func (d *differ) plan(pointer, place string, a, b *Plan) {
	if !both(d, pointer, place, a, b, func(p Plan) string { return nonEmpty(p.Name, fmt.Sprintf("%d minutes", p.Minutes)) }) {
		return
	}
	d.compare(pointer+"/name", place, "name", a.Name, b.Name)
	d.compare(pointer+"/minutes", place, "minutes", fmt.Sprint(a.Minutes), fmt.Sprint(b.Minutes))
	d.compare(pointer+"/times", place, "times a week", fmt.Sprint(a.Times), fmt.Sprint(b.Times))
	pair(a.Blocks, b.Blocks, func(i int, x, y *Block) {
		d.block(fmt.Sprintf("%s/blocks/%d", pointer, i), fmt.Sprintf("%s, block %d", place, i+1), x, y)
	})
}

func (d *differ) block(pointer, place string, a, b *Block) {
	if !both(d, pointer, place, a, b, func(x Block) string { return fmt.Sprintf("%s, %d %%", x.Kind, x.Share) }) {
		return
	}
	d.compare(pointer+"/kind", place, "kind", string(a.Kind), string(b.Kind))
	d.compare(pointer+"/share", place, "share", fmt.Sprint(a.Share), fmt.Sprint(b.Share))
	d.compareSkill(pointer+"/skill_id", place, a.Skill, b.Skill)
	x, y, drill := a.Drill, b.Drill, pointer+"/drill"
	d.compare(drill+"/text", place, "text", x.Text, y.Text)
	d.compareWords(drill+"/lies", place, "lies", x.Lies, y.Lies)
	if !slices.Equal(x.Distances, y.Distances) {
		d.note(drill+"/distances_m", place, "distances", d.lengths(x.Distances...), d.lengths(y.Distances...))
	}
	d.compareWords(drill+"/clubs", place, "clubs", x.Clubs, y.Clubs)
	d.compare(drill+"/carry_percent", place, "share in the air", fmt.Sprint(x.Carry), fmt.Sprint(y.Carry))
	if x.Radius != y.Radius {
		d.note(drill+"/radius_m", place, "target radius", d.lengths(x.Radius), d.lengths(y.Radius))
	}
	d.compare(drill+"/more_of_misses", place, "more of what is missed", yesNo(x.MoreOfMisses), yesNo(y.MoreOfMisses))
	d.compare(drill+"/ask_contact", place, "thin or fat is asked", yesNo(x.AskContact), yesNo(y.AskContact))
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func nonEmpty(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

func skillName(v Version, id domain.ID) string {
	if s, ok := v.SkillByID(id); ok {
		return s.Name
	}
	return string(id)
}

func limitText(limits []Limit) string {
	parts := make([]string, len(limits))
	for i, l := range limits {
		parts[i] = fmt.Sprintf("%s %d to %d %%", l.Kind, l.AtLeast, l.AtMost)
	}
	return strings.Join(parts, "; ")
}

func ladderText(s Skill, write func(domain.Length) string) string {
	parts := make([]string, len(s.Ladder.Tiers))
	for i, t := range s.Ladder.Tiers {
		parts[i] = tierText(t, write)
	}
	text := strings.Join(parts, "; ")
	if s.Ladder.TestOnly {
		text += "; tests only"
	} else if s.Ladder.Technique {
		text += "; technique, too"
	}
	return text
}

// tierText writes a step: "9 in a row inside 5 ft, 1 holed".
func tierText(t streak.Tier, write func(domain.Length) string) string {
	text := fmt.Sprintf("%d in a row inside %s", t.Run, write(t.Radius))
	if t.Holed > 0 {
		text += fmt.Sprintf(", %d holed", t.Holed)
	}
	return text
}

func (d *differ) lengths(all ...domain.Length) string {
	parts := make([]string, len(all))
	for i, l := range all {
		parts[i] = d.write(l)
	}
	return strings.Join(parts, ", ")
}
