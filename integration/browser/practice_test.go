package browser

import "testing"

// TestPractice is the main job on the green: a plan block by block, a tier made,
// and what came of it on the coach's side.
func TestPractice(t *testing.T) {
	s := newStage(t)
	p := s.phone()
	p.signIn()
	p.start()
	p.tap("Out", "In", "Holed")
	p.see("Tier made: 2 in a row inside 5 ft, with ball 3")
}
