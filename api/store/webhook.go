package store

import (
	"strings"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
)

type webhookRow struct {
	Name        string `gorm:"column:name;primaryKey"`
	URL         string `gorm:"column:url"`
	Secret      string `gorm:"column:secret"`
	Kinds       string `gorm:"column:kinds"` // parted by commas
	Mill        string `gorm:"column:mill"`
	CreatedAt   int64  `gorm:"column:created_at;autoCreateTime:false"`
	CreatedBy   string `gorm:"column:created_by"`
	Position    int64  `gorm:"column:position"`
	PositionAt  int64  `gorm:"column:position_at"`
	Tries       int    `gorm:"column:tries"`
	DueAt       int64  `gorm:"column:due_at"` // 0 for at once
	LeasedBy    string `gorm:"column:leased_by"`
	LeasedUntil int64  `gorm:"column:leased_until"`
	Sent        int64  `gorm:"column:sent"`
	SentAt      *int64 `gorm:"column:sent_at"`
	FailedAt    *int64 `gorm:"column:failed_at"`
	Failure     string `gorm:"column:failure"`
	StoppedAt   *int64 `gorm:"column:stopped_at"`
}

func (webhookRow) TableName() string { return "webhooks" }

func (row webhookRow) webhook() (port.Webhook, error) {
	h := port.Webhook{Name: row.Name, URL: row.URL, Secret: row.Secret, Mill: row.Mill, CreatedAt: moment(row.CreatedAt), CreatedBy: row.CreatedBy,
		WebhookState: port.WebhookState{Tries: row.Tries, Sent: row.Sent, SentAt: momentOrZero(row.SentAt), FailedAt: momentOrZero(row.FailedAt), Failure: row.Failure, StoppedAt: momentOrZero(row.StoppedAt)}}
	if row.Kinds != "" {
		h.Kinds = strings.Split(row.Kinds, ",")
	}
	if row.Position > 0 {
		h.Place = port.EventPlace{Position: row.Position, At: moment(row.PositionAt)}
	}
	if row.DueAt > 0 {
		h.DueAt = moment(row.DueAt)
	}
	return h, nil
}

func stateColumns(s port.WebhookState) map[string]any {
	c := map[string]any{"position": s.Place.Position, "position_at": int64(0), "tries": s.Tries, "due_at": int64(0), "sent": s.Sent, "sent_at": microsOrNull(s.SentAt),
		"failed_at": microsOrNull(s.FailedAt), "failure": s.Failure, "stopped_at": microsOrNull(s.StoppedAt)}
	if s.Place.Position > 0 {
		c["position_at"] = micros(s.Place.At)
	}
	if !s.DueAt.IsZero() {
		c["due_at"] = micros(s.DueAt)
	}
	return c
}

func (r *reader) Webhook(name string) (port.Webhook, error) {
	var row webhookRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.Webhook{}, missing(err, "webhook", name, next.ListWebhooks())
	}
	return row.webhook()
}

func (r *reader) Webhooks(p port.Page) ([]port.Webhook, string, error) {
	return list(r.db, byName("webhooks"), p, func(row webhookRow) []any { return []any{row.Name} }, webhookRow.webhook)
}

func (w *writer) CreateWebhook(h port.Webhook) error {
	row := webhookRow{Name: h.Name, URL: h.URL, Secret: h.Secret, Kinds: strings.Join(h.Kinds, ","), Mill: h.Mill, CreatedAt: micros(h.CreatedAt), CreatedBy: h.CreatedBy}
	if err := w.create(&row, taken("webhook", h.Name, next.ListWebhooks())); err != nil {
		return err
	}
	return w.db.Model(&webhookRow{}).Where("name = ?", h.Name).Updates(stateColumns(h.WebhookState)).Error
}

func (w *writer) DeleteWebhook(name string) error {
	done := w.db.Where("name = ?", name).Delete(&webhookRow{})
	if done.Error == nil && done.RowsAffected == 0 {
		return notFound("webhook", name, next.ListWebhooks())
	}
	return done.Error
}

func (w *writer) LeaseWebhook(name, by string, now, until time.Time) (bool, error) {
	done := w.db.Model(&webhookRow{}).Where("name = ? AND (leased_until <= ? OR leased_by = ?)", name, micros(now), by).
		Updates(map[string]any{"leased_by": by, "leased_until": micros(until)})
	return done.RowsAffected == 1, done.Error
}

func (w *writer) PutWebhookState(name, by string, s port.WebhookState, until time.Time) (bool, error) {
	columns := stateColumns(s)
	columns["leased_until"] = int64(0)
	if !until.IsZero() {
		columns["leased_until"] = micros(until)
	}
	done := w.db.Model(&webhookRow{}).Where("name = ? AND leased_by = ?", name, by).Updates(columns)
	return done.RowsAffected == 1, done.Error
}

func (w *writer) ResumeWebhook(name string) error {
	return w.changeOne(&webhookRow{}, "name", name, map[string]any{"tries": 0, "due_at": 0, "stopped_at": nil}, notFound("webhook", name, next.ListWebhooks()))
}
