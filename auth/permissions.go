package auth

import (
	"maps"
	"slices"
	"strings"

	"fringework/domain"
)

// Scope is what an application key, or an app that a member connects, may be given.
type Scope string

// The scopes.
const (
	SessionsRead   Scope = "sessions:read"
	ProgressRead   Scope = "progress:read"
	ProgrammesRead Scope = "programmes:read"
	MembersRead    Scope = "members:read"
	EventsRead     Scope = "events:read"
	CalcUse        Scope = "calc:use"
)

// AllScopes lists every scope, in the order they are shown.
func AllScopes() Scopes {
	return Scopes{SessionsRead, ProgressRead, ProgrammesRead, MembersRead, EventsRead, CalcUse}
}

// Scopes is a set of scopes. The zero value is the empty set.
type Scopes []Scope

// ParseScopes reads a space-separated list (RFC 6749 §3.3) and drops repeats.
// ok is false when it holds anything but known scopes.
func ParseScopes(text string) (s Scopes, ok bool) {
	all := AllScopes()
	for word := range strings.FieldsSeq(text) {
		if !all.Has(Scope(word)) {
			return nil, false
		}
		if !s.Has(Scope(word)) {
			s = append(s, Scope(word))
		}
	}
	return s, true
}

// Has reports whether the set holds a scope.
func (s Scopes) Has(scope Scope) bool { return slices.Contains(s, scope) }

// Without gives the scopes of s that are not in other.
func (s Scopes) Without(other Scopes) Scopes {
	return slices.DeleteFunc(slices.Clone(s), other.Has)
}

// Within gives the scopes of s that are also in other.
func (s Scopes) Within(other Scopes) Scopes { return s.Without(s.Without(other)) }

// String writes the set as ParseScopes reads it.
func (s Scopes) String() string {
	return join(s, " ")
}

// listed writes names for a sentence.
func listed[S ~string](names []S) string { return join(names, ", ") }

func join[S ~string](names []S, between string) string {
	words := make([]string, len(names))
	for i, name := range names {
		words[i] = string(name)
	}
	return strings.Join(words, between)
}

// Action is something that can be asked for; every route names one.
type Action string

