package academy

import (
	"context"
	"time"

	"fringework/domain"
)

// RetentionService forgets what the log need not keep for ever.
type RetentionService struct {
	Store domain.Transactor[RetentionStore]
	Env   domain.Env
	// Keep is for how long events are kept; 0 for ever.
	Keep time.Duration
}

// forgetBatch is how many events are forgotten in one transaction.
const forgetBatch = 1000

// Forget drops the events of an academy that are older than is kept, and says how
// many that were. The latest stays, so that numbers go on from it.
func (s RetentionService) Forget(ctx context.Context, academy domain.ID) (n int, err error) {
	if s.Keep <= 0 {
		return 0, nil
	}
	before := s.Env.Now().Add(-s.Keep)
	for {
		dropped := 0
		err := s.Store.Write(ctx, academy, func(tx RetentionStore) (err error) {
			dropped, err = tx.DropEvents(ctx, before, forgetBatch)
			return err
		})
		n += dropped
		if err != nil || dropped < forgetBatch {
			return n, err
		}
	}
}
