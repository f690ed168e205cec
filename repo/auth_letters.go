package repo

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
)

type letterRow struct {
	ID        domain.ID
	Doc       string
	DueAt     int64
	Tries     int
	ExpiresAt int64
	// Rank is 1 for a letter that waits behind others, and 0 for any other.
	Rank int
	// AcademyID is whose letter it is, of one that tells of an academy.
	AcademyID *domain.ID
}

// letterRowOf keeps a letter, due when it was written.
func letterRowOf(l auth.Letter) letterRow {
	row := letterRow{ID: l.ID, Doc: encode(l), DueAt: at(l.At), Tries: l.Tries, ExpiresAt: at(l.Expires), AcademyID: maybeText(l.AcademyID)}
	if l.Kind.Waits() {
		row.Rank = 1
	}
	return row
}

// TableName names the table.
func (letterRow) TableName() string { return "letters" }

// AddLetter implements auth.MailTx.
func (t *authTx) AddLetter(ctx context.Context, l auth.Letter) error {
	row := letterRowOf(l)
	return fail(t.on(ctx).Create(&row).Error, "letter")
}

// ClaimLetter implements auth.MailTx. Of several that look at once, only the first
// changes the row that all have found.
func (t *authTx) ClaimLetter(ctx context.Context, now, until time.Time) (l auth.Letter, err error) {
	for {
		r, err := t.dueLetter(ctx, now)
		if err != nil {
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

// dueLetter finds the letter that has been due for longest in the first rank that has
// one. Each rank is asked by itself, so that a long queue costs no more than a short one.
func (t *authTx) dueLetter(ctx context.Context, now time.Time) (r letterRow, err error) {
	for rank := range 2 {
		err = t.on(ctx).Where("rank = ? AND due_at <= ?", rank, at(now)).Order("due_at, id").Take(&r).Error
		if !errors.Is(err, gorm.ErrRecordNotFound) {
			break
		}
	}
	return r, err
}

// PostponeLetter implements auth.MailTx.
func (t *authTx) PostponeLetter(ctx context.Context, id domain.ID, due time.Time) error {
	return t.on(ctx).Model(&letterRow{}).Where("id = ?", id).Update("due_at", at(due)).Error
}

// RemoveLetter implements auth.MailTx.
func (t *authTx) RemoveLetter(ctx context.Context, id domain.ID) error {
	return t.on(ctx).Where("id = ?", id).Delete(&letterRow{}).Error
}
