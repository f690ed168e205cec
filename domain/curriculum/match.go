package curriculum

import (
	"slices"
)

// MatchWeeks says which week of a later content each week of an earlier one has
// become: for each earlier week the 1-based number of the later one, or 0 when
// nothing of it is left. A week that is done the same way (skill, plans, blocks
// and drills; names and texts do not matter) is found wherever it stands, where
// it stood first. What is left over was rewritten, and is matched by its skill.
// No later week is matched twice.
func MatchWeeks(before, after Content) []int {
	became := make([]int, len(before.Weeks))
	taken := make([]bool, len(after.Weeks))
	match := func(same func(a, b Week) bool) {
		try := func(i, j int) {
			if became[i] == 0 && j < len(taken) && !taken[j] && same(before.Weeks[i], after.Weeks[j]) {
				became[i], taken[j] = j+1, true
			}
		}
		for i := range became {
			try(i, i)
		}
		for i := range became {
			for j := range taken {
				try(i, j)
			}
		}
	}
	match(sameWork)
	match(func(a, b Week) bool { return a.Skill == b.Skill })
	return became
}

// sameWork says whether two weeks ask the same of a student.
func sameWork(a, b Week) bool {
	return a.Skill == b.Skill && slices.EqualFunc(a.Plans, b.Plans, func(p, q Plan) bool {
		return p.Minutes == q.Minutes && p.Times == q.Times && slices.EqualFunc(p.Blocks, q.Blocks, func(x, y Block) bool {
			return x.Kind == y.Kind && x.Share == y.Share && a.SkillOf(x) == b.SkillOf(y) && sameDrill(x.Drill, y.Drill)
		})
	})
}

func sameDrill(a, b Drill) bool {
	return slices.Equal(a.Lies, b.Lies) && slices.Equal(a.Clubs, b.Clubs) &&
		slices.Equal(a.Distances, b.Distances) &&
		a.Carry == b.Carry && a.Radius == b.Radius
}
