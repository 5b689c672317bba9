package record

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
)

// TokenLife is how long a token holds when nothing else is said.
const TokenLife = 365 * 24 * time.Hour

// tokenPrefix marks our secrets, so that one found in a file is known for what
// it is.
const tokenPrefix = "bb_"

// TokenInput asks for a token.
type TokenInput struct {
	Name      string
	Role      port.Role
	ExpiresAt time.Time // zero for TokenLife from now
}

// CreateToken makes a token and gives its secret, which is kept only as a
// digest and shown this once. Conflicting when the name is taken. The answer is
// never remembered for a key, as it would keep the secret.
func (a *Recorder) CreateToken(ctx context.Context, call port.Call, in TokenInput) (port.TokenRow, string, error) {
	random := make([]byte, 32)
	if _, err := rand.Read(random); err != nil {
		return port.TokenRow{}, "", err
	}
	secret := tokenPrefix + base64.RawURLEncoding.EncodeToString(random)
	call.Key = ""
	row, err := record(ctx, a, call, "made token "+in.Name+" of role "+string(in.Role), func(w port.Writer, now time.Time) (port.TokenRow, error) {
		row := port.TokenRow{Name: in.Name, Hash: digest(secret), Role: in.Role, CreatedAt: now, ExpiresAt: in.ExpiresAt}
		if row.ExpiresAt.IsZero() {
			row.ExpiresAt = now.Add(TokenLife)
		}
		if !row.ExpiresAt.After(now) {
			return port.TokenRow{}, port.Refused(refusal.One("expires_at", row.ExpiresAt.Format(time.RFC3339), "must lie in the future", ""))
		}
		return row, w.CreateToken(row)
	})
	return row, secret, err
}

// Tokens lists tokens by name, without their secrets.
func (a *Recorder) Tokens(ctx context.Context, p port.Page) (items []port.TokenRow, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Tokens(p)
		return err
	})
	return items, next, err
}

// RevokeToken ends a token. NotFound when there is none of the name.
func (a *Recorder) RevokeToken(ctx context.Context, call port.Call, name string) error {
	defer a.tokens.forget()
	_, err := record(ctx, a, call, "revoked token "+name, func(w port.Writer, now time.Time) (struct{}, error) {
		return struct{}{}, w.RevokeToken(name, now)
	})
	return err
}

// Authenticate gives who holds a secret. Unauthorised, in the same words, when
// the token is unknown, expired or revoked.
func (a *Recorder) Authenticate(ctx context.Context, secret string) (port.TokenRow, error) {
	now, hash := a.clock.Now(), digest(secret)
	row, err := a.tokens.get(hash, now, func() (row port.TokenRow, err error) {
		err = a.store.Look(ctx, func(r port.Reader) error {
			row, err = r.TokenByHash(hash)
			return err
		})
		return row, err
	})
	if port.IsKind(err, port.NotFound) || err == nil && (!now.Before(row.ExpiresAt) || !row.RevokedAt.IsZero()) {
		return port.TokenRow{}, port.FailNext(next.CreateToken(), port.Unauthorised, "the token is not known, has expired or was revoked; ask an admin for another")
	}
	return row, err
}

func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Audit lists who did what, newest first.
func (a *Recorder) Audit(ctx context.Context, p port.Page) (items []port.AuditRow, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Audit(p)
		return err
	})
	return items, next, err
}
