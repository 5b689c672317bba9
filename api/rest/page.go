package rest

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"time"

	"barrelbook/api/app/port"
)

// defaultLimit is for calls that do not pass the validator, which fills in the
// contract's default.
const defaultLimit = 50

// pageOf reads limit and cursor. A cursor is a place in one list under one set
// of filters; with another list or other filters it is refused, because it
// would silently skip or repeat items.
func pageOf(ctx context.Context, limit *int64, cursor *string) (port.Page, error) {
	p := port.Page{Limit: defaultLimit}
	if limit != nil {
		p.Limit = int(*limit)
	}
	if cursor == nil || *cursor == "" {
		return p, nil
	}
	text, err := base64.RawURLEncoding.DecodeString(*cursor)
	mark := cursorMark(ctx)
	if err != nil || len(text) <= len(mark) || subtle.ConstantTimeCompare(text[:len(mark)], mark) != 1 {
		return p, badField("cursor", "belongs to another list or other filters; start again without it")
	}
	p.After = string(text[len(mark):])
	return p, nil
}

// changedPage is pageOf of a list that may be narrowed to what has changed.
func changedPage(ctx context.Context, limit *int64, cursor *string, since *time.Time) (port.Page, error) {
	p, err := pageOf(ctx, limit, cursor)
	p.ChangedSince = given(since)
	return p, err
}

// nextOf is the cursor of the place after a page, nil at the end.
func nextOf(ctx context.Context, after string) *string {
	if after == "" {
		return nil
	}
	cursor := base64.RawURLEncoding.EncodeToString(append(cursorMark(ctx), after...))
	return &cursor
}

// cursorMark is a digest of the operation and its filters.
func cursorMark(ctx context.Context) []byte {
	a := askedOf(ctx)
	sum := sha256.Sum256([]byte(a.operation + "\n" + a.filters))
	return sum[:8]
}
