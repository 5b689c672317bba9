package store

import (
	"strings"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
)

type tokenRow struct {
	Name          string    `gorm:"column:name;primaryKey"`
	Hash          string    `gorm:"column:hash"`
	Role          port.Role `gorm:"column:role"`
	CreatedAt     int64     `gorm:"column:created_at;autoCreateTime:false"`
	ExpiresAt     int64     `gorm:"column:expires_at"`
	RevokedAt     *int64    `gorm:"column:revoked_at"`
	Mills         string    `gorm:"column:mills"` // parted by blanks
	RotatedAt     *int64    `gorm:"column:rotated_at"`
	PreviousHash  string    `gorm:"column:previous_hash"`
	PreviousUntil *int64    `gorm:"column:previous_until"`
	UsedAt        *int64    `gorm:"column:used_at"`
}

func (tokenRow) TableName() string { return "tokens" }

func (row tokenRow) token() (port.TokenRow, error) {
	return port.TokenRow{Name: row.Name, Hash: row.Hash, Role: row.Role, CreatedAt: moment(row.CreatedAt),
		ExpiresAt: moment(row.ExpiresAt), RevokedAt: momentOrZero(row.RevokedAt), Mills: strings.Fields(row.Mills),
		RotatedAt: momentOrZero(row.RotatedAt), PreviousHash: row.PreviousHash, PreviousUntil: momentOrZero(row.PreviousUntil), UsedAt: momentOrZero(row.UsedAt)}, nil
}

// TokenByHash says nothing of the hash when there is none: it stands for a
// secret.
func (r *reader) TokenByHash(hash string) (port.TokenRow, error) {
	var row tokenRow
	if err := r.db.Where("hash = ? OR previous_hash = ? AND previous_hash <> ''", hash, hash).Take(&row).Error; err != nil {
		return port.TokenRow{}, missing(err, "such", "token", next.ListTokens())
	}
	return row.token()
}

func (r *reader) Tokens(p port.Page) ([]port.TokenRow, string, error) {
	return list(r.db, byName("tokens"), p, func(row tokenRow) []any { return []any{row.Name} }, tokenRow.token)
}

func (r *reader) Token(name string) (port.TokenRow, error) {
	var row tokenRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.TokenRow{}, missing(err, "token", name, next.ListTokens())
	}
	return row.token()
}

func (w *writer) RotateToken(t port.TokenRow) error {
	return w.changeOne(&tokenRow{}, "name", t.Name, map[string]any{"hash": t.Hash, "expires_at": micros(t.ExpiresAt), "revoked_at": nil, "rotated_at": microsOrNull(t.RotatedAt),
		"previous_hash": t.PreviousHash, "previous_until": microsOrNull(t.PreviousUntil)}, notFound("token", t.Name, next.ListTokens()))
}

func (w *writer) UseToken(name string, at time.Time) error {
	return w.db.Model(&tokenRow{}).Where("name = ? AND (used_at IS NULL OR used_at < ?)", name, micros(at)).Update("used_at", micros(at)).Error
}

func (w *writer) CreateToken(t port.TokenRow) error {
	row := tokenRow{Name: t.Name, Hash: t.Hash, Role: t.Role, CreatedAt: micros(t.CreatedAt), ExpiresAt: micros(t.ExpiresAt), RevokedAt: microsOrNull(t.RevokedAt), Mills: strings.Join(t.Mills, " "),
		RotatedAt: microsOrNull(t.RotatedAt), PreviousHash: t.PreviousHash, PreviousUntil: microsOrNull(t.PreviousUntil), UsedAt: microsOrNull(t.UsedAt)}
	return w.create(&row, taken("token", t.Name, next.ListTokens()))
}

// RevokeToken keeps the first moment when it is revoked twice.
func (w *writer) RevokeToken(name string, at time.Time) error {
	done := w.db.Model(&tokenRow{}).Where("name = ? AND revoked_at IS NULL", name).Update("revoked_at", micros(at))
	if done.Error != nil || done.RowsAffected == 1 {
		return done.Error
	}
	var row tokenRow
	return missing(w.db.Where("name = ?", name).Take(&row).Error, "token", name, next.ListTokens())
}
