package rest

import (
	"errors"
	"strings"

	"barrelbook/domain/refusal"
)

// renamed gives the fields of a refusal the contract's names where the domain
// calls them otherwise: pairs of the domain's beginning of a path and ours.
func renamed(err error, pairs ...string) error {
	var e *refusal.Error
	if !errors.As(err, &e) {
		return err
	}
	out := &refusal.Error{Fields: append([]refusal.Field(nil), e.Fields...)}
	for i := range out.Fields {
		for j := 0; j+1 < len(pairs); j += 2 {
			if rest, ok := strings.CutPrefix(out.Fields[i].Path, pairs[j]); ok {
				out.Fields[i].Path = pairs[j+1] + rest
				break
			}
		}
	}
	return out
}
