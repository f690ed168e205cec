package curriculum

import (
	"encoding/json"
	"errors"
	"math"
	"math/big"
	"os"
	"slices"
	"testing"

	"fringework/domain"

	"pgregory.net/rapid"
)

// TestSplitReference holds the published examples; the file names its sources.
func TestSplitReference(t *testing.T) {
	raw, err := os.ReadFile("testdata/largest_remainder.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			ID      string
			Note    string
			Minutes int
			Shares  []int
			AnyOf   [][]int `json:"any_of"`
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	for _, c := range file.Cases {
		got, err := Split(c.Minutes, c.Shares)
		if err != nil {
			t.Errorf("%s: %v", c.ID, err)
			continue
		}
		if !slices.ContainsFunc(c.AnyOf, func(want []int) bool { return slices.Equal(got, want) }) {
			t.Errorf("%s (%s): got %v, want one of %v", c.ID, c.Note, got, c.AnyOf)
		}
	}
}

func TestSplit(t *testing.T) {
	const big62 = math.MaxInt / 2
	for _, c := range []struct {
		why     string
		minutes int
		shares  []int
		want    []int
	}{
		{"whole minutes each; arithmetic", 80, []int{20, 35, 15, 30}, []int{16, 28, 12, 24}},
		{"quotas 14, 24.5, 10.5, 21: earlier first", 70, []int{20, 35, 15, 30}, []int{14, 25, 10, 21}},
		{"22.5 and 13.5 tie: earlier first", 45, []int{50, 30, 20}, []int{23, 13, 9}},
		{"thirds: earlier first", 10, []int{1, 1, 1}, []int{4, 3, 3}},
		{"quotas 0.1, 0.1, 0.8: the last gets the minute", 1, []int{10, 10, 80}, []int{0, 0, 1}},
		{"products beyond 64 bits", math.MaxInt, []int{big62, big62}, []int{big62 + 1, big62}},
	} {
		got, err := Split(c.minutes, c.shares)
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: Split(%d, %v) = %v, %v, want %v", c.why, c.minutes, c.shares, got, err, c.want)
		}
	}
}

func TestSplitRefuses(t *testing.T) {
	for _, c := range []struct {
		minutes int
		shares  []int
		want    []string
	}{
		{0, []int{100}, []string{"/minutes"}},
		{-5, nil, []string{"/minutes", "/shares"}},
		{60, []int{}, []string{"/shares"}},
		{60, []int{0, 0}, []string{"/shares"}},
		{60, []int{50, -1, 51, -2}, []string{"/shares/1", "/shares/3"}},
		{60, []int{math.MaxInt, 1, -1}, []string{"/shares"}},
	} {
		_, err := Split(c.minutes, c.shares)
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid {
			t.Errorf("Split(%d, %v): got %v, want an Invalid error", c.minutes, c.shares, err)
			continue
		}
		var got []string
		for _, f := range e.Fields {
			got = append(got, f.Pointer)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("Split(%d, %v): problems at %v, want %v", c.minutes, c.shares, got, c.want)
		}
	}
}

// TestSplitProperties checks the quota rule and that no remainder left behind
// is larger than one that was served, in rational arithmetic.
func TestSplitProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minutes := rapid.IntRange(1, 100_000).Draw(t, "minutes")
		shares := rapid.SliceOfN(rapid.IntRange(0, 1000), 1, 12).Draw(t, "shares")
		sum := 0
		for _, s := range shares {
			sum += s
		}
		if sum == 0 {
			shares[0], sum = 1, 1
		}
		got, err := Split(minutes, shares)
		if err != nil {
			t.Fatal(err)
		}
		total := 0
		rest := make([]*big.Rat, len(shares))
		for i, g := range got {
			total += g
			quota := big.NewRat(int64(minutes)*int64(shares[i]), int64(sum))
			rest[i] = quota.Sub(quota, big.NewRat(int64(g), 1))
			if rest[i].Cmp(big.NewRat(-1, 1)) <= 0 || rest[i].Cmp(big.NewRat(1, 1)) >= 0 {
				t.Fatalf("Split(%d, %v) = %v: entry %d is not its quota rounded", minutes, shares, got, i)
			}
		}
		if total != minutes {
			t.Fatalf("Split(%d, %v) = %v, which sums to %d", minutes, shares, got, total)
		}
		for i := range got {
			for j := range got {
				served := rest[i].Sign() < 0
				if served && rest[j].Sign() > 0 && new(big.Rat).Add(rest[i], big.NewRat(1, 1)).Cmp(rest[j]) < 0 {
					t.Fatalf("Split(%d, %v) = %v: %d was served before %d", minutes, shares, got, i, j)
				}
				if shares[i] > shares[j] && got[i] < got[j] {
					t.Fatalf("Split(%d, %v) = %v: a larger share got less", minutes, shares, got)
				}
			}
		}
	})
}
