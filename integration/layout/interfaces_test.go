package layout

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/webhook"
)

// most is how many methods an interface may have without a reason.
const most = 12

// larger are the interfaces with more, and why.
var larger = map[string]string{
	"academy.AssignmentStore": "moving an assignment touches its version, its adjustments and the progress judged by it in one transaction",
	"academy.ReadStore":       "what a student does now is their programme, their practice and their clubs, read in one transaction",
	"auth.Tx":                 "signing up touches accounts, members, sign-ins and the log in one transaction",
}

// interfaces are those that auth and the domain declare.
var interfaces = map[string]reflect.Type{
	"auth.AccountTx":     reflect.TypeFor[auth.AccountTx](),
	"auth.AppTx":         reflect.TypeFor[auth.AppTx](),
	"auth.AttemptTx":     reflect.TypeFor[auth.AttemptTx](),
	"auth.FactorTx":      reflect.TypeFor[auth.FactorTx](),
	"auth.FamilyTx":      reflect.TypeFor[auth.FamilyTx](),
	"auth.InvitationTx":  reflect.TypeFor[auth.InvitationTx](),
	"auth.KeyTx":         reflect.TypeFor[auth.KeyTx](),
	"auth.LeavingTx":     reflect.TypeFor[auth.LeavingTx](),
	"auth.Limiter":       reflect.TypeFor[auth.Limiter](),
	"auth.MailTx":        reflect.TypeFor[auth.MailTx](),
	"auth.MemberTx":      reflect.TypeFor[auth.MemberTx](),
	"auth.SharedBuckets": reflect.TypeFor[auth.SharedBuckets](),
	"auth.Store":         reflect.TypeFor[auth.Store](),
	"auth.TicketTx":      reflect.TypeFor[auth.TicketTx](),
	"auth.Tx":            reflect.TypeFor[auth.Tx](),

	"domain.EventLog":   reflect.TypeFor[domain.EventLog](),
	"domain.Transactor": reflect.TypeFor[domain.Transactor[int]](),

	"academy.AcknowledgementStore": reflect.TypeFor[academy.AcknowledgementStore](),
	"academy.AdjustmentStore":      reflect.TypeFor[academy.AdjustmentStore](),
	"academy.Adjusting":            reflect.TypeFor[academy.Adjusting](),
	"academy.AssignmentStore":      reflect.TypeFor[academy.AssignmentStore](),
	"academy.BagStore":             reflect.TypeFor[academy.BagStore](),
	"academy.Bagging":              reflect.TypeFor[academy.Bagging](),
	"academy.CalendarStore":        reflect.TypeFor[academy.CalendarStore](),
	"academy.DigestStore":          reflect.TypeFor[academy.DigestStore](),
	"academy.CohortStore":          reflect.TypeFor[academy.CohortStore](),
	"academy.ChangeStore":          reflect.TypeFor[academy.ChangeStore](),
	"academy.RetentionStore":       reflect.TypeFor[academy.RetentionStore](),
	"academy.EventStore":           reflect.TypeFor[academy.EventStore](),
	"academy.Feed":                 reflect.TypeFor[academy.Feed](),
	"academy.FreshStore":           reflect.TypeFor[academy.FreshStore](),
	"academy.Gathering":            reflect.TypeFor[academy.Gathering](),
	"academy.GuardianStore":        reflect.TypeFor[academy.GuardianStore](),
	"academy.GroupStore":           reflect.TypeFor[academy.GroupStore](),
	"academy.InsightStore":         reflect.TypeFor[academy.InsightStore](),
	"academy.LearnStore":           reflect.TypeFor[academy.LearnStore](),
	"academy.LessonStore":          reflect.TypeFor[academy.LessonStore](),
	"academy.Listing":              reflect.TypeFor[academy.Listing](),
	"academy.MediaStore":           reflect.TypeFor[academy.MediaStore](),
	"academy.MessageStore":         reflect.TypeFor[academy.MessageStore](),
	"academy.ProposalStore":        reflect.TypeFor[academy.ProposalStore](),
	"academy.QuietStore":           reflect.TypeFor[academy.QuietStore](),
	"academy.Quieting":             reflect.TypeFor[academy.Quieting](),
	"academy.ReadStore":            reflect.TypeFor[academy.ReadStore](),
	"academy.RightsStore":          reflect.TypeFor[academy.RightsStore](),
	"academy.RoundStore":           reflect.TypeFor[academy.RoundStore](),
	"academy.ReportStore":          reflect.TypeFor[academy.ReportStore](),
	"academy.SeasonStore":          reflect.TypeFor[academy.SeasonStore](),
	"academy.Store":                reflect.TypeFor[academy.Store](),
	"academy.WatchStore":           reflect.TypeFor[academy.WatchStore](),
	"academy.Viewing":              reflect.TypeFor[academy.Viewing](),
	"curriculum.Store":             reflect.TypeFor[curriculum.Store](),
	"practice.CommentStore":        reflect.TypeFor[practice.CommentStore](),
	"practice.MatchStore":          reflect.TypeFor[practice.MatchStore](),
	"practice.PauseStore":          reflect.TypeFor[practice.PauseStore](),
	"practice.ReadStore":           reflect.TypeFor[practice.ReadStore](),
	"practice.RebuildStore":        reflect.TypeFor[practice.RebuildStore](),
	"practice.Store":               reflect.TypeFor[practice.Store](),
	"webhook.QueueStore":           reflect.TypeFor[webhook.QueueStore](),
	"webhook.Sender":               reflect.TypeFor[webhook.Sender](),
	"webhook.Store":                reflect.TypeFor[webhook.Store](),
	"progress.Keeper":              reflect.TypeFor[progress.Keeper](),
}

// TestInterfacesAreSmall holds interfaces to a dozen methods; run it with -v to
// see them all.
func TestInterfacesAreSmall(t *testing.T) {
	for name, i := range interfaces {
		n := i.NumMethod()
		t.Logf("%2d %s", n, name)
		if n > most && larger[name] == "" {
			t.Errorf("%s has %d methods, more than %d; split it, or say in larger why it is one", name, n, most)
		}
	}
	for name, declared := range exported(t, "../../auth", "../../domain") {
		if interfaces[name] == nil {
			t.Errorf("%s (%s) is missing in the list of interfaces", name, declared)
		}
	}
}

// exported finds the exported interfaces that the folders' sources declare, by
// package and name.
func exported(t *testing.T, folders ...string) map[string]string {
	t.Helper()
	found := map[string]string{}
	for _, folder := range folders {
		err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
			if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
			if err != nil || strings.HasSuffix(file.Name.Name, "test") {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if spec, ok := n.(*ast.TypeSpec); ok && spec.Name.IsExported() {
					if _, is := spec.Type.(*ast.InterfaceType); is {
						found[file.Name.Name+"."+spec.Name.Name] = path
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return found
}
