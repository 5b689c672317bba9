package store

import (
	"context"
	"runtime/debug"

	"gorm.io/gorm"
)

type programRow struct {
	Number        int64  `gorm:"column:number;primaryKey;autoIncrement:false"`
	Revision      string `gorm:"column:revision"`
	AfterMounting int64  `gorm:"column:after_mounting"`
}

func (programRow) TableName() string { return "programs" }

// revision is what this program was built of: programs of one are alike.
func revision() string {
	revision := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = s.Value
			}
		}
	}
	return revision
}

func latestProgram(db *gorm.DB) (rows []programRow, err error) {
	err = db.Order("number DESC").Limit(1).Find(&rows).Error
	return rows, err
}

// noteProgram notes that this program writes, where another did before. Two that
// start at once may both try: the number is the key, and the loser has nothing to do.
func (s *Store) noteProgram(ctx context.Context) error {
	latest, err := latestProgram(s.read.WithContext(ctx))
	if err != nil || len(latest) == 1 && latest[0].Revision == revision() {
		return err
	}
	next := int64(1)
	if len(latest) == 1 {
		next = latest[0].Number + 1
	}
	return s.write.WithContext(ctx).Exec(`INSERT INTO programs (number, revision, after_mounting) SELECT CAST(? AS BIGINT), CAST(? AS TEXT), coalesce(max(id), 0) FROM mountings WHERE true
		ON CONFLICT (number) DO NOTHING`, next, revision()).Error
}

// ReckonedAfter is implemented for package port.
func (r *reader) ReckonedAfter() (int64, error) {
	latest, err := latestProgram(r.db)
	if err != nil || len(latest) == 0 || latest[0].Revision != revision() {
		return 1<<63 - 1, err // by other formulas
	}
	return latest[0].AfterMounting, nil
}
