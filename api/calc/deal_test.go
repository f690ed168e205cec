package calc

import (
	"math"
	"reflect"
	"strings"
	"testing"
)

// TestDealExample: twelve tasks, of which one weighs nothing; the four on light rough
// weigh 2, the seven others 1, so that 20 balls are due 2·20/15 and 20/15 times.
func TestDealExample(t *testing.T) {
	var out, again DealOut
	ask(t, "deal", deal.Example, &out)
	ask(t, "deal", deal.Example, &again)
	if len(out.Tasks) != 20 || len(out.Counts) != 12 || !reflect.DeepEqual(out, again) {
		t.Fatalf("%+v, then %+v", out, again)
	}
	came := map[TaskOut]int{}
	for i, task := range out.Tasks {
		came[task]++
		if i > 0 && out.Tasks[i-1] == task {
			t.Errorf("ball %d repeats %+v", i+1, task)
		}
	}
	weights := map[int]int{}
	for _, c := range out.Counts {
		weights[c.Weight]++
		if want := float64(c.Weight) * 20 / 15; math.Abs(c.Due-want) > 1e-9 || c.Dealt != came[c.TaskOut] || math.Abs(float64(c.Dealt)-want) >= 1 {
			t.Errorf("%+v, want %v due and %d dealt", c, want, came[c.TaskOut])
		}
	}
	if weights[0] != 1 || weights[2] != 4 || weights[1] != 7 {
		t.Errorf("weights %v", weights)
	}
	other := strings.Replace(deal.Example, `"seed":7`, `"seed":8`, 1)
	if ask(t, "deal", other, &again); reflect.DeepEqual(out.Tasks, again.Tasks) {
		t.Error("another seed dealt the same")
	}
}

// TestDealWeighsParts: the weights of a lie, a distance and a club multiply.
func TestDealWeighsParts(t *testing.T) {
	var out DealOut
	ask(t, "deal", `{"lies":["a","b"],"distances_m":[5,6,7],"clubs":["x","y"],"balls":4,"seed":1,"weights":{"lies":[1,2],"distances_m":[1,3,5],"clubs":[1,7]}}`, &out)
	want := map[TaskOut]int{}
	for i, lie := range []string{"a", "b"} {
		for j, distance := range []float64{5, 6, 7} {
			for k, club := range []string{"x", "y"} {
				want[TaskOut{lie, distance, club}] = []int{1, 2}[i] * []int{1, 3, 5}[j] * []int{1, 7}[k]
			}
		}
	}
	for _, c := range out.Counts {
		if c.Weight != want[c.TaskOut] {
			t.Errorf("%+v, want the weight %d", c, want[c.TaskOut])
		}
	}
	var one DealOut
	if ask(t, "deal", `{"clubs":["x"],"balls":1,"seed":0}`, &one); len(one.Tasks) != 1 || one.Counts[0].Dealt != 1 {
		t.Errorf("one ball of one task: %+v", one)
	}
}

func TestDealRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"deal", `{}`, "/balls /seed /lies"},
		{"deal", `{"lies":["a"],"balls":0,"seed":1}`, "/balls"},
		{"deal", `{"lies":["a"],"balls":2001,"seed":1}`, "/balls"},
		{"deal", `{"lies":["a"],"balls":5,"seed":1.5}`, "/seed"},
		{"deal", `{"lies":[],"clubs":[],"distances_m":[],"balls":5,"seed":1}`, "/distances_m /lies /clubs"},
		{"deal", `{"lies":null,"balls":5,"seed":1}`, "/lies"},
		{"deal", `{"lies":["a","a"],"clubs":"b","balls":"x","weights":{"lies":[1,-1,1],"tasks":[{"lie":"q"}]},"colour":1}`,
			"/clubs /balls /colour /seed /lies/1 /weights/lies/1 /weights/lies /weights/tasks/0/weight /weights/tasks/0"},
		{"deal", `{"lies":["a","a",""],"clubs":["",""],"distances_m":[3,0,3,null,1000],"balls":5,"seed":1}`, "/distances_m/1 /distances_m/3 /distances_m/4 /lies/1 /lies/2 /clubs/0 /clubs/1"},
		{"deal", `{"distances_m":[3,4,3],"balls":5,"seed":1}`, "/distances_m/2"},
		{"deal", `{"distances_m":[` + strings.Repeat("5,", 24) + `5],"balls":5,"seed":1}`, "/distances_m"},
		{"deal", `{"lies":["a","b"],"balls":5,"seed":1,"weights":{"lies":[1],"clubs":[1,1],"distances_m":[]}}`, "/weights/lies /weights/distances_m /weights/clubs"},
		{"deal", `{"lies":["a","b"],"balls":5,"seed":1,"weights":{"lies":[-1,1001]}}`, "/weights/lies/0 /weights/lies/1"},
		{"deal", `{"lies":["a","b"],"balls":5,"seed":1,"weights":{"tasks":[{"lie":"a"},{"lie":"c","weight":1}]}}`, "/weights/tasks/0/weight /weights/tasks/1"},
		{"deal", `{"lies":["a","b"],"balls":5,"seed":1,"weights":{"tasks":[{"lie":"a","weight":1},{"lie":"a","weight":2}]}}`, "/weights/tasks/1"},
		{"deal", `{"lies":["a","b"],"balls":5,"seed":1,"weights":{"tasks":[{"lie":"a","weight":-1},{"lie":"b","weight":1000000001}]}}`, "/weights/tasks/0/weight /weights/tasks/1/weight"},
		{"deal", `{"lies":["a","b"],"balls":9,"seed":1,"weights":{"lies":[1,5]}}`, "/weights"},
		{"deal", `{"lies":["a","b"],"balls":9,"seed":1,"weights":{"lies":[0,0]}}`, "/weights"},
	})
}
