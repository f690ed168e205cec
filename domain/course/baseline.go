package course

import (
	"fringework/domain"
	"fringework/domain/greenside"
)

// Tour is the play of professionals; see greenside.ExpectedStrokes.
func Tour() Baseline {
	return Baseline{Whose: "tour professionals", Name: greenside.Baseline, Expected: func(lie Lie, distance domain.Length) (float64, bool) {
		farthest := greenside.MaxOffGreenM
		if lie == Green {
			farthest = greenside.MaxOnGreenM
		}
		m := distance.Metres()
		if m > farthest {
			return 0, false
		}
		return greenside.ExpectedStrokes(greenside.Place{Lie: lie, DistanceM: max(m, greenside.MinShotM)}), true
	}}
}
