package store

import (
	"context"
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/migrations"
)

type signOffRow struct {
	Number   int64  `gorm:"column:number;primaryKey;autoIncrement:false"`
	SignedAt int64  `gorm:"column:signed_at"`
	SignedBy string `gorm:"column:signed_by"`
	Note     string `gorm:"column:note"`
	SealedBy string `gorm:"column:sealed_by"`
	Kept     int64  `gorm:"column:kept"`
	Hash     string `gorm:"column:hash"`
}

func (signOffRow) TableName() string { return "sign_offs" }

func (row signOffRow) signOff() (port.SignOff, error) {
	return port.SignOff{Number: row.Number, At: moment(row.SignedAt), By: row.SignedBy, Note: row.Note, Kept: row.Kept, Hash: row.Hash}, nil
}

func (r *reader) SignOffs(p port.Page) ([]port.SignOff, string, error) {
	newest := order{list: "sign-offs", columns: []string{"number"}, numbers: "n", newest: true}
	return list(r.db, newest, p, func(row signOffRow) []any { return []any{row.Number} }, signOffRow.signOff)
}

// SignOff is made by package migrations, which knows how the tables are sealed.
func (w *writer) SignOff(s port.SignOff) (port.SignOff, error) {
	link, err := migrations.Sign(w.ctx(), w.dialect, w.db.Statement.ConnPool, migrations.SignOff{At: s.At, By: s.By, Note: s.Note})
	if err != nil {
		return port.SignOff{}, err
	}
	s.Number, s.Kept, s.Hash = link.Number, link.Kept, link.Hash
	return s, nil
}

// verifySignOffs replays the chain of sign-offs. Where a hash was noted outside, one
// of them must have it.
func (s *Store) verifySignOffs(hash string) func(context.Context) ([]error, error) {
	return func(ctx context.Context) ([]error, error) {
		db, err := s.read.DB()
		if err != nil {
			return nil, err
		}
		tx, err := db.BeginTx(ctx, s.sealView())
		if err != nil {
			return nil, err
		}
		defer func() { _ = tx.Rollback() }()
		if has, err := migrations.HasSignOffs(ctx, s.dialect, tx); err != nil {
			return nil, err
		} else if !has { // of a schema that is older
			if hash != "" {
				return []error{&Damage{Table: "sign_offs", Why: fmt.Sprintf("the works was never signed off, and so not with the hash %s", hash)}}, nil
			}
			return nil, nil
		}
		differences, err := migrations.SignedDifferences(ctx, s.dialect, tx, hash, mostDamage)
		var found []error
		for _, d := range differences {
			found = append(found, &Damage{Table: d.Table, Key: d.Part, Why: d.Why})
		}
		return found, err
	}
}
