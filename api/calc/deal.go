package calc

import (
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
)

var deal = define[dealIn, DealOut]("deal",
	"Deals random practice: each ball a lie, a distance and a club. No task comes twice in a row, each comes as often as its weight and the number of balls allow, and the same seed deals the same. What is left out is open, and weighs 1; a task's weight is the product of those of its parts, unless it is given one of its own.",
	`{"lies":["fairway","light rough","bunker"],"distances_m":[9,14],"clubs":["54° wedge","58° wedge"],"balls":20,"seed":7,`+
		`"weights":{"lies":[1,2,1],"tasks":[{"lie":"bunker","distance_m":14,"club":"54° wedge","weight":0}]}}`, answerDeal)

// dealIn has to have balls and seed; the rest is open where it is left out.
type dealIn struct {
	Lies       []string   `json:"lies"`
	DistancesM []*float64 `json:"distances_m"`
	Clubs      []string   `json:"clubs"`
	// Balls is how many tasks to deal.
	Balls *int `json:"balls" validate:"required"`
	// Seed chooses the order; the same seed deals the same.
	Seed *int `json:"seed" validate:"required"`
	// Weights say which tasks come more often than others.
	Weights weightsIn `json:"weights"`
}

// weightsIn has a weight for each lie, distance and club, in their order, and such
// as tasks have of their own.
type weightsIn struct {
	// Lies are the weights of the lies, in their order.
	Lies []int `json:"lies"`
	// DistancesM are the weights of the distances, in their order.
	DistancesM []int `json:"distances_m"`
	// Clubs are the weights of the clubs, in their order.
	Clubs []int `json:"clubs"`
	// Tasks are the tasks with a weight of their own.
	Tasks []taskWeightIn `json:"tasks"`
}

// taskWeightIn is a task with a weight of its own.
type taskWeightIn struct {
	Lie       string   `json:"lie"`
	DistanceM *float64 `json:"distance_m"`
	Club      string   `json:"club"`
	// Weight is the task's weight; 0 never deals it.
	Weight *int `json:"weight" validate:"required"`
}

// DealOut is the answer of deal.
type DealOut struct {
	// Tasks are one for each ball, in order.
	Tasks []TaskOut `json:"tasks"`
	// Counts have every task that the lies, distances and clubs make.
	Counts []DealCountOut `json:"counts"`
}

// TaskOut is one task; what is open is left out.
type TaskOut struct {
	Lie       string  `json:"lie,omitempty"`
	DistanceM float64 `json:"distance_m,omitempty"`
	Club      string  `json:"club,omitempty"`
}

// DealCountOut is how often a task was dealt, and how often it was due: the balls
// times its share of the weights.
type DealCountOut struct {
	TaskOut
	// Weight is the task's weight.
	Weight int `json:"weight"`
	// Due is how often it was due.
	Due float64 `json:"due"`
	// Dealt is how often it was dealt.
	Dealt int `json:"dealt"`
}

// maxPartWeight bounds the weight of a lie, a distance or a club, so that the product
// of three stays within bounds.
const maxPartWeight = 1000

func answerDeal(in dealIn, p *domain.Problems) (any, error) {
	balls, seed := need(p, "/balls", in.Balls), need(p, "/seed", in.Seed)
	if in.Balls != nil {
		curriculum.CheckBalls(p, "/balls", balls)
	}
	all := in.Weights.tasks(p, in.drill(p))
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	deck, err := curriculum.Deal(all, balls, uint64(seed))
	if err != nil {
		return nil, relayDeal(p, err)
	}
	return dealOut(all, deck), nil
}

// drill reads the choices.
func (in dealIn) drill(p *domain.Problems) (d curriculum.Drill) {
	if in.Lies == nil && in.DistancesM == nil && in.Clubs == nil {
		p.Add("/lies", "is missing, and so are distances_m and clubs; give at least one of the three, so that there is a task to deal")
	}
	d.Distances = readDistances(p, "/distances_m", choices(p, "/distances_m", in.DistancesM))
	d.Lies, d.Clubs = choices(p, "/lies", in.Lies), choices(p, "/clubs", in.Clubs)
	onceEach(p, "/lies", d.Lies)
	onceEach(p, "/clubs", d.Clubs)
	return d
}

// choices refuses none or too many, and gives those that are looked at.
func choices[T any](p *domain.Problems, pointer string, given []T) []T {
	if given != nil && len(given) == 0 {
		p.Add(pointer, "is empty; give at least one entry, or leave it out")
	}
	return most(p, pointer, "entries", given, curriculum.MaxChoices)
}

