package strict

import (
	"errors"
	"slices"
	"strings"
	"testing"

	json "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

type box struct {
	Text  string  `json:"text"`
	Whole *int    `json:"whole"`
	List  []inner `json:"list"`
}

type inner struct {
	Flag bool `json:"flag"`
}

func TestUnmarshal(t *testing.T) {
	for _, c := range []struct {
		in, pointers string
		read         bool
	}{
		{`{"text":"a","whole":1,"list":[{"flag":true}]}`, "", true},
		{`{"text":1,"whole":"x","list":[{"flag":true},{"flag":3},{"folg":1}],"a/b":2}`, "/a~1b /list/1/flag /list/2/folg /text /whole", true},
		{`{"list":{"0":1}}`, "/list", true},
		{`{"list":[5,{}]}`, "/list/0", true},
		{`[]`, "", false},
		{`5 5`, "", false},
		{`{"text":1,"whole":}`, "/text /whole", false},
		{`{"text":1,"text":2}`, "/text /text", false},
		{`{"list":[` + strings.Repeat(`{"flag":1},`, 99) + `{}]}`, strings.Repeat("x", 50), false},
	} {
		var v box
		faults, read := Unmarshal([]byte(c.in), &v)
		if read != c.read {
			t.Errorf("%.60s: read is %v", c.in, read)
		}
		var pointers []string
		for _, f := range faults {
			if semantic, ok := errors.AsType[*json.SemanticError](f); ok {
				pointers = append(pointers, string(semantic.JSONPointer))
			} else if syntactic, ok := errors.AsType[*jsontext.SyntacticError](f); ok {
				pointers = append(pointers, string(syntactic.JSONPointer))
			}
		}
		if strings.HasPrefix(c.pointers, "x") {
			if len(pointers) != len(c.pointers) {
				t.Errorf("%.60s: %d faults, want %d", c.in, len(pointers), len(c.pointers))
			}
			continue
		}
		if slices.Sort(pointers); strings.Join(pointers, " ") != c.pointers {
			t.Errorf("%.60s: faults at %v, want %v", c.in, pointers, c.pointers)
		}
	}
}

// TestUnmarshalKeepsTheRest reads what is well beside what is not.
func TestUnmarshalKeepsTheRest(t *testing.T) {
	v := box{Text: "before"}
	Unmarshal([]byte(`{"whole":2,"text":5,"list":[{"flag":true},{"flag":1},{"flag":true,"x":1}]}`), &v)
	if v.Text != "" || v.Whole == nil || *v.Whole != 2 || !slices.Equal(v.List, []inner{{true}, {false}, {true}}) {
		t.Errorf("read %+v", v)
	}
}

// A large text full of faults is not read as often as it has faults.
func TestManyFaultsOfALargeText(t *testing.T) {
	body := func(n int) []byte { return []byte(`{"a":[` + strings.Repeat(`"x",`, n) + `"x"]}`) }
	var v struct {
		A []int `json:"a"`
	}
	few, _ := Unmarshal(body(1000), &v)
	many, read := Unmarshal(body(200_000), &v)
	if len(few) != maxFaults || len(many) < 1 || len(many) > 2 || read {
		t.Errorf("told %d and %d faults, read %v; want 50, and one or two of the large one", len(few), len(many), read)
	}
}
