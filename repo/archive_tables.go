package repo

// archived is a table of which an academy's archive holds the rows.
type archived struct {
	name string
	// key orders the rows: the primary key after the academy.
	key []string
	// rows says which are the academy's, with one ? for it; those with its
	// academy_id unless said.
	rows string
	// later are columns that point at rows of the same table, which are filled
	// in once all are there.
	later []string
	// left are columns that are not archived, with what a row gets instead.
	left map[string]any
	// secret are columns that are archived only where the operator asks for
	// secrets, with what a row gets otherwise.
	secret map[string]any
}

// archivedTables are in an order in which every row finds those that it points
// at. A new table of academies belongs here or in notArchived, and one row of it
// into TestArchiveMovesAcademies.
var archivedTables = []archived{
	{name: "accounts", key: []string{"id"}, rows: "id IN (SELECT account_id FROM members WHERE academy_id = ?)",
		secret: map[string]any{"password": ""}}, // which no password fits
	{name: "academies", key: []string{"id"}, rows: "id = ?",
		left: map[string]any{"progress_form": 0}}, // so that progress is made anew
	{name: "members", key: []string{"id"}, later: []string{"consent_by", "consent_ended_by"}},
	{name: "coach_links", key: []string{"coach_id", "student_id"}},
	{name: "guardianships", key: []string{"guardian_id", "student_id"}},
	{name: "student_groups", key: []string{"id"}},
	{name: "group_students", key: []string{"group_id", "student_id"}},
	{name: "skills", key: []string{"id"}},
	{name: "erased_practice", key: []string{"skill_id"}},
	{name: "programmes", key: []string{"id"}},
	{name: "versions", key: []string{"programme_id", "number"}},
	{name: "invitations", key: []string{"id"}},
	{name: "invitation_programmes", key: []string{"invitation_id"}},
	{name: "assignments", key: []string{"id"}},
	{name: "adjustments", key: []string{"id"}},
	{name: "refusals", key: []string{"student_id", "skill_id", "kind"}},
	{name: "acknowledgements", key: []string{"student_id", "skill_id", "reason"}},
	{name: "tracks", key: []string{"student_id", "skill_id"}},
	{name: "sessions", key: []string{"id"}},
	{name: "comments", key: []string{"session_id", "id"}},
	{name: "rounds", key: []string{"id"}},
	{name: "round_tallies", key: []string{"student_id"}},
	{name: "bags", key: []string{"student_id"}},
	{name: "quiet_words", key: []string{"student_id", "at", "side"}},
	{name: "seasons", key: []string{"student_id"}},
	{name: "lessons", key: []string{"id"}},
	{name: "lesson_media", key: []string{"id"}},
	{name: "lesson_parts", key: []string{"media_id", "part"}},
	{name: "messages", key: []string{"student_id", "id"}},
	{name: "message_reads", key: []string{"student_id", "member_id"}},
	{name: "report_links", key: []string{"id"}},
	{name: "digests", key: []string{"member_id"},
		secret: map[string]any{"token": nil}}, // the next letter makes another
	{name: "events", key: []string{"seq"}},
}

// notArchived are the other tables, each with the reason.
var notArchived = map[string]string{
	"answers":            "kept for a day",
	"apps":               "an app is registered with an installation: the owner registers it anew",
	"connections":        "a connection belongs to an installation: people connect again",
	"authenticators":     "a second factor belongs to an installation: people set one up again",
	"calendars":          "an address belongs to an installation: students make a new one",
	"letters":            "what waits to be sent belongs to an installation",
	"passkeys":           "a passkey belongs to an address: people make new ones",
	"recovery_codes":     "a second factor belongs to an installation",
	"tickets":            "what was begun belongs to an installation",
	"told_reasons":       "learned anew",
	"webhook_deliveries": "what waits to be sent belongs to an installation",
	"webhooks":           "or the receiver would be told by both installations: the owner makes new ones",
	"app_keys":           "a key belongs to an installation: the owner makes new ones",
	"attempts":           "counts of tries belong to an installation",
	"sign_ins":           "a sign-in belongs to an installation: people sign in again",
	"states":             "made anew from the sessions",
	"skill_periods":      "made anew from the sessions",
	"habits":             "made anew from the sessions",
	"priors":             "learned anew",
	"insights":           "learned anew",
	"goose_db_version":   "the schema's own",
	"sqlite_sequence":    "the engine's own",
}
