package repo

import (
	"context"
	"encoding/json"
	"time"

	"fringework/auth"
	"fringework/domain"
)

type letterRow struct {
	ID        domain.ID
	Doc       string
	DueAt     int64
	Tries     int
	ExpiresAt int64
}

// TableName names the table.
func (letterRow) TableName() string { return "letters" }

// AddLetter implements auth.MailTx.
func (t *authTx) AddLetter(ctx context.Context, l auth.Letter) error {
	doc, err := json.Marshal(l)
	if err != nil {
		return err
	}
	row := letterRow{ID: l.ID, Doc: string(doc), DueAt: at(l.At), Tries: l.Tries, ExpiresAt: at(l.Expires)}
	return fail(t.on(ctx).Create(&row).Error, "letter")
}

// ClaimLetter implements auth.MailTx. Of several that look at once, only the first
// changes the row that all have found.
func (t *authTx) ClaimLetter(ctx context.Context, now, until time.Time) (l auth.Letter, err error) {
	for {
		var r letterRow
		if err := t.on(ctx).Where("due_at <= ?", at(now)).Order("due_at, id").Take(&r).Error; err != nil {
			return l, fail(err, "letter")
		}
		mine, err := did(t.on(ctx).Model(&letterRow{}).Where("id = ? AND due_at = ?", r.ID, r.DueAt).
			Updates(map[string]any{"due_at": at(until), "tries": r.Tries + 1}), "letter")
		if err != nil {
			return l, err
		}
		if mine {
			err = json.Unmarshal([]byte(r.Doc), &l)
			l.Tries = r.Tries + 1
			return l, err
		}
	}
}

// PostponeLetter implements auth.MailTx.
func (t *authTx) PostponeLetter(ctx context.Context, id domain.ID, due time.Time) error {
	return t.on(ctx).Model(&letterRow{}).Where("id = ?", id).Update("due_at", at(due)).Error
}

// RemoveLetter implements auth.MailTx.
func (t *authTx) RemoveLetter(ctx context.Context, id domain.ID) error {
	return t.on(ctx).Where("id = ?", id).Delete(&letterRow{}).Error
}
