package rest

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// mapping is one function between the wire and the inside, with what it leaves
// out on purpose. Fields are named by their path in Go, without indices:
// "Passes.Stand"; an entry stands for all that lies under it.
type mapping struct {
	name string
	// unread are fields of the source that the result does not depend on, unset
	// those of the result that stay empty, each for a reason that stands beside it.
	unread, unset []string
	// words gives two values for a field that not any value will do for.
	words  map[string][2]any
	source reflect.Type
	from   func(*mapping) reflect.Value // a filled source
	turn   func(reflect.Value) (reflect.Value, error)
}

// carried is a mapping that cannot fail; prepare sets what the filler cannot
// know, such as a body behind an interface.
func carried[S, D any](name string, turn func(S) D, prepare ...func(*S)) *mapping {
	return tried(name, func(s S) (D, error) { return turn(s), nil }, prepare...)
}

// tried is a mapping that may refuse.
func tried[S, D any](name string, turn func(S) (D, error), prepare ...func(*S)) *mapping {
	return &mapping{name: name, source: reflect.TypeFor[S](),
		from: func(m *mapping) reflect.Value {
			v := reflect.New(reflect.TypeFor[S]()).Elem()
			n := 0
			fill(v, "", m.words, &n)
			for _, set := range prepare {
				set(v.Addr().Interface().(*S))
			}
			return v
		},
		turn: func(v reflect.Value) (reflect.Value, error) {
			d, err := turn(v.Interface().(S))
			return reflect.ValueOf(&d).Elem(), err
		}}
}

func (m *mapping) notRead(paths ...string) *mapping { m.unread = append(m.unread, paths...); return m }
func (m *mapping) notSet(paths ...string) *mapping  { m.unset = append(m.unset, paths...); return m }

// word gives the value a field is filled with, and another.
func (m *mapping) word(path string, one, other any) *mapping {
	if m.words == nil {
		m.words = map[string][2]any{}
	}
	m.words[path] = [2]any{one, other}
	return m
}

// lost changes one field of the source after the other and says which the
// result does not depend on, and which fields of the result nothing fills.
func (m *mapping) lost() (findings []string) {
	base, err := m.turn(m.from(m))
	if err != nil {
		return []string{fmt.Sprintf("a filled source is refused: %v", err)}
	}
	if again, _ := m.turn(m.from(m)); !reflect.DeepEqual(base.Interface(), again.Interface()) {
		return []string{"one source gives two results (a NaN?): nothing can be told"}
	}
	var idle []string
	for i := 0; ; i++ {
		source := m.from(m)
		path, more := m.change(source, i)
		if !more {
			break
		}
		if got, err := m.turn(source); err == nil && reflect.DeepEqual(base.Interface(), got.Interface()) {
			idle = append(idle, path)
		}
	}
	var empty []string
	walk(base, "", func(path string, v reflect.Value) {
		if v.IsZero() || (v.Kind() == reflect.Slice || v.Kind() == reflect.Map) && v.Len() == 0 {
			empty = append(empty, path)
		}
	})
	findings = append(findings, against(idle, m.unread, "is read by nothing: what is given there is lost")...)
	return append(findings, against(empty, m.unset, "is filled by nothing")...)
}

// against says what was found beside what is left out on purpose, and what is
// said to be left out and is not.
func against(found, allowed []string, what string) (findings []string) {
	under := func(path, entry string) bool { return path == entry || strings.HasPrefix(path, entry+".") }
	for _, path := range slices.Compact(slices.Sorted(slices.Values(found))) {
		if !slices.ContainsFunc(allowed, func(entry string) bool { return under(path, entry) }) {
			findings = append(findings, path+" "+what)
		}
	}
	for _, entry := range allowed {
		if !slices.ContainsFunc(found, func(path string) bool { return under(path, entry) }) {
			findings = append(findings, entry+" is listed as left out on purpose and is not")
		}
	}
	return findings
}

// change gives the i-th leaf of a filled value another value.
func (m *mapping) change(v reflect.Value, i int) (path string, more bool) {
	walk(v, "", func(at string, leaf reflect.Value) {
		if i--; i == -1 {
			path, more = at, true
			if pair, ok := m.words[at]; ok {
				leaf.Set(reflect.ValueOf(pair[1]).Convert(leaf.Type()))
				return
			}
			differ(leaf)
		}
	})
	return path, more
}

