package auth

import (
	"slices"

	"fringework/domain"
)

// scopeWords says in plain words what an app asks for: of a student about
// themselves, of those who teach about their students or the academy.
var scopeWords = map[Scope]struct{ student, coach, owner string }{
	SessionsRead:   {"See your practice, ball by ball, your rounds and your coaches' comments", "See your students' practice, ball by ball, their rounds and the comments", "See all students' practice, ball by ball, their rounds and the comments"},
	ProgressRead:   {"See your progress and what you should practise now", "See your students' progress, what they should practise now and who needs attention", "See all students' progress, what they should practise now and who needs attention"},
	ProgrammesRead: {"See your programme and the skills you train", "See the programmes, the skills and what your students were given", "See the programmes, the skills and what the students were given"},
	MembersRead:    {"See your name, your coaches' names and your academy's", "See the names and e-mails of your students and of the staff, and the groups", "See the names and e-mails of everybody in the academy, and the groups"},
	EventsRead:     {"Be told when something about your practice changes", "Be told when something about your students changes", "See the log of everything that happens in the academy"},
	CalcUse:        {"Run calculations, which need nobody's data", "Run calculations, which need nobody's data", "Run calculations, which need nobody's data"},
}

// Never is what no app can do, whatever it is allowed.
var Never = []string{
	"change or delete anything",
	"see your password, or sign in as you",
	"read or write messages",
	"see more than you see yourself",
}

// Words says what a scope lets an app see of whoever has a role.
func (s Scope) Words(role domain.Role) string {
	words := scopeWords[s]
	switch role {
	case domain.Owner:
		return words.owner
	case domain.Coach:
		return words.coach
	}
	return words.student
}

// Useful gives the scopes of s that let an app do anything for a role.
func (s Scopes) Useful(role domain.Role) Scopes {
	return slices.DeleteFunc(slices.Clone(s), func(scope Scope) bool {
		for _, p := range permissions {
			if p.Scope == scope && slices.Contains(p.Roles, role) {
				return false
			}
		}
		return true
	})
}