// The actions.
const (
	// AccountRead and AccountWrite are about the asker's own account.
	AccountRead  Action = "account.read"
	AccountWrite Action = "account.write"

	AcademyRead  Action = "academy.read"
	AcademyWrite Action = "academy.write"
	// AcademyExport is all that the academy has, at once.
	AcademyExport Action = "academy.export"

	MemberList Action = "member.list"
	MemberRead Action = "member.read"
	// MemberWrite is name, time zone and units, of oneself or, for those who
	// teach, of a student.
	MemberWrite  Action = "member.write"
	MemberRemove Action = "member.remove"
	// MemberErase erases who was removed, and PractisedRead counts what was practised,
	// also by those who were erased.
	MemberErase   Action = "member.erase"
	PractisedRead Action = "practised.read"
	// JuniorList is whom a guardian looks after. GuardianLet is the word of a student
	// who is a junior no more, and GuardianEnd ends that a guardian reads.
	JuniorList  Action = "junior.list"
	GuardianLet Action = "guardian.let"
	GuardianEnd Action = "guardian.end"
	// CalendarManage is the secret address of a student's calendar.
	CalendarManage Action = "calendar.manage"
	// DigestManage is whether the asker wants the academy's weekly letter.
	DigestManage Action = "digest.manage"
	// PasswordHand makes a link with which a member sets a new password.
	PasswordHand Action = "password.hand"
	// RoleWrite gives a member another role.
	RoleWrite Action = "role.write"
	// LinkWrite ties coaches and students.
	LinkWrite Action = "link.write"
	// ConsentWrite gives or withdraws consent for a junior.
	ConsentWrite Action = "consent.write"

	GroupRead  Action = "group.read"
	GroupWrite Action = "group.write"

	InvitationMake   Action = "invitation.make"
	InvitationList   Action = "invitation.list"
	InvitationRevoke Action = "invitation.revoke"

	// KeyManage makes, lists and revokes application keys.
	KeyManage Action = "key.manage"
	// AppManage registers, lists and revokes apps of others, and AppConnect lets
	// one in on one's own account.
	AppManage  Action = "app.manage"
	AppConnect Action = "app.connect"

	SkillRead  Action = "skill.read"
	SkillWrite Action = "skill.write"

	ProgrammeRead    Action = "programme.read"
	ProgrammeWrite   Action = "programme.write"
	ProgrammePublish Action = "programme.publish"

	AssignmentRead  Action = "assignment.read"
	AssignmentWrite Action = "assignment.write"
	// AdjustmentRead and AdjustmentWrite are a coach's changes for one student.
	AdjustmentRead  Action = "adjustment.read"
	AdjustmentWrite Action = "adjustment.write"
	// StartTake takes what is proposed for oneself, or a student of one's own, after a
	// first test.
	StartTake Action = "start.take"
	// NowRead is "what do I do now".
	NowRead Action = "now.read"
	// QuietSay is the word of the student, of a junior's guardian or of a coach on
	// quiet tests.
	QuietSay Action = "quiet.say"
	// BagWrite sets a student's clubs, and SeasonWrite their season.
	BagWrite    Action = "bag.write"
	SeasonWrite Action = "season.write"

	SessionRead  Action = "session.read"
	SessionWrite Action = "session.write"
	RoundRead    Action = "round.read"
	RoundWrite   Action = "round.write"
	CommentRead  Action = "comment.read"
	CommentWrite Action = "comment.write"
	// CommentReply answers comments, and changes and deletes one's own.
	CommentReply Action = "comment.reply"

	// MessageRead is a student's thread of messages, MessageWrite adding to it, and
	// MessageMany writing to many, and seeing whose replies are new.
	MessageRead  Action = "message.read"
	MessageWrite Action = "message.write"
	MessageMany  Action = "message.many"
	// LessonRead is lessons without coaches' notes, LessonWrite planning, preparing and
	// writing them, MediaRead looking at
	// their photos and clips, MediaDelete deleting one.
	LessonRead  Action = "lesson.read"
	LessonWrite Action = "lesson.write"
	MediaRead   Action = "media.read"
	MediaDelete Action = "media.delete"
	// ReportShare makes, lists and withdraws links to a student's report.
	ReportShare Action = "report.share"

	ProgressSee   Action = "progress.read"
	DashboardRead Action = "dashboard.read"
	// InsightRead is what all students together teach about a skill.
	InsightRead Action = "insight.read"
	// ReasonAcknowledge silences a reason to look at a student.
	ReasonAcknowledge Action = "reason.acknowledge"
	// EventRead is the academy's log, which is the audit trail.
	EventRead Action = "event.read"
	// ChangeRead is following what changed of what the asker may read.
	ChangeRead Action = "change.read"
	// WebhookManage is the addresses that are told of events.
	WebhookManage Action = "webhook.manage"
	// CalcRun is the calculators, which need nobody's data.
	CalcRun Action = "calc.use"
)

// Permission says who may try an action. Whom and what they then see (their
// own, their students', the academy's) is decided by the services of the
// domain.
type Permission struct {
	Roles []domain.Role
	// Scope lets application keys try it; empty means that none may.
	Scope Scope
	// Anywhere lets a signed-in account try it that has chosen no academy.
	Anywhere bool
}

var (
	everyone  = []domain.Role{domain.Owner, domain.Coach, domain.Student, domain.Guardian}
	teachers  = []domain.Role{domain.Owner, domain.Coach}
	players   = []domain.Role{domain.Owner, domain.Coach, domain.Student}
	owners    = []domain.Role{domain.Owner}
	consenter = []domain.Role{domain.Owner, domain.Guardian}
	students  = []domain.Role{domain.Student}
	guardians = []domain.Role{domain.Guardian}
	enders    = []domain.Role{domain.Owner, domain.Student, domain.Guardian}
)

