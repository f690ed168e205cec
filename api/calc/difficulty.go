package calc

import (
	"fringework/domain"
	"fringework/domain/estimate"
)

const maxDrillResults = 20_000

var difficulty = define[difficultyIn, DifficultyOut]("difficulty",
	"Puts drills and students on one scale, in logits, so that students at different drills can be compared. A result is one student's balls at one drill in one session; balls judged at another circle are another drill.",
	`{"results":[`+
		`{"student":"Ada","drill":"long","balls":30,"inside":14},{"student":"Ada","drill":"short","balls":30,"inside":24},`+
		`{"student":"Ben","drill":"long","balls":30,"inside":10},{"student":"Ben","drill":"short","balls":30,"inside":21},`+
		`{"student":"Cy","drill":"long","balls":30,"inside":17},{"student":"Cy","drill":"short","balls":30,"inside":25},`+
		`{"student":"Dee","drill":"long","balls":30,"inside":8},{"student":"Eve","drill":"short","balls":30,"inside":19}]}`, answerDifficulty)

// difficultyIn is the input of difficulty.
type difficultyIn struct {
	// Results are what each student did at each drill.
	Results *[]drillResultIn `json:"results" validate:"required"`
}

// drillResultIn is what one student did at one drill in one session.
type drillResultIn struct {
	// Student is any name for the student, the same in all their results.
	Student *string `json:"student" validate:"required"`
	// Drill is any name for the drill, the same in all its results.
	Drill  *string `json:"drill" validate:"required"`
	Balls  *int    `json:"balls" validate:"required"`
	Inside *int    `json:"inside" validate:"required"`
}

// DifficultyOut is the answer of difficulty, in order of name.
type DifficultyOut struct {
	// Drills are the drills, in the order of their first results.
	Drills []DrillOut `json:"drills"`
	// Students are the students, in the order of their first results.
	Students []LevelOut `json:"students"`
	// Spreads are standard deviations in logits: of levels, of difficulties, of
	// a student at a drill from session to session, and of how much better or
	// worse a drill suits a student. All are null while no drills are linked.
	LevelSpread *float64 `json:"level_spread"`
	// DifficultySpread is the standard deviation of the difficulties, in logits; null while
	// no drills are linked.
	DifficultySpread *float64 `json:"difficulty_spread"`
	// Form is the standard deviation of a student at a drill from session to session, in
	// logits; null while no drills are linked.
	Form *float64 `json:"form"`
	// Taste is the standard deviation of how much better or worse a drill suits a student,
	// in logits; null while no drills are linked.
	Taste *float64 `json:"taste"`
}

// DrillOut is one drill; what cannot be told is null, and why is said.
type DrillOut struct {
	// Drill is the name given to the drill.
	Drill    string `json:"drill"`
	Students int    `json:"students"`
	Balls    int    `json:"balls"`
	// CannotTell is unlinked, few_students or few_balls; null otherwise.
	CannotTell *string `json:"cannot_tell"`
	// Difficulty is in logits above the mean of the linked drills.
	Difficulty *float64 `json:"difficulty"`
	// DifficultyInterval80 holds the difficulty with a probability of 80 %.
	DifficultyInterval80 *[2]float64 `json:"difficulty_interval80"`
	// MiddlingRate is that of a student of middling level.
	MiddlingRate *float64 `json:"middling_rate"`
	// MiddlingRateInterval80 holds the rate of a student of middling level with a
	// probability of 80 %.
	MiddlingRateInterval80 *[2]float64 `json:"middling_rate_interval80"`
}

// LevelOut is one student.
type LevelOut struct {
	// Student is the name given to the student.
	Student string `json:"student"`
	Balls   int    `json:"balls"`
	// CannotTell is unlinked or null.
	CannotTell *string `json:"cannot_tell"`
	// Level is the logit of the rate at a drill of mean difficulty.
	Level *float64 `json:"level"`
	// LevelInterval80 holds the level with a probability of 80 %.
	LevelInterval80 *[2]float64 `json:"level_interval80"`
}

func answerDifficulty(in difficultyIn, p *domain.Problems) (any, error) {
	given := need(p, "/results", in.Results)
	given = most(p, "/results", "results", given, maxDrillResults)
	results := make([]estimate.DrillResult, len(given))
	for i, r := range given {
		at := at("/results", i)
		results[i] = estimate.DrillResult{
			Student: need(p, at+"/student", r.Student), Drill: need(p, at+"/drill", r.Drill),
			Balls: need(p, at+"/balls", r.Balls, estimate.MaxDrillBalls), Inside: need(p, at+"/inside", r.Inside),
		}
	}
	if estimate.CheckDrillResults(p, "/results", results); len(p.Fields()) > 0 {
		return nil, nil
	}
	got := estimate.DifficultyOf(results)
	linked := got.LevelSpread > 0
	out := DifficultyOut{
		Drills: make([]DrillOut, len(got.Drills)), Students: make([]LevelOut, len(got.Students)),
		LevelSpread: finiteIf(linked, got.LevelSpread), DifficultySpread: finiteIf(linked, got.DrillSpread),
		Form: finiteIf(linked, got.Form), Taste: finiteIf(linked, got.Taste),
	}
	for i, d := range got.Drills {
		told := d.CannotTell == ""
		out.Drills[i] = DrillOut{
			Drill: d.Drill, Students: d.Students, Balls: d.Balls, CannotTell: why(d.CannotTell),
			Difficulty: finiteIf(told, d.Difficulty), DifficultyInterval80: pairIf(told, d.DifficultyInterval80),
			MiddlingRate: finiteIf(told, d.Middling), MiddlingRateInterval80: pairIf(told, d.MiddlingInterval80),
		}
	}
	for i, s := range got.Students {
		told := s.CannotTell == ""
		out.Students[i] = LevelOut{
			Student: s.Student, Balls: s.Balls, CannotTell: why(s.CannotTell),
			Level: finiteIf(told, s.Level), LevelInterval80: pairIf(told, s.LevelInterval80),
		}
	}
	return out, nil
}

// why is null for what can be told.
func why(c estimate.CannotTell) *string {
	if c == "" {
		return nil
	}
	reason := string(c)
	return &reason
}

func pairIf(exists bool, i estimate.Interval) *[2]float64 {
	if !exists {
		return nil
	}
	both := pair(i)
	return &both
}
