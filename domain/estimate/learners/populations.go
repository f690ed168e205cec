package learners

import "fmt"

// Named is a population with its name.
type Named struct {
	Name string
	Population
}

// Published are the populations that figures are published on.
var Published = []Named{{"like the reference", Like}, {"unlike", Unlike}, {"varied", Varied}, {"streaky", Streaky}, {"unseen", Unseen}}

// String gives the parameters.
func (p Population) String() string {
	tails := "normal form"
	if p.Heavy {
		tails = "form with heavy tails"
	}
	return fmt.Sprintf("starts %.2f-%.2f, rises %.2f-%.2f, falls %.2f-%.2f, changes after %d-%d, form %.2f-%.2f, memory %.2f-%.2f, balls %d-%d, gaps %d-%d days, %s",
		p.P0[0], p.P0[1], p.Rise[0], p.Rise[1], p.Fall[0], p.Fall[1], p.Change[0], p.Change[1],
		p.Form[0], p.Form[1], p.Memory[0], p.Memory[1], p.Balls[0], p.Balls[1], p.Gap[0], p.Gap[1], tails)
}

// Populations that learners are drawn from. The limits of the flags were set on
// Setting, with other draws of the next four in view; Unseen is for publishing what
// they are worth where nobody had looked.
var (
	// Setting spans more than is expected of students, a little of everything.
	Setting = Population{
		P0: [2]float64{0.25, 0.70}, Rise: [2]float64{0.03, 0.10}, Fall: [2]float64{0.05, 0.15}, Change: [2]int{8, 18},
		Form: [2]float64{0.08, 0.32}, Memory: [2]float64{0, 0.45}, Balls: [2]int{15, 60}, Gap: [2]int{1, 5}, Skip: 0.9,
	}
	// Like are learners like the reference ones.
	Like = Population{
		P0: [2]float64{0.30, 0.65}, Rise: [2]float64{0.03, 0.08}, Fall: [2]float64{0.05, 0.12}, Change: [2]int{10, 18},
		Form: [2]float64{FormSD, FormSD}, Balls: [2]int{20, 40}, Gap: [2]int{1, 4}, Skip: 0.92,
	}
	// Unlike start from further apart, learn at other paces, change at other times,
	// vary more from day to day, and hold shorter and longer sessions.
	Unlike = Population{
		P0: [2]float64{0.20, 0.75}, Rise: [2]float64{0.03, 0.10}, Fall: [2]float64{0.05, 0.15}, Change: [2]int{8, 20},
		Form: [2]float64{0.20, 0.20}, Balls: [2]int{15, 50}, Gap: [2]int{1, 4}, Skip: 0.85,
	}
	// Varied differ in their form, which has heavy tails and a memory.
	Varied = Population{
		P0: [2]float64{0.20, 0.75}, Rise: [2]float64{0.03, 0.09}, Fall: [2]float64{0.05, 0.12}, Change: [2]int{8, 18},
		Form: [2]float64{0.10, 0.30}, Memory: [2]float64{0, 0.4}, Balls: [2]int{15, 60}, Gap: [2]int{1, 7}, Skip: 0.9, Heavy: true,
	}
	// Streaky are those whose days differ most.
	Streaky = Population{
		P0: [2]float64{0.25, 0.70}, Rise: [2]float64{0.03, 0.08}, Fall: [2]float64{0.05, 0.12}, Change: [2]int{10, 18},
		Form: [2]float64{0.35, 0.45}, Memory: [2]float64{0.2, 0.6}, Balls: [2]int{20, 50}, Gap: [2]int{1, 5}, Skip: 0.9,
	}
	// Unseen was written down, and drawn once, when all constants stood.
	Unseen = Population{
		P0: [2]float64{0.20, 0.75}, Rise: [2]float64{0.03, 0.07}, Fall: [2]float64{0.04, 0.11}, Change: [2]int{9, 16},
		Form: [2]float64{0.12, 0.28}, Memory: [2]float64{0.05, 0.4}, Balls: [2]int{18, 55}, Gap: [2]int{1, 7}, Skip: 0.88, Heavy: true,
	}
)