// permissions is the one table of who may do what.
var permissions = map[Action]Permission{
	AccountRead:  {Roles: everyone, Anywhere: true},
	AccountWrite: {Roles: everyone, Anywhere: true},

	AcademyRead:  {Roles: everyone, Scope: MembersRead},
	AcademyWrite: {Roles: owners},

	AcademyExport: {Roles: owners},

	MemberList:   {Roles: teachers, Scope: MembersRead},
	MemberRead:   {Roles: everyone, Scope: MembersRead},
	MemberWrite:  {Roles: everyone},
	MemberRemove: {Roles: owners},
	MemberErase:  {Roles: owners},
	PasswordHand: {Roles: teachers},
	RoleWrite:    {Roles: owners},
	LinkWrite:    {Roles: owners},
	ConsentWrite: {Roles: consenter},

	PractisedRead:  {Roles: owners},
	JuniorList:     {Roles: guardians},
	GuardianLet:    {Roles: students},
	GuardianEnd:    {Roles: enders},
	CalendarManage: {Roles: students},
	DigestManage:   {Roles: players},

	GroupRead:  {Roles: teachers, Scope: MembersRead},
	GroupWrite: {Roles: teachers},

	InvitationMake:   {Roles: teachers},
	InvitationList:   {Roles: teachers},
	InvitationRevoke: {Roles: teachers},

	KeyManage:  {Roles: owners},
	AppManage:  {Roles: owners},
	AppConnect: {Roles: players},

	SkillRead:  {Roles: everyone, Scope: ProgrammesRead},
	SkillWrite: {Roles: teachers},

	ProgrammeRead:    {Roles: teachers, Scope: ProgrammesRead},
	ProgrammeWrite:   {Roles: teachers},
	ProgrammePublish: {Roles: teachers},

	AssignmentRead:  {Roles: everyone, Scope: ProgrammesRead},
	AssignmentWrite: {Roles: teachers},
	AdjustmentRead:  {Roles: everyone, Scope: ProgressRead},
	AdjustmentWrite: {Roles: teachers},
	StartTake:       {Roles: players},
	NowRead:         {Roles: everyone, Scope: ProgressRead},
	BagWrite:        {Roles: players},
	QuietSay:        {Roles: everyone},
	SeasonWrite:     {Roles: players},

	SessionRead:  {Roles: everyone, Scope: SessionsRead},
	SessionWrite: {Roles: players},
	RoundRead:    {Roles: everyone, Scope: SessionsRead},
	RoundWrite:   {Roles: players},
	CommentRead:  {Roles: everyone, Scope: SessionsRead},
	CommentWrite: {Roles: teachers},
	CommentReply: {Roles: players},

	MessageRead:  {Roles: everyone},
	MessageWrite: {Roles: players},
	MessageMany:  {Roles: teachers},
	ReportShare:  {Roles: teachers},

	LessonRead:  {Roles: everyone, Scope: ProgressRead},
	LessonWrite: {Roles: teachers},
	MediaRead:   {Roles: everyone},
	MediaDelete: {Roles: everyone},

	ProgressSee:   {Roles: everyone, Scope: ProgressRead},
	DashboardRead: {Roles: teachers, Scope: ProgressRead},
	InsightRead:   {Roles: teachers, Scope: ProgressRead},

	ReasonAcknowledge: {Roles: teachers},

	EventRead:     {Roles: owners, Scope: EventsRead},
	ChangeRead:    {Roles: everyone, Scope: EventsRead},
	WebhookManage: {Roles: owners},
	CalcRun:       {Roles: everyone, Scope: CalcUse},
}

// Actions lists every action, in alphabetical order.
func Actions() []Action { return slices.Sorted(maps.Keys(permissions)) }

// PermissionOf gives the row of the table for an action; the zero Permission,
// which nobody has, for one that is not in it.
func PermissionOf(a Action) Permission {
	p := permissions[a]
	p.Roles = slices.Clone(p.Roles)
	return p
}

// May reports whether a member with a role, or, when role is empty, an
// application key with scopes, may try an action. Unknown actions are refused.
func May(role domain.Role, scopes Scopes, a Action) bool {
	p, known := permissions[a]
	if !known {
		return false
	}
	if role != "" {
		return slices.Contains(p.Roles, role)
	}
	return p.Scope != "" && scopes.Has(p.Scope)
}

// reads are the actions that read what events are about, by the first word of
// their kinds.
var reads = map[string]Action{
	"academy": AcademyRead, "export": AcademyExport, "import": AcademyExport, "member": MemberRead, "coach": MemberRead, "consent": MemberRead, "guardian": MemberRead, "group": GroupRead,
	"invitation": InvitationList, "key": KeyManage, "app": AppManage, "password": KeyManage, "email": KeyManage, "digest": KeyManage, "reset-link": KeyManage, "second-factor": KeyManage, "sign-in": KeyManage, "webhook": WebhookManage,
	"skill": SkillRead, "programme": ProgrammeRead, "assignment": AssignmentRead, "adjustment": AdjustmentRead, "proposal": DashboardRead,
	"session": SessionRead, "round": RoundRead, "comment": CommentRead, "message": MessageRead, "report": ReportShare, "lesson": LessonRead, "lesson-media": LessonRead,
	"bag": NowRead, "season": NowRead, "calendar": NowRead, "milestone": ProgressSee, "quiet-tests": ProgressSee, "progress": ProgressSee, "reason": DashboardRead,
}

// MayHear reports whether the asker may be told of events of a kind: whoever may
// read what they are about. Of kinds that are not known nobody is told.
func (i Identity) MayHear(kind string) bool {
	noun, _, _ := strings.Cut(kind, ".")
	return i.May(reads[noun])
}
