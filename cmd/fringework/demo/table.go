package demo

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fringework/domain/advice"
)

// dashboard is what the table needs of the coach's dashboard.
type dashboard struct {
	Items []struct {
		Student struct {
			Name string `json:"name"`
		} `json:"student"`
		Sessions    int        `json:"sessions"`
		LastAt      *time.Time `json:"last_at"`
		Attention   []stall    `json:"attention"`
		Assignments []struct {
			Planned  int `json:"planned"`
			Done     int `json:"done"`
			Position struct {
				Week int `json:"week"`
			} `json:"position"`
		} `json:"assignments"`
		Skills []struct {
			Name    string `json:"name"`
			Held    int    `json:"held"`
			Tiers   int    `json:"tiers"`
			BestRun struct {
				Length int `json:"length"`
			} `json:"best_run"`
			Rate *struct {
				RadiusM    float64 `json:"radius_m"`
				Mean       float64 `json:"mean"`
				Interval80 struct {
					Low  float64 `json:"low"`
					High float64 `json:"high"`
				} `json:"interval_80"`
			} `json:"rate"`
		} `json:"skills"`
	} `json:"items"`
}

type stall struct {
	Reason    string `json:"reason"`
	SkillName string `json:"skill_name"`
	Evidence  string `json:"evidence"`
	Advice    string `json:"advice"`
}

// label says the reason in a few words; one that it does not know as it is.
func (s stall) label() string {
	if label := advice.Reason(s.Reason).Label(); label != "" {
		return strings.ToLower(label[:1]) + label[1:]
	}
	return s.Reason
}

// PrintDashboard reads the coach's dashboard and prints it for a person.
func (w *Academy) PrintDashboard(ctx context.Context, out io.Writer) error {
	var d dashboard
	if err := w.Coach.Call(ctx, "GET", "/v1/dashboard", nil, &d); err != nil {
		return err
	}
	fmt.Fprintf(out, "\n%s: the students of %s, those who need attention first\n\n", academyName, coachName)
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "STUDENT\tWEEK\tSESSIONS\tLAST\tSKILL\tSTEPS PASSED\tBEST IN A ROW\tINSIDE (80 % INTERVAL)\tATTENTION")
	for _, r := range d.Items {
		name, week, done, last := r.Student.Name, "", "", ""
		for _, a := range r.Assignments {
			if a.Position.Week > 0 { // and not still to come
				week, done = fmt.Sprint(a.Position.Week), fmt.Sprintf("%d of %d", a.Done, a.Planned)
			}
		}
		if r.LastAt != nil {
			last = r.LastAt.Format("2 Jan")
		}
		reasons := general(r.Attention)
		for _, s := range r.Skills {
			rate := ""
			if s.Rate != nil {
				rate = fmt.Sprintf("%.0f ft: %.0f %% (%.0f to %.0f)", s.Rate.RadiusM/foot, 100*s.Rate.Mean, 100*s.Rate.Interval80.Low, 100*s.Rate.Interval80.High)
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%d of %d\t%d\t%s\t%s\n", name, week, done, last, s.Name, s.Held, s.Tiers, s.BestRun.Length, rate,
				join(reasons, about(r.Attention, s.Name)))
			name, week, done, last, reasons = "", "", "", "", ""
		}
		if len(r.Skills) == 0 {
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t\t\t\t\t%s\n", name, week, done, last, reasons)
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out, "\nWhy, and what to try:")
	for _, r := range d.Items {
		for _, a := range r.Attention {
			what := a.label()
			if a.SkillName != "" {
				what = a.SkillName + ", " + what
			}
			fmt.Fprintf(out, "  %s: %s.\n    %s\n    %s\n", r.Student.Name, what, a.Evidence, a.Advice)
		}
	}
	return nil
}

// general lists the reasons that are about no skill in particular.
func general(stalls []stall) string { return about(stalls, "") }

func about(stalls []stall, skill string) string {
	var reasons []string
	for _, s := range stalls {
		if s.SkillName == skill {
			reasons = append(reasons, s.label())
		}
	}
	return strings.Join(reasons, ", ")
}

func join(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}

// PrintWays prints how to go on: the sign-ins, and lines to try. The key it
// makes is for software that reads progress.
func (w *Academy) PrintWays(ctx context.Context, out io.Writer) error {
	var key struct {
		ID     string `json:"id"`
		Secret string `json:"client_secret"`
	}
	err := w.Owner.Call(ctx, "POST", "/v1/keys", map[string]any{"name": "Scoreboard", "scopes": []string{"progress:read", "sessions:read", "members:read"}}, &key)
	if err != nil {
		return err
	}
	first, others := w.Students[0], "or any other first name in the table"
	if last := w.Students[len(w.Students)-1]; last.late {
		others = "or, as here, by another first name, or " + last.email()
	}
	fmt.Fprintf(out, `
Sign in at %[1]s with the password %[2]q as
  the owner    %[3]s
  the coach    %[4]s
  a student    %[5]s (%[9]s)

Or with curl:
  TOKEN=$(curl -s %[1]s/v1/sign-in -H 'Content-Type: application/json' \
    -d '{"email":"%[4]s","password":"%[2]s"}' | sed 's/.*"access_token":"\([^"]*\)".*/\1/')
  curl -s %[1]s/v1/dashboard -H "Authorization: Bearer $TOKEN"
  curl -s %[1]s/v1/students/%[6]s/progress -H "Authorization: Bearer $TOKEN"
  curl -s %[1]s/v1/students/%[6]s/now -H "Authorization: Bearer $TOKEN"
As other software would, with an application key:
  curl -s %[1]s/v1/oauth/token -u %[7]s:%[8]s -d grant_type=client_credentials
The API is described at %[1]s/openapi.json.

`, w.Base, password, ownerEmail, coachEmail, first.email(), first.id, key.ID, key.Secret, others)
	return nil
}
