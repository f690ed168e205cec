package domaintest_test

import (
	"testing"
	"time"

	"fringework/domain/domaintest"
)

func TestWorld(t *testing.T) {
	domaintest.Exercise(t, func(*testing.T) domaintest.Stores {
		return domaintest.New(time.Date(2026, time.April, 13, 9, 30, 0, 0, time.UTC)).Stores()
	})
}