func readDistances(p *domain.Problems, pointer string, given []*float64) (all []domain.Length) {
	before := len(p.Fields())
	for i, m := range given {
		distance := metres(p, at(pointer, i), m, curriculum.MinDistance)
		if distance < curriculum.MinDistance || distance > curriculum.MaxDistance {
			p.Add(at(pointer, i), "is %v m; give a distance from %v to %v", *m, curriculum.MinDistance, curriculum.MaxDistance)
		}
		all = append(all, distance)
	}
	if len(p.Fields()) == before {
		onceEach(p, pointer, all)
	}
	return all
}

// onceEach refuses a choice that is empty or there twice.
func onceEach[T comparable](p *domain.Problems, pointer string, choices []T) {
	var empty T
	for i, c := range choices {
		switch {
		case c == empty:
			p.Add(at(pointer, i), "is empty; name it or remove it")
		case slices.Contains(choices[:i], c):
			p.Add(at(pointer, i), "%v is there twice; remove one", c)
		}
	}
}

// tasks gives the drill's tasks their weights.
func (w weightsIn) tasks(p *domain.Problems, d curriculum.Drill) []curriculum.Weighted {
	lies := partWeights(p, "/weights/lies", w.Lies, len(d.Lies))
	distances := partWeights(p, "/weights/distances_m", w.DistancesM, len(d.Distances))
	clubs := partWeights(p, "/weights/clubs", w.Clubs, len(d.Clubs))
	all := curriculum.Evenly(d)
	for i := range all { // in the order of curriculum.Tasks: clubs change first
		all[i].Weight = lies[i/(len(distances)*len(clubs))] * distances[i/len(clubs)%len(distances)] * clubs[i%len(clubs)]
	}
	own := map[curriculum.Task]bool{}
	for i, t := range most(p, "/weights/tasks", "tasks", w.Tasks, len(all)) {
		here := at("/weights/tasks", i)
		task := curriculum.Task{Lie: t.Lie, Club: t.Club}
		if t.DistanceM != nil {
			task.Distance = metres(p, here+"/distance_m", t.DistanceM)
		}
		weight := need(p, here+"/weight", t.Weight)
		k := slices.IndexFunc(all, func(x curriculum.Weighted) bool { return x.Task == task })
		if weight < 0 || weight > curriculum.MaxWeight {
			p.Add(here+"/weight", "is %d; give a whole number from 0 to %d", weight, curriculum.MaxWeight)
		}
		switch {
		case k < 0:
			p.Add(here, "is not one of the tasks; name a lie, a distance and a club that are there, and leave out what the deal leaves open")
		case own[task]:
			p.Add(here, "%v is there twice; remove one", task)
		default:
			all[k].Weight = weight
		}
		own[task] = true
	}
	return all
}

// partWeights reads the weights of n parts; 1 each when they are left out, or are
// not as many.
func partWeights(p *domain.Problems, pointer string, given []int, n int) []int {
	n = max(1, n)
	for i, w := range given {
		if w < 0 || w > maxPartWeight {
			p.Add(at(pointer, i), "is %d; give a whole number from 0 to %d", w, maxPartWeight)
		}
	}
	if len(given) == n {
		return given
	}
	if given != nil {
		p.Add(pointer, "needs one weight for each entry, so %d of them, and has %d; give each, or leave them out", n, len(given))
	}
	return slices.Repeat([]int{1}, n)
}

// relayDeal notes a refusal by the domain, whose tasks are made of several members
// here.
func relayDeal(p *domain.Problems, err error) error {
	var refused domain.Problems
	if err := relay(&refused, err); err != nil {
		return err
	}
	for _, f := range refused.Fields() {
		if f.Pointer != "/balls" {
			f.Pointer = "/weights"
		}
		p.Add(f.Pointer, "%s", f.Detail)
	}
	return nil
}

func dealOut(all []curriculum.Weighted, deck []curriculum.Task) DealOut {
	out := DealOut{Tasks: make([]TaskOut, len(deck)), Counts: make([]DealCountOut, len(all))}
	came, sum := map[curriculum.Task]int{}, 0
	for i, t := range deck {
		came[t]++
		out.Tasks[i] = taskOut(t)
	}
	for _, w := range all {
		sum += w.Weight
	}
	for i, w := range all {
		due := float64(len(deck)) * float64(w.Weight) / float64(sum)
		out.Counts[i] = DealCountOut{TaskOut: taskOut(w.Task), Weight: w.Weight, Due: due, Dealt: came[w.Task]}
	}
	return out
}

func taskOut(t curriculum.Task) TaskOut {
	return TaskOut{Lie: t.Lie, DistanceM: t.Distance.Metres(), Club: t.Club}
}
