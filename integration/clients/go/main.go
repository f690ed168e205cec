// Command client does the main job through a client made from the description: an
// owner signs up and in, writes a programme, invites a student and assigns it; the
// student uploads a session; the owner reads progress and the dashboard.
//
//	client URL NOW
package main

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"os"
	"time"

	"github.com/google/uuid"
	"github.com/oapi-codegen/runtime/types"

	"fringework/client/api"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "usage: client URL NOW")
		os.Exit(2)
	}
	now, err := time.Parse(time.RFC3339, os.Args[2])
	if err == nil {
		err = job(context.Background(), os.Args[1], now)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Println("done")
}

const password = "seventeen brass kettles"

// client asks as whoever has the token.
func client(url, token string) (*api.ClientWithResponses, error) {
	return api.NewClientWithResponses(url, api.WithRequestEditorFn(func(_ context.Context, r *http.Request) error {
		if token != "" {
			r.Header.Set("Authorization", "Bearer "+token)
		}
		return nil
	}))
}

// answer is what every generated response is.
type answer interface{ StatusCode() int }

// got says what came instead of a success.
func got(what string, a answer, body []byte, err error) error {
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if a.StatusCode() < 200 || a.StatusCode() > 299 {
		return fmt.Errorf("%s: %d %s", what, a.StatusCode(), body)
	}
	return nil
}

func ptr[T any](v T) *T { return &v }

func job(ctx context.Context, url string, now time.Time) error {
	anybody, err := client(url, "")
	if err != nil {
		return err
	}
	mail := types.Email("owner." + uuid.NewString() + "@links-end.example")
	founded, err := anybody.CreateAcademyWithResponse(ctx, api.CreateAcademyJSONRequestBody{AcademyName: "Links End", TimeZone: "Europe/Lisbon", Name: "Ines Duarte", Email: mail, Password: password})
	if err != nil || founded.JSON201 == nil {
		return got("signing up", founded, founded.Body, err)
	}
	in, err := anybody.SignInWithResponse(ctx, api.SignInJSONRequestBody{Email: string(mail), Password: password})
	if err != nil || in.JSON200 == nil {
		return got("signing in", in, in.Body, err)
	}
	owner, err := client(url, in.JSON200.AccessToken)
	if err != nil {
		return err
	}
	skill, programme, err := author(ctx, owner)
	if err != nil {
		return err
	}
	return coach(ctx, url, owner, string(mail), skill, programme, now)
}

// author writes and publishes a programme.
func author(ctx context.Context, owner *api.ClientWithResponses) (skill, programme uuid.UUID, err error) {
	made, err := owner.CreateSkillWithResponse(ctx, api.CreateSkillJSONRequestBody{Name: "Pitch", Kind: "pitch", Ladder: api.Ladder{Tiers: []api.Tier{{Run: 4, RadiusM: 2}, {Run: 7, RadiusM: 2, Holed: ptr(1)}}}})
	if err != nil || made.JSON201 == nil {
		return skill, programme, got("the skill", made, made.Body, err)
	}
	skill = made.JSON201.Id
	drill := &api.Drill{RadiusM: ptr[float32](2), Text: ptr("Pick a landing spot.")}
	blocks := []api.Block{{Kind: "technique", Share: 30, Drill: drill}, {Kind: "test", Share: 70, Drill: drill}}
	weeks := []api.Week{{Title: ptr("Week 1"), SkillId: &skill, Plans: &[]api.Plan{{Minutes: 50, Blocks: &blocks}}}}
	draft, err := owner.CreateProgrammeWithResponse(ctx, api.CreateProgrammeJSONRequestBody{Name: "Two weeks of pitching", Weeks: &weeks})
	if err != nil || draft.JSON201 == nil {
		return skill, programme, got("the draft", draft, draft.Body, err)
	}
	programme = draft.JSON201.Id
	version, err := owner.PublishProgrammeWithResponse(ctx, programme, nil)
	if err != nil || version.JSON201 == nil {
		return skill, programme, got("publishing", version, version.Body, err)
	}
	if version.JSON201.Number != 1 {
		return skill, programme, fmt.Errorf("version %d was published; want 1", version.JSON201.Number)
	}
	return skill, programme, nil
}

