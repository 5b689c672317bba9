package store

import (
	"errors"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
	"barrelbook/migrations"
)

// answerRow is the remembered answer of a request with an idempotency key.
type answerRow struct {
	Actor       string `gorm:"column:actor;primaryKey"`
	Operation   string `gorm:"column:operation;primaryKey"`
	Key         string `gorm:"column:request_key;primaryKey"`
	Fingerprint string `gorm:"column:fingerprint"`
	Answer      []byte `gorm:"column:answer"`
	AnsweredAt  int64  `gorm:"column:answered_at"`
}

func (answerRow) TableName() string { return "answers" }

func (r *reader) Remembered(actor, operation, key string) (port.Replay, error) {
	var row answerRow
	err := r.db.Where("actor = ? AND operation = ? AND request_key = ?", actor, operation, key).Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return port.Replay{}, refuse(port.NotFound, "there is no answer remembered for the key %q", key)
	}
	return port.Replay{Actor: row.Actor, Operation: row.Operation, Key: row.Key, Fingerprint: row.Fingerprint, Answer: row.Answer, At: moment(row.AnsweredAt)}, err
}

// ClaimKey takes, on PostgreSQL, a lock on a digest of the key; another key with
// the same digest waits for nothing worse than its turn. On SQLite the
// transaction holds the file.
func (w *writer) ClaimKey(actor, operation, key string) error {
	if w.dialect == migrations.SQLite {
		return nil
	}
	return w.db.Exec("SELECT pg_advisory_xact_lock(hashtextextended(?, 0))", actor+"\n"+operation+"\n"+key).Error
}

// Remember finds the key taken only where nobody claimed it.
func (w *writer) Remember(a port.Replay) error {
	row := answerRow{Actor: a.Actor, Operation: a.Operation, Key: a.Key, Fingerprint: a.Fingerprint, Answer: a.Answer, AnsweredAt: micros(a.At)}
	return w.create(&row, refuse(port.Conflicting, "a request with the key %q was under way at the same time; send it again to get its answer", a.Key))
}

func (w *writer) Forget(before time.Time, n int) error {
	const oldest = `SELECT actor, operation, request_key FROM answers WHERE answered_at < ? ORDER BY answered_at LIMIT ?`
	lock := ""
	if w.dialect == migrations.Postgres {
		lock = " FOR UPDATE SKIP LOCKED"
	}
	return w.db.Exec("DELETE FROM answers WHERE (actor, operation, request_key) IN ("+oldest+lock+")", micros(before), n).Error
}
