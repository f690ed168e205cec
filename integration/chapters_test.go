package integration_test

import (
	"flag"
	"testing"

	"fringework/openapi/contract"
)

// chapters are what the shared servers are tested for.
var chapters = []struct {
	name string
	test func(*testing.T, *service)
}{
	{"streaks", testStreaks},
	{"radii", testRadii},
	{"tokens", testTokens},
	{"access", testAccess},
	{"leaks", testLeaks},
	{"invitations", testInvitations},
	{"juniors", testJuniors},
	{"refresh", testRefresh},
	{"cookie", testCookie},
	{"sign-ins", testSignIns},
	{"limits", testLimits},
	{"second factor", testSecondFactor},
	{"passkeys", testPasskeys},
	{"resets", testResets},
	{"mail", testMail},
	{"weekly letter", testWeeklyLetter},
	{"members", testMembers},
	{"groups", testGroups},
	{"drafts", testDrafts},
	{"splits", testSplits},
	{"starting points", testStartingPoints},
	{"versions", testVersions},
	{"documents", testDocuments},
	{"assignments", testAssignments},
	{"bags", testBags},
	{"adjustments", testAdjustments},
	{"proposals", testProposals},
	{"tests", testTests},
	{"seasons", testSeason},
	{"zones", testZones},
	{"hand-over", testHandOver},
	{"many at once", testMany},
	{"moved weeks", testMovedWeeks},
	{"revisions", testRevisions},
	{"refused sessions", testRefusedSessions},
	{"cards", testCards},
	{"overlaps", testOverlaps},
	{"edits", testEdits},
	{"rounds", testRounds},
	{"played out", testPlayedOut},
	{"other days", testOtherDays},
	{"matches", testMatches},
	{"a lesson", testLesson},
	{"comments", testComments},
	{"messages", testMessages},
	{"shared reports", testSharedReports},
	{"orders", testOrders},
	{"session lists", testSessionLists},
	{"dashboard", testDashboard},
	{"insights", testInsights},
	{"cohort", testCohort},
	{"progress", testProgress},
	{"learning", testLearning},
	{"entity tags", testEntityTags},
	{"form", testForm},
	{"cursors", testCursors},
	{"events", testEvents},
	{"change feed", testChangeFeed},
	{"webhooks", testWebhooks},
	{"keys", testKeys},
	{"apps", testApps},
	{"app refusals", testAppRefusals},
	{"rights", testRights},
	{"guardians", testGuardians},
	{"replies", testReplies},
	{"calendars", testCalendars},
	{"live", testLive},
	{"exports", testExports},
	{"imports", testImports},
}

// TestService runs every chapter on each engine, and then asks whether each
// success that the description promises was seen.
func TestService(t *testing.T) {
	t.Run("on", func(t *testing.T) {
		onBoth(t, func(t *testing.T, e engine) {
			s := start(t, e)
			t.Run("chapters", func(t *testing.T) {
				for _, c := range chapters {
					t.Run(c.name, func(t *testing.T) {
						t.Parallel()
						c.test(t, s)
					})
				}
			})
		})
	})
	if f := flag.Lookup("test.run"); f.Value.String() != "" {
		return // some chapters were left out
	}
	for _, success := range contract.Unseen() {
		t.Errorf("%s is described, and no test saw it", success)
	}
}
