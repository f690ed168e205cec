package api

import "testing"

// TestPlainText: what a record holds reads as text.
func TestPlainText(t *testing.T) {
	for want, v := range map[string]any{
		"": nil, "yes": true, "no": false, "3": 3, "Club day": "Club day",
		"date: 2026-05-24, name: Club day; days: 2": []any{map[string]any{"name": "Club day", "date": "2026-05-24", "note": nil}, map[string]any{"days": 2}},
		"per week: 2": map[string]any{"per_week": 2},
	} {
		if got := plainText(v); got != want {
			t.Errorf("%v reads %q, want %q", v, got, want)
		}
	}
}
