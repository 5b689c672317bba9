package port

import (
	"context"
	"slices"
)

type scopeKey struct{}

// WithMills lets what is recorded under a context be of these mills alone.
func WithMills(ctx context.Context, mills []string) context.Context {
	if len(mills) == 0 {
		return ctx
	}
	return context.WithValue(ctx, scopeKey{}, mills)
}

// MillsOf are the mills that may be recorded in; none stands for all.
func MillsOf(ctx context.Context) []string {
	mills, _ := ctx.Value(scopeKey{}).([]string)
	return mills
}

// MayRecordIn says whether what is of a mill, or of no one mill, may be recorded
// under a context.
func MayRecordIn(ctx context.Context, mill string) bool {
	mills := MillsOf(ctx)
	return len(mills) == 0 || slices.Contains(mills, mill)
}
