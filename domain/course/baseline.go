package course

import (
	"sort"

	"fringework/domain"
)

// tourPoint is the average number of strokes at a distance in feet or yards.
type tourPoint struct{ distance, strokes float64 }

// tour are values from memory of Broadie, Every Shot Counts (2014): greens in feet,
// the rest in yards.
var tour = map[Lie][]tourPoint{
	Green:   {{0, 1}, {3, 1.04}, {5, 1.23}, {6, 1.34}, {8, 1.50}, {10, 1.61}, {20, 1.87}, {30, 1.98}, {90, 2.4}},
	Fairway: {{1, 2}, {10, 2.18}, {20, 2.40}, {30, 2.52}, {100, 2.80}},
	Rough:   {{1, 2.1}, {10, 2.34}, {20, 2.59}, {30, 2.70}, {100, 3.02}},
	Sand:    {{1, 2.3}, {10, 2.43}, {20, 2.53}, {30, 2.66}, {100, 3.23}},
}

// Tour is the play of professionals.
func Tour() Baseline {
	return Baseline{Name: "PGA Tour, Broadie 2014", Expected: func(lie Lie, distance domain.Length) (float64, bool) {
		points, ok := tour[lie]
		if !ok {
			return 0, false
		}
		x := distance.Feet()
		if lie != Green {
			x /= 3
		}
		i := sort.Search(len(points), func(i int) bool { return points[i].distance >= x })
		if i == 0 || i == len(points) {
			return 0, false
		}
		a, b := points[i-1], points[i]
		return a.strokes + (b.strokes-a.strokes)*(x-a.distance)/(b.distance-a.distance), true
	}}
}
