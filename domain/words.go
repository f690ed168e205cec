package domain

import "strings"

// OneOf writes choices for a message: "a, b or c".
func OneOf[S ~string](choices []S) string {
	var b strings.Builder
	for i, c := range choices {
		switch {
		case i == 0:
		case i == len(choices)-1:
			b.WriteString(" or ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(string(c))
	}
	return b.String()
}