// walk visits every leaf of a value, in one order.
func walk(v reflect.Value, path string, visit func(string, reflect.Value)) {
	switch {
	case v.Type() == reflect.TypeFor[time.Time]():
		visit(path, v)
	case v.Kind() == reflect.Pointer && !v.IsNil():
		walk(v.Elem(), path, visit)
	case v.Kind() == reflect.Interface && !v.IsNil():
		// What an interface holds cannot be set in place: a copy is changed and put back.
		inner := reflect.New(v.Elem().Type()).Elem()
		inner.Set(v.Elem())
		walk(inner, path, func(at string, leaf reflect.Value) {
			visit(at, leaf)
			if v.CanSet() {
				v.Set(inner)
			}
		})
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				at := path
				if !f.Anonymous {
					at = strings.TrimPrefix(path+"."+f.Name, ".")
				}
				walk(v.Field(i), at, visit)
			}
		}
	case (v.Kind() == reflect.Slice || v.Kind() == reflect.Array) && v.Len() > 0:
		for i := range v.Len() {
			walk(v.Index(i), path, visit)
		}
	case v.Kind() == reflect.Map && v.Len() > 0:
		for _, key := range v.MapKeys() {
			value := reflect.New(v.Type().Elem()).Elem()
			value.Set(v.MapIndex(key))
			walk(value, path, func(at string, leaf reflect.Value) {
				visit(at, leaf)
				v.SetMapIndex(key, value)
			})
		}
	default:
		visit(path, v)
	}
}

// fill gives every field a value of its own that the contract would take:
// lengths are whole micrometres in mm.
func fill(v reflect.Value, path string, words map[string][2]any, n *int) {
	*n++
	if pair, ok := words[path]; ok {
		if v.Kind() == reflect.Pointer {
			v.Set(reflect.New(v.Type().Elem()))
			v = v.Elem()
		}
		v.Set(reflect.ValueOf(pair[0]).Convert(v.Type()))
		return
	}
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(time.Date(2026, 1, 1, *n, 0, 0, 0, time.UTC)))
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), path, words, n)
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				at := path
				if !f.Anonymous {
					at = strings.TrimPrefix(path+"."+f.Name, ".")
				}
				fill(v.Field(i), at, words, n)
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fill(v.Index(0), path, words, n)
		fill(v.Index(1), path, words, n)
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), path, words, n)
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		fill(key, path, nil, n)
		fill(value, path, words, n)
		v.SetMapIndex(key, value)
	case reflect.Bool:
		v.SetBool(true)
	case reflect.String:
		v.SetString(fmt.Sprint("v", *n))
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(int64(*n))
	case reflect.Float64:
		v.SetFloat(float64(1001**n) / 1000)
	}
}

// filled is a value of which every field is filled.
func filled[T any]() (v T) {
	n := 0
	fill(reflect.ValueOf(&v).Elem(), "", nil, &n)
	return v
}

// differ gives a leaf another value.
func differ(v reflect.Value) {
	if v.Type() == reflect.TypeFor[time.Time]() {
		v.Set(reflect.ValueOf(v.Interface().(time.Time).Add(30 * time.Minute)))
		return
	}
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(!v.Bool())
	case reflect.String:
		v.SetString(v.String() + "x")
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		v.SetInt(v.Int() + 1000)
	case reflect.Float64:
		v.SetFloat(v.Float() + 1000)
	case reflect.Interface, reflect.Slice, reflect.Map, reflect.Pointer:
		v.SetZero()
	}
}

// TestWhatIsLostIsFound shows that lost finds what it is there for.
func TestWhatIsLostIsFound(t *testing.T) {
	type inner struct{ X, Y float64 }
	type wire struct {
		Name  string
		Crown *float64
		List  []inner
		Note  *string
	}
	type inside struct {
		Name  string
		Crown float64
		List  []inner
		Extra int
	}
	forgetful := func(w wire) inside {
		return inside{Name: w.Name, Crown: given(w.Crown), List: each(w.List, func(i inner) inner { return inner{X: i.X} })}
	}
	for _, c := range []struct {
		m    *mapping
		want []string
	}{
		{carried("forgetful", forgetful),
			[]string{"List.Y is read by nothing: what is given there is lost", "Note is read by nothing: what is given there is lost", "Extra is filled by nothing", "List.Y is filled by nothing"}},
		{carried("on purpose", forgetful).notRead("List.Y", "Note").notSet("Extra", "List"), nil},
		{carried("said and not so", forgetful).notRead("List.Y", "Note", "Crown").notSet("Extra", "List.Y"), []string{"Crown is listed as left out on purpose and is not"}},
	} {
		if got := c.m.lost(); !slices.Equal(got, c.want) {
			t.Errorf("%s: found %q, want %q", c.m.name, got, c.want)
		}
	}
}
