package record

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
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
	Mills     []string  // that its holder may record in; none for all
	ExpiresAt time.Time // zero for TokenLife from now, or the longest life
}

// DefaultLongestToken is the longest life of a token where nothing else is said.
const DefaultLongestToken = 2 * 366 * 24 * time.Hour

// CreateToken makes a token and gives its secret, which is kept only as a
// digest and shown this once. Conflicting when the name is taken. The answer is
// never remembered for a key, as it would keep the secret.
func (a *Recorder) CreateToken(ctx context.Context, call port.Call, in TokenInput) (port.TokenRow, string, error) {
	secret := newSecret()
	call.Key = ""
	row, err := record(ctx, a, call, "made token "+in.Name+" of role "+string(in.Role), func(w port.Writer, now time.Time) (port.TokenRow, error) {
		row := port.TokenRow{Name: in.Name, Hash: digest(secret), Role: in.Role, Mills: in.Mills, CreatedAt: now}
		var err error
		if row.ExpiresAt, err = a.tokenEnd(now, in.ExpiresAt); err != nil {
			return row, err
		}
		if err := checkTokenMills(w, in); err != nil {
			return row, err
		}
		return row, w.CreateToken(row)
	})
	return row, secret, err
}

// tokenEnd is when a token ends: what was asked for, within the longest life.
func (a *Recorder) tokenEnd(now, asked time.Time) (time.Time, error) {
	longest := a.LongestToken
	if longest <= 0 {
		longest = 1<<63 - 1
	}
	if asked.IsZero() {
		return now.Add(min(TokenLife, longest)), nil
	}
	switch {
	case !asked.After(now):
		return asked, port.Refused(refusal.One("expires_at", asked.Format(time.RFC3339), "must lie in the future", ""))
	case asked.Sub(now) > longest:
		return asked, port.Refused(refusal.One("expires_at", asked.Format(time.RFC3339), fmt.Sprintf("is beyond the longest life of a token, %g days", longest.Hours()/24), "make it shorter, and rotate it in time"))
	}
	return asked, nil
}

// checkTokenMills wants mills that there are, and of a role that records.
func checkTokenMills(r port.Reader, in TokenInput) error {
	var c refusal.Check
	if len(in.Mills) > 0 && in.Role == port.Admin {
		c.Add("mills", "", "an admin is one of the whole works", "leave them out, or give another role")
	}
	for i, name := range in.Mills {
		if err := checkKnown(&c, fmt.Sprintf("mills/%d", i), name, func() error { _, err := r.Mill(name); return err }); err != nil {
			return err
		}
	}
	return port.Refused(c.Err())
}

// RotateToken gives a token a new secret under its name, so that who it stands for
// stays the same, and takes the old secret for a while. One that has expired or was
// revoked is in force again. NotFound when there is none of the name.
func (a *Recorder) RotateToken(ctx context.Context, call port.Call, name string, expires time.Time, keepOld time.Duration) (port.TokenRow, string, error) {
	defer a.tokens.forget()
	secret := newSecret()
	call.Key = ""
	row, err := record(ctx, a, call, "gave token "+name+" a new secret", func(w port.Writer, now time.Time) (port.TokenRow, error) {
		row, err := w.Token(name)
		if err != nil {
			return row, err
		}
		row.PreviousHash, row.PreviousUntil = "", time.Time{}
		if keepOld > 0 && row.RevokedAt.IsZero() && now.Before(row.ExpiresAt) {
			row.PreviousHash, row.PreviousUntil = row.Hash, now.Add(keepOld)
			if row.ExpiresAt.Before(row.PreviousUntil) {
				row.PreviousUntil = row.ExpiresAt
			}
		}
		if row.ExpiresAt, err = a.tokenEnd(now, expires); err != nil {
			return row, err
		}
		row.Hash, row.RotatedAt, row.RevokedAt = digest(secret), now, time.Time{}
		return row, w.RotateToken(row)
	})
	return row, secret, err
}

func newSecret() string {
	random := make([]byte, 32)
	rand.Read(random) // never fails since Go 1.24
	return tokenPrefix + base64.RawURLEncoding.EncodeToString(random)
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
	if port.IsKind(err, port.NotFound) || err == nil && (!now.Before(row.ExpiresAt) || !row.RevokedAt.IsZero() || hash != row.Hash && !now.Before(row.PreviousUntil)) {
		return port.TokenRow{}, port.FailNext(next.CreateToken(), port.Unauthorised, "the token is not known, has expired or was revoked; ask an admin for another")
	}
	if err == nil {
		a.used.note(a.store, row, now)
	}
	return row, err
}

func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Audit lists who did what, newest first.
func (a *Recorder) Audit(ctx context.Context, f port.AuditFilter, p port.Page) (items []port.AuditRow, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Audit(f, p)
		return err
	})
	return items, next, err
}
