package repo

import (
	"context"

	"fringework/domain/academy"
)

var _ academy.LiveStore = (*Academy)(nil)

// LastEvent implements academy.LiveStore.
func (a *Academy) LastEvent(ctx context.Context) (last int64, err error) {
	err = on(ctx, a.tx).Table("academies").Where("id = ?", a.id).Pluck("last_event", &last).Error
	return last, err
}
