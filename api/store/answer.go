package store

import (
	"errors"
	"time"

	"gorm.io/gorm"

	"barrelbook/api/app/port"
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

// Remember waits, on PostgreSQL, for another request that is under way with the
// same key; when that one is kept, this one is Conflicting and all it did goes.
func (w *writer) Remember(a port.Replay) error {
	row := answerRow{Actor: a.Actor, Operation: a.Operation, Key: a.Key, Fingerprint: a.Fingerprint, Answer: a.Answer, AnsweredAt: micros(a.At)}
	return w.create(&row, refuse(port.Conflicting, "a request with the key %q was under way at the same time; send it again to get its answer", a.Key))
}

func (w *writer) ForgetBefore(at time.Time) error {
	return w.db.Where("answered_at < ?", micros(at)).Delete(&answerRow{}).Error
}
