package api

import (
	"context"
	"errors"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// parcel has a member of every sort that requests have.
type parcel struct {
	Text  string          `json:"text"`
	Whole int             `json:"whole"`
	Real  float64         `json:"real"`
	Flag  bool            `json:"flag"`
	When  *time.Time      `json:"when"`
	ID    domain.ID       `json:"id"`
	List  []string        `json:"list"`
	Inner struct{ A int } `json:"inner"`
	Maybe patched[string] `json:"maybe"`
	Any   map[string]any  `json:"any"`
}

func TestDecodeRefuses(t *testing.T) {
	for name, x := range map[string]struct{ body, code, pointer, says string }{
		"nothing":              {``, "body_missing", "", ""},
		"space":                {`  `, "body_malformed", "", ""},
		"half":                 {`{"text":"a"`, "body_malformed", "", ""},
		"trailing garbage":     {`{} x`, "body_malformed", "", ""},
		"two values":           {`{}{}`, "body_malformed", "", ""},
		"a comment":            {`{/*a*/}`, "body_malformed", "", ""},
		"a trailing comma":     {`{"text":"a",}`, "body_malformed", "", ""},
		"single quotes":        {`{'text':'a'}`, "body_malformed", "", ""},
		"unknown":              {`{"txet":"a"}`, "body_invalid", "/txet", "is not a field here"},
		"unknown inside":       {`{"inner":{"B":1}}`, "body_invalid", "/inner/B", "is not a field here"},
		"another case":         {`{"Text":"a"}`, "body_invalid", "/Text", "is not a field here"},
		"repeated":             {`{"text":"a","text":"b"}`, "body_malformed", "/text", "twice"},
		"repeated by escape":   {`{"text":"a","t\u0065xt":"b"}`, "body_malformed", "/text", "twice"},
		"repeated, unknown":    {`{"any":{"x":1,"x":2}}`, "body_malformed", "/any/x", "twice"},
		"number for text":      {`{"text":1}`, "body_invalid", "/text", "a string is expected"},
		"text for number":      {`{"whole":"1"}`, "body_invalid", "/whole", "a whole number is expected"},
		"fraction":             {`{"whole":1.5}`, "body_invalid", "/whole", "must be a whole number in range"},
		"exponent":             {`{"whole":1e2}`, "body_invalid", "/whole", "must be a whole number in range"},
		"too large":            {`{"whole":9223372036854775808}`, "body_invalid", "/whole", "must be a whole number in range"},
		"infinite":             {`{"real":1e999}`, "body_invalid", "/real", "must be a number in range"},
		"infinite, unnamed":    {`{"any":{"x":1e999}}`, "body_invalid", "/any/x", ""},
		"not a number":         {`{"real":NaN}`, "body_malformed", "/real", ""},
		"leading zero":         {`{"whole":01}`, "body_malformed", "", ""},
		"text for flag":        {`{"flag":"true"}`, "body_invalid", "/flag", "true or false is expected"},
		"object for list":      {`{"list":{}}`, "body_invalid", "/list", "an array is expected"},
		"number in list":       {`{"list":["a",2]}`, "body_invalid", "/list/1", "a string is expected"},
		"list for object":      {`{"inner":[]}`, "body_invalid", "/inner", "an object"},
		"list for the whole":   {`[]`, "body_invalid", "", "an object"},
		"text for time":        {`{"when":"yesterday"}`, "body_invalid", "/when", "is not an RFC 3339 time"},
		"time without offset":  {`{"when":"2026-05-04T17:30:00"}`, "body_invalid", "/when", "is not an RFC 3339 time"},
		"time that is not":     {`{"when":"2026-02-30T17:30:00Z"}`, "body_invalid", "/when", "is not an RFC 3339 time"},
		"number for time":      {`{"when":5}`, "body_invalid", "/when", "RFC 3339"},
		"number in a patch":    {`{"maybe":5}`, "body_invalid", "/maybe", "a string is expected"},
		"NUL":                  {`{"text":"a\u0000b"}`, "body_invalid", "/text", "NUL"},
		"NUL in a list":        {`{"list":["a","\u0000"]}`, "body_invalid", "/list/1", "NUL"},
		"NUL in a name":        {`{"any":{"\u0000":1}}`, "body_invalid", "/any/\x00", "NUL"},
		"raw NUL":              {"{\"text\":\"a\x00b\"}", "body_malformed", "/text", ""},
		"raw line end":         {"{\"text\":\"a\nb\"}", "body_malformed", "/text", ""},
		"lone surrogate":       {`{"text":"\ud800"}`, "body_malformed", "/text", ""},
		"surrogates reversed":  {`{"text":"\udc00\ud800"}`, "body_malformed", "/text", ""},
		"not UTF-8":            {"{\"text\":\"\xff\"}", "body_malformed", "/text", ""},
		"byte order mark":      {"\ufeff{}", "body_malformed", "", ""},
		"deep arrays":          {strings.Repeat("[", 100_000), "", "", ""},
		"deep objects":         {strings.Repeat(`{"any":`, 100_000), "", "", ""},
		"deep, whole":          {`{"any":{"x":` + strings.Repeat("[", 100_000) + strings.Repeat("]", 100_000) + `}}`, "body_malformed", "", ""},
		"pointer with a slash": {`{"a/b~c":1}`, "body_invalid", "/a~1b~0c", "is not a field here"},
	} {
		t.Run(name, func(t *testing.T) {
			var p parcel
			err := decodeBytes([]byte(x.body), &p)
			var re *requestError
			if !errors.As(err, &re) {
				t.Fatalf("got %v; want a refusal", err)
			}
			if re.status != 400 || x.code != "" && re.code != x.code {
				t.Errorf("got %d %s; want 400 %s", re.status, re.code, x.code)
			}
			var field ProblemField
			if len(re.fields) > 0 {
				field = re.fields[0]
			}
			if x.code != "" && len(x.pointer) < 20 && !strings.HasPrefix(name, "deep") && field.Pointer != x.pointer {
				t.Errorf("wrong at %q; want %q", field.Pointer, x.pointer)
			}
			if !strings.Contains(field.Detail, x.says) {
				t.Errorf("says %q; want %q in it", field.Detail, x.says)
			}
		})
	}
}

func TestDecodeTakes(t *testing.T) {
	var p parcel
	body := ` {"text":"\ud83c\udfcc \\u0000","whole":-0,"real":1e3,"when":"2026-05-04T17:30:00+02:00","maybe":null,"list":[]} `
	if err := decodeBytes([]byte(body), &p); err != nil {
		t.Fatal(err)
	}
	if p.Text != `🏌 \u0000` || p.Real != 1000 || !p.When.Equal(time.Date(2026, 5, 4, 15, 30, 0, 0, time.UTC)) || !p.Maybe.null || p.List == nil {
		t.Errorf("got %+v", p)
	}
}

// contextOf makes a context for a request.
func contextOf(method, target string, headers ...string) echo.Context {
	r := httptest.NewRequestWithContext(context.Background(), method, target, nil)
	for i := 0; i < len(headers); i += 2 {
		r.Header.Add(headers[i], headers[i+1])
	}
	c := echo.New().NewContext(r, httptest.NewRecorder())
	c.SetPath("/v1/things")
	return c
}

func TestQuery(t *testing.T) {
	for query, want := range map[string]string{
		"n=5&flag=true&word=b&id=0198c5f2-0000-7000-8000-00000000000A": "",
		"":          "",
		"n=0":       "n",
		"n=11":      "n",
		"n=x":       "n",
		"n=1&n=2":   "n",
		"flag=1":    "flag",
		"word=c":    "word",
		"id=7":      "id",
		"id=%7B%7D": "id",
		"other=1":   "other",
		"N=5":       "N",
	} {
		c := contextOf("GET", "/v1/things?"+query)
		q := newQuery(c)
		n := q.number("n", 1, 10, 3)
		flag, word, id := q.flag("flag"), q.word("word", "a", "b"), q.id("id")
		err := q.done()
		var re *requestError
		switch errors.As(err, &re); {
		case want == "" && err != nil:
			t.Errorf("%q: %v", query, err)
		case want != "" && (re == nil || re.fields[0].Parameter != want):
			t.Errorf("%q: %v; want it wrong at %s", query, err, want)
		case query == "" && (n != 3 || flag || word != "" || id != ""):
			t.Errorf("defaults are %v %v %q %q", n, flag, word, id)
		case len(query) > 40 && (n != 5 || !flag || word != "b" || id != "0198c5f2-0000-7000-8000-00000000000a"):
			t.Errorf("%q reads as %v %v %q %q", query, n, flag, word, id)
		}
	}
}

func TestCursor(t *testing.T) {
	id := "0198c5f2-0000-7000-8000-000000000001"
	c := contextOf("GET", "/v1/things?limit=2&kind=a%26b")
	link := next(c, id).Next
	page := func(target, path string) (domain.Page, error) {
		c := contextOf("GET", target)
		c.SetPath(path)
		q := newQuery(c)
		q.text("kind")
		p := q.page()
		return p, q.done()
	}
	got, err := page(link, "/v1/things")
	if err != nil || got.After != domain.ID(id) || got.Limit != 3 {
		t.Errorf("%s reads as %+v, %v; want after %s, one more than 2", link, got, err, id)
	}
	if !strings.Contains(link, "kind=a%26b") {
		t.Errorf("%s has lost the filter", link)
	}
	if _, err := page(link, "/v1/others"); err == nil {
		t.Error("another list took the cursor")
	}
	forged := next(c, "x' OR 1=1").Next
	if _, err := page(forged, "/v1/things"); err == nil {
		t.Error("a cursor at no identity was taken")
	}
	for i := range link[strings.Index(link, "cursor=")+7:] {
		bad := []byte(link)
		at := strings.Index(link, "cursor=") + 7 + i
		if bad[at] == '&' {
			break
		}
		bad[at] ^= 1
		if p, err := page(string(bad), "/v1/things"); err == nil && p.After == domain.ID(id) {
			t.Errorf("a cursor changed at %d was taken for the same", i)
		} else if err == nil && p.After != "" {
			t.Errorf("a cursor changed at %d was taken: %q", i, p.After)
		}
	}
}

func TestIfMatch(t *testing.T) {
	tag := entityTag(3, []byte("body"))
	for header, want := range map[string]int{
		"": 0, "*": 0, `"3"`: 3, tag: 3, ` "12" `: 12, `"3-"`: 3,
		`3`: -1, `"0"`: -1, `"-3"`: -1, `"03"`: -1, `"+3"`: -1, `""`: -1, `"x"`: -1, `"`: -1, `W/"3"`: -1, `"1", "2"`: -1,
		`"99999999999999999999"`: -1,
	} {
		got, err := ifMatch(contextOf("PUT", "/", "If-Match", header))
		if (err != nil) != (want == -1) || err == nil && got != want {
			t.Errorf("If-Match %s is revision %d, %v; want %d", header, got, err, want)
		}
	}
}

func TestMatches(t *testing.T) {
	for header, want := range map[string]bool{
		"": false, `"a"`: true, `W/"a"`: true, `"b", "a"`: true, `"b",W/"a"`: true, "*": true, `"b"`: false, "a": false,
	} {
		if got := matches(header, `"a"`); got != want {
			t.Errorf("If-None-Match %s matches: %v; want %v (RFC 9110 §13.1.2)", header, got, want)
		}
	}
	for header, want := range map[string]bool{`"a"`: true, `W/"a"`: false, "*": true, `"b", "a"`: true} {
		if got := matchesStrongly(header, `"a"`); got != want {
			t.Errorf("If-Match %s matches: %v; want %v (RFC 9110 §13.1.1)", header, got, want)
		}
	}
}

func TestForwardedFor(t *testing.T) {
	for _, x := range []struct {
		proxies int
		headers []string
		want    string
	}{
		{0, []string{"203.0.113.9"}, "192.0.2.1"},
		{1, nil, "192.0.2.1"},
		{1, []string{"203.0.113.9"}, "203.0.113.9"},
		{1, []string{"198.51.100.7, 203.0.113.9"}, "203.0.113.9"}, // the first is the client's own claim
		{1, []string{"198.51.100.7", "203.0.113.9"}, "203.0.113.9"},
		{2, []string{"198.51.100.7, 203.0.113.9, 10.0.0.1"}, "203.0.113.9"},
		{2, []string{"203.0.113.9"}, "192.0.2.1"},
		{1, []string{"nonsense"}, "192.0.2.1"},
		{1, []string{"2001:db8::1"}, "2001:db8::1"},
	} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
		r.RemoteAddr = "192.0.2.1:1234"
		r.Header[http.CanonicalHeaderKey(echo.HeaderXForwardedFor)] = x.headers
		if got := ipExtractor(x.proxies)(r); got != x.want {
			t.Errorf("%d proxies, %q: %s; want %s", x.proxies, x.headers, got, x.want)
		}
	}
}

func TestLengthsAreBounded(t *testing.T) {
	for _, metres := range []float64{math.NaN(), math.Inf(1), 1001, -1001, math.MaxFloat64} {
		var p domain.Problems
		if length(&p, "/radius_m", metres); len(p.Fields()) != 1 {
			t.Errorf("%v m was taken", metres)
		}
	}
}
