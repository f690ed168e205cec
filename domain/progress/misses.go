package progress

// Misses counts which way balls missed, and how those were struck that were not
// struck cleanly. Saying so is optional, so there may be more of either.
type Misses struct {
	Short, Long, Left, Right int
	Thin, Fat                int
}

// Plus adds counts.
func (m Misses) Plus(n Misses) Misses {
	return Misses{m.Short + n.Short, m.Long + n.Long, m.Left + n.Left, m.Right + n.Right, m.Thin + n.Thin, m.Fat + n.Fat}
}

// Minus takes counts away.
func (m Misses) Minus(n Misses) Misses {
	return Misses{m.Short - n.Short, m.Long - n.Long, m.Left - n.Left, m.Right - n.Right, m.Thin - n.Thin, m.Fat - n.Fat}
}

// Told counts the balls whose way is known.
func (m Misses) Told() int { return m.Short + m.Long + m.Left + m.Right }
