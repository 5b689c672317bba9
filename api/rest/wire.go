package rest

import (
	"time"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

// given is what an optional field holds, or the zero value.
func given[T any](p *T) T {
	if p == nil {
		var none T
		return none
	}
	return *p
}

// text is an optional field that may be of a named string type.
func text[To, From ~string](p *From) To {
	if p == nil {
		return ""
	}
	return To(*p)
}

// optional leaves a zero value out.
func optional[T comparable](v T) *T {
	var none T
	if v == none {
		return nil
	}
	return &v
}

// word leaves an empty string out and changes its named type.
func word[To, From ~string](v From) *To {
	if v == "" {
		return nil
	}
	to := To(v)
	return &to
}

// when leaves a zero time out. Times leave in UTC.
func when(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.UTC()
	return &t
}

// list is never nil, so that it is written as [].
func list[T any](items []T) []T {
	if items == nil {
		return []T{}
	}
	return items
}

// some leaves an empty list out.
func some[T any](items []T) *[]T {
	if len(items) == 0 {
		return nil
	}
	return &items
}

// each maps a list; the result is never nil.
func each[From, To any](items []From, turn func(From) To) []To {
	out := make([]To, len(items))
	for i, item := range items {
		out[i] = turn(item)
	}
	return out
}

// mmOrNone is a length in mm, left out when it is not known.
func mmOrNone(um quantity.Micrometre) *float64 { return optional(um.MM()) }

// lengths reads lengths of record from millimetres on the wire and gathers
// what it must refuse: a figure finer than the micrometre of the book.
type lengths struct{ fields []refusal.Field }

func (l *lengths) mm(path string, v float64) quantity.Micrometre {
	um, err := quantity.RecordMM(v)
	for _, f := range refusal.FieldsOf(err) {
		f.Path = path
		l.fields = append(l.fields, f)
	}
	return um
}

// mmOr is mm of an optional field; 0 when it was left out.
func (l *lengths) mmOr(path string, v *float64) quantity.Micrometre {
	if v == nil {
		return 0
	}
	return l.mm(path, *v)
}

func (l *lengths) err() error {
	if len(l.fields) == 0 {
		return nil
	}
	return &refusal.Error{Fields: l.fields}
}
