package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/practice"
)

// groundDoc is what a session says of the green and of where balls landed, as it is
// kept, lengths in tenths of a millimetre.
type groundDoc struct {
	StimpFt  float64      `json:"stimp_ft"`
	SlopeDeg float64      `json:"slope_deg,omitempty"`
	Landings []landingDoc `json:"landings,omitempty"`
}

type landingDoc struct {
	Club    string        `json:"club,omitempty"`
	LoftDeg float64       `json:"loft_deg"`
	Lie     greenside.Lie `json:"lie"`
	Carry   domain.Length `json:"carry"`
	Total   domain.Length `json:"total"`
	Aim     domain.Length `json:"aim,omitempty"`
}

func packGround(g greenside.Green, landings []practice.Landing) *string {
	if g == (greenside.Green{}) && len(landings) == 0 {
		return nil
	}
	doc := encode(groundDoc{g.StimpFt, g.SlopeDeg, each(landings, func(x practice.Landing) landingDoc { return landingDoc(x) })})
	return &doc
}

func unpackGround(text *string) (g greenside.Green, landings []practice.Landing, err error) {
	if text == nil {
		return g, nil, nil
	}
	d, err := decode[groundDoc](*text)
	for _, x := range d.Landings {
		landings = append(landings, practice.Landing(x))
	}
	return greenside.Green{StimpFt: d.StimpFt, SlopeDeg: d.SlopeDeg}, landings, err
}

// bagDoc is a bag as it is kept.
type bagDoc struct {
	Hand  greenside.Hand `json:"hand"`
	Clubs []clubDoc      `json:"clubs,omitempty"`
}

type clubDoc struct {
	Name    string  `json:"name"`
	LoftDeg float64 `json:"loft_deg"`
}

// bags reads students' clubs, and what balls of theirs did on the green.
type bags struct{ *scope }

// Bag implements academy.Bagging.
func (s bags) Bag(ctx context.Context, student domain.ID) (b greenside.Bag, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT doc FROM bags WHERE academy_id = ? AND student_id = ?", args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			var text string
			if err := scan(&text); err != nil {
				return err
			}
			d, err := decode[bagDoc](text)
			b.Hand = d.Hand
			for _, c := range d.Clubs {
				b.Clubs = append(b.Clubs, greenside.Club(c))
			}
			return err
		},
	})
	return b, err
}

// Landed implements academy.Bagging.
func (s bags) Landed(ctx context.Context, student domain.ID, sessions int) (all []greenside.Landed, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT ground FROM sessions WHERE academy_id = ? AND student_id = ? AND deleted_at IS NULL AND ground IS NOT NULL AND surface IS NULL" +
			" ORDER BY started_at DESC, id DESC LIMIT ?",
		args: []any{s.id, student, sessions}, what: "student",
		row: func(scan func(...any) error) error {
			var text *string
			if err := scan(&text); err != nil {
				return err
			}
			var x practice.Session
			var err error
			x.Green, x.Landings, err = unpackGround(text)
			all = append(all, x.Landed()...)
			return err
		},
	})
	return all, err
}

// SaveBag implements academy.BagStore.
func (s bagStore) SaveBag(ctx context.Context, student domain.ID, b greenside.Bag) error {
	if !s.writing {
		return errReadOnly
	}
	doc := encode(bagDoc{b.Hand, each(b.Clubs, func(c greenside.Club) clubDoc { return clubDoc(c) })})
	return s.batch(ctx, query{
		sql:  "INSERT INTO bags (academy_id, student_id, doc) VALUES (?, ?, ?) ON CONFLICT (academy_id, student_id) DO UPDATE SET doc = excluded.doc",
		args: []any{s.id, student, doc}, what: "student",
	})
}
