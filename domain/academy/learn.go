package academy

import (
	"context"

	"fringework/domain"
	"fringework/domain/progress"
)

// LearnStore is what learning from an academy's students needs kept.
type LearnStore interface {
	// StageCounts tells of all the academy's students at all skills, in a fixed
	// order.
	StageCounts(ctx context.Context) ([]progress.StageCount, error)
	Priors(ctx context.Context) (progress.Priors, error)
	SavePriors(ctx context.Context, p progress.Priors) error
}

// LearnService learns what an academy's students teach about each other. It is
// run when states have changed, so that reading need not.
type LearnService struct {
	Store domain.Transactor[LearnStore]
}

// Learn learns the priors of an academy anew and keeps them. The answer is that
// of learning on the spot from what is kept then.
func (s LearnService) Learn(ctx context.Context, academy domain.ID) error {
	return s.Store.Write(ctx, academy, func(tx LearnStore) error {
		counts, err := tx.StageCounts(ctx)
		if err != nil {
			return err
		}
		known, err := tx.Priors(ctx)
		if err != nil {
			return err
		}
		if learned := progress.LearnPriors(counts); !learned.Equal(known) {
			return tx.SavePriors(ctx, learned)
		}
		return nil
	})
}
