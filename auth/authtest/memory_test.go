package authtest

import (
	"testing"

	"fringework/auth"
)

func TestMemory(t *testing.T) {
	Exercise(t, func(*testing.T) auth.Store { return NewMemory() })
	ExerciseWith(t, func(*testing.T) (auth.Store, Probe) {
		m := NewMemory()
		return m, m
	})
}
