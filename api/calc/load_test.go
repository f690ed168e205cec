package calc

import (
	"strings"
	"testing"
)

// TestLoadExample: 120, 90, 0 and 110 balls are 80 a week; 260 are 3.25 times that.
func TestLoadExample(t *testing.T) {
	var out LoadOut
	ask(t, "load", load.Example, &out)
	if out.Balls.Now != 260 || out.Balls.Before != 80 || out.Minutes.Now != 150 || out.Minutes.Before != 48.75 {
		t.Errorf("%+v", out)
	}
	near(t, "ratio of balls", out.Balls.Ratio, 3.25, 1e-12)
	if out.Caution == nil || out.Why == nil || out.Rule == nil || !strings.HasSuffix(out.Text, "three times the usual 80 balls in 49 minutes.") {
		t.Errorf("%+v", out)
	}
	ask(t, "load", `{"weeks":[{"balls":0,"minutes":0},{"balls":0,"minutes":0},{"balls":0,"minutes":0},{"balls":0,"minutes":0},{"balls":30,"minutes":20}]}`, &out)
	if out.Balls.Ratio != nil || out.Minutes.Ratio != nil || out.Caution != nil || out.Why != nil || out.Rule != nil || out.Text == "" {
		t.Errorf("a new start: %+v", out)
	}
}

func TestLoadRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"load", `{}`, "/weeks"},
		{"load", `{"weeks":[]}`, "/weeks"},
		{"load", `{"weeks":[{},{"balls":1}]}`, "/weeks/0/balls /weeks/0/minutes /weeks/1/minutes /weeks"},
		{"load", `{"weeks":[{"balls":-1},{"minutes":1e6},{"balls":"x","minutes":1,"rest":0},{"balls":1,"minutes":1},{"balls":1,"minutes":1}],"junior":7}`,
			"/weeks/2/balls /junior /weeks/2/rest /weeks/0/minutes /weeks/1/balls /weeks/0/balls /weeks/1/minutes"},
		{"load", `{"weeks":[{"balls":-1,"minutes":0},{"balls":0,"minutes":0},{"balls":0,"minutes":0},{"balls":0,"minutes":0},{"balls":0,"minutes":99999}]}`, "/weeks/0/balls /weeks/4/minutes"},
		{"load", `{"weeks":[],"junior":1}`, "/junior /weeks"},
	})
}
