package curriculum

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"strconv"

	"fringework/domain"
)

// Split gives whole minutes out by shares, by the method of largest remainder:
// every share first gets the whole minutes of its quota
//
//	minutes · share / (sum of shares)
//
// and the minutes left go one each to the largest remainders; of equal
// remainders the earlier share is served first. The result sums to minutes
// exactly, each entry is its quota rounded down or up, and a share of nothing
// gets nothing. Quotas are compared in whole numbers, so no rounding decides a
// tie.
//
// The shares need not sum to 100. Split refuses, with pointers into
// {"minutes", "shares"}, minutes below 1, no shares, a negative share, shares
// that are all nothing, and shares whose sum does not fit an int.
//
// Source: M. L. Balinski and H. P. Young, The Quota Method of Apportionment,
// Amer. Math. Monthly 82 (1975), where it is called the Hamilton method.
func Split(minutes int, shares []int) ([]int, error) {
	sum, err := checkSplit(minutes, shares)
	if err != nil {
		return nil, err
	}
	given := make([]int, len(shares))
	remainder := make([]uint64, len(shares))
	order := make([]int, len(shares))
	left := minutes
	for i, share := range shares {
		hi, lo := bits.Mul64(uint64(minutes), uint64(share))
		// share ≤ sum, so the quotient is at most minutes and fits.
		quota, rest := bits.Div64(hi, lo, sum)
		given[i], remainder[i], order[i] = int(quota), rest, i
		left -= int(quota)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(remainder[b], remainder[a]) })
	for _, i := range order[:left] {
		given[i]++
	}
	return given, nil
}

// checkSplit gives the sum of the shares, or everything wrong with them.
func checkSplit(minutes int, shares []int) (sum uint64, err error) {
	var p domain.Problems
	if minutes < 1 {
		p.Add("/minutes", "is %d; give a whole number of minutes from 1", minutes)
	}
	if len(shares) == 0 {
		p.Add("/shares", "is empty; give at least one share")
	}
	for i, share := range shares {
		if share < 0 {
			p.Add("/shares/"+strconv.Itoa(i), "is %d; give a whole number from 0", share)
			continue
		}
		sum += uint64(share)
		if sum > math.MaxInt {
			p.Add("/shares", "sum to more than %d; use smaller shares in the same proportion", math.MaxInt)
			break
		}
	}
	if sum == 0 && len(shares) > 0 && len(p.Fields()) == 0 {
		p.Add("/shares", "are all 0; give at least one share above 0")
	}
	return sum, p.Err("split", "The minutes were not split.")
}
