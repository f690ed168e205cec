package progress

// learn fits a Beta prior by moments.
func learn(others []Counts) Prior {
	n, sum, sumSq := 0.0, 0.0, 0.0
	noise := 0.0
	for _, c := range others {
		if c.Balls == 0 {
			continue
		}
		p := (float64(c.Inside) + 0.5) / (float64(c.Balls) + 1)
		n++
		sum += p
		sumSq += p * p
		noise += p * (1 - p) / float64(c.Balls)
	}
	if n < MinStudents {
		return Jeffreys
	}
	mean := sum / n
	between := sumSq/n - mean*mean - noise/n
	if between <= 0 {
		between = mean * (1 - mean) / 1000
	}
	size := mean*(1-mean)/between - 1
	if size < 1 {
		return Jeffreys
	}
	return Prior{A: mean * size, B: (1 - mean) * size}
}
