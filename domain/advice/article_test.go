package advice

import "testing"

func TestWithArticle(t *testing.T) {
	for size, want := range map[string]string{
		"5 ft": "a 5 ft", "8 ft": "an 8 ft", "8.5 ft": "an 8.5 ft", "11 ft": "an 11 ft", "18 ft": "an 18 ft", "80 ft": "an 80 ft",
		"1.8 m": "a 1.8 m", "10 ft": "a 10 ft", "28 ft": "a 28 ft",
	} {
		if got := withArticle(size); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