// coach gives the programme to a student, who practises, and reads what came of it.
func coach(ctx context.Context, url string, owner *api.ClientWithResponses, mail string, skill, programme uuid.UUID, now time.Time) error {
	anybody, err := client(url, "")
	if err != nil {
		return err
	}
	invited, err := owner.CreateInvitationWithResponse(ctx, api.CreateInvitationJSONRequestBody{Role: "student", Name: ptr("Tomas Brandt")})
	if err != nil || invited.JSON201 == nil {
		return got("inviting", invited, invited.Body, err)
	}
	joined, err := anybody.AcceptInvitationWithResponse(ctx, api.AcceptInvitationJSONRequestBody{
		Code: invited.JSON201.Code, Name: ptr("Tomas Brandt"), Email: ptr(types.Email("t." + mail)), Password: ptr(password),
	})
	if err != nil || joined.JSON200 == nil {
		return got("joining", joined, joined.Body, err)
	}
	member := joined.JSON200.Membership.MemberId
	student, err := client(url, joined.JSON200.AccessToken)
	if err != nil {
		return err
	}
	given, err := owner.CreateAssignmentsWithResponse(ctx, api.CreateAssignmentsJSONRequestBody{
		ProgrammeId: programme, StudentIds: &[]uuid.UUID{member}, StartDate: types.Date{Time: now.AddDate(0, 0, -2)},
	})
	if err != nil || given.JSON201 == nil {
		return got("assigning", given, given.Body, err)
	}
	today, err := student.GetNowWithResponse(ctx, member, nil)
	if err != nil || today.JSON200 == nil {
		return got("today", today, today.Body, err)
	}
	if len(today.JSON200.Work) != 1 {
		return fmt.Errorf("today has %d programmes; want 1", len(today.JSON200.Work))
	}
	if err := practise(ctx, student, given.JSON201.Items[0].Id, skill, now); err != nil {
		return err
	}
	return follow(ctx, owner, student, member)
}

// practise uploads a session whose fifth ball passes the first step.
func practise(ctx context.Context, student *api.ClientWithResponses, assignment, skill uuid.UUID, now time.Time) error {
	id, err := uuid.NewV7()
	if err != nil {
		return err
	}
	var balls []api.Ball
	for i, outcome := range []api.BallOutcome{"out", "in", "in", "holed", "in", "out"} {
		balls = append(balls, api.Ball{Outcome: outcome, AfterS: ptr(float32(30 * i))})
	}
	stored, err := student.PutSessionWithResponse(ctx, id, api.PutSessionJSONRequestBody{
		Revision: 1, StartedAt: now.Add(-time.Hour), EndedAt: &now, AssignmentId: &assignment, Week: ptr(1), Plan: ptr(1),
		Blocks: &[]api.SessionBlock{{Kind: "test", SkillId: skill, RadiusM: 2, Seconds: ptr(1200), Balls: &balls}},
	})
	if err != nil || stored.JSON201 == nil {
		return got("uploading", stored, stored.Body, err)
	}
	if passed := stored.JSON201.Milestones; len(passed) != 1 || passed[0].Ball != 5 {
		return fmt.Errorf("the session passed %+v; want one step, at the fifth ball", passed)
	}
	return nil
}

// follow reads what the owner sees, and is refused what the student may not.
func follow(ctx context.Context, owner, student *api.ClientWithResponses, member uuid.UUID) error {
	progress, err := owner.GetProgressWithResponse(ctx, member, nil)
	if err != nil || progress.JSON200 == nil {
		return got("progress", progress, progress.Body, err)
	}
	if p := progress.JSON200; p.Sessions != 1 || p.Skills[0].Held != 1 {
		return fmt.Errorf("progress has %d sessions and %d steps; want one of each", p.Sessions, p.Skills[0].Held)
	}
	dashboard, err := owner.GetDashboardWithResponse(ctx, nil)
	if err != nil || dashboard.JSON200 == nil {
		return got("the dashboard", dashboard, dashboard.Body, err)
	}
	if rows := dashboard.JSON200.Items; len(rows) != 1 || rows[0].Student.Id != member || rows[0].Sessions != 1 {
		return fmt.Errorf("the dashboard has %+v; want the student with one session", rows)
	}
	odds, err := owner.CalculateStreakOddsWithResponse(ctx, api.CalculateStreakOddsJSONRequestBody{Run: 1, Rates: api.CalcRatesInput{In: 0.5}, Balls: 2})
	if err != nil || odds.JSON200 == nil {
		return got("the odds", odds, odds.Body, err)
	}
	if p := float64(odds.JSON200.Probability); math.Abs(p-0.75) > 1e-6 { // 1 - 0.5²
		return fmt.Errorf("the odds are %v; want 0.75", p)
	}
	refused, err := student.GetDashboardWithResponse(ctx, nil)
	if err != nil || refused.ApplicationproblemJSON403 == nil || refused.ApplicationproblemJSON403.Code != "role_refused" {
		return fmt.Errorf("a student got %d from the dashboard (%v); want role_refused", refused.StatusCode(), err)
	}
	return nil
}
