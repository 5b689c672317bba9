package rest

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/refusal"
	"barrelbook/domain/spelling"
)

// nameFields are the parameters and members of bodies that name what is there.
// What names something new is not among them.
var nameFields = map[string]port.Named{
	"roll": port.RollNames, "top": port.RollNames, "bottom": port.RollNames, "partner": port.RollNames, "arrived": port.RollNames, "rolls": port.RollNames,
	"set": port.SetNames, "set_in": port.SetNames, "with_set": port.SetNames, "backup_set": port.SetNames, "intermediate_set": port.SetNames,
	"stand": port.StandNames, "stands": port.StandNames, "for_stand": port.StandNames, "stands_without_change": port.StandNames,
	"mill": port.MillNames, "mills": port.MillNames, "grade": port.GradeNames, "chock": port.ChockNames, "campaign": port.CampaignNames,
}

// machineMade is how long a list may be and still be one that people write: in
// longer ones names are taken as they are.
const machineMade = 1000

// spelled takes the names in a request whatever their case, and says of one that
// nobody knows which was probably meant.
func (s *Server) spelled(next oapi.StrictHandlerFunc, _ string) oapi.StrictHandlerFunc {
	return func(c echo.Context, request any) (any, error) {
		if strings.HasPrefix(c.Path(), "/v1/calculations/") {
			return next(c, request) // whose names are of no book
		}
		read := &readNames{ctx: c.Request().Context(), s: s}
		v := reflect.New(reflect.TypeOf(request)).Elem()
		v.Set(reflect.ValueOf(request))
		read.walk(v)
		answer, err := next(c, v.Interface())
		if err != nil && len(read.unknown) > 0 {
			err = read.suggest(err)
		}
		return answer, err
	}
}

// readNames looks for the names in one request.
type readNames struct {
	ctx     context.Context
	s       *Server
	unknown []unknownName
}

type unknownName struct {
	of   port.Named
	name string
}

// walk visits what a request holds.
func (r *readNames) walk(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			r.walk(v.Elem())
		}
	case reflect.Slice:
		if v.Len() <= machineMade {
			for i := range v.Len() {
				r.walk(v.Index(i))
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if !field.IsExported() {
				continue
			}
			if of, is := nameFields[wireName(field)]; is && r.name(of, v.Field(i)) {
				continue
			}
			r.walk(v.Field(i))
		}
	}
}

// wireName is the name that a field has in the contract.
func wireName(field reflect.StructField) string {
	for _, tag := range []string{"json", "form"} {
		if name, _, _ := strings.Cut(field.Tag.Get(tag), ","); name != "" {
			return name
		}
	}
	return ""
}

// name writes a name, or each of a list, as it is in the books; false for what
// holds none.
func (r *readNames) name(of port.Named, v reflect.Value) bool {
	if v.Kind() == reflect.Pointer && !v.IsNil() {
		v = v.Elem()
	}
	switch {
	case v.Kind() == reflect.String:
		v.SetString(r.kept(of, v.String()))
		return true
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() == reflect.String && v.Len() <= machineMade:
		for i := range v.Len() {
			v.Index(i).SetString(r.kept(of, v.Index(i).String()))
		}
		return true
	}
	return false
}

// kept is the name as it is in the books, or as it was written where no one, or
// more than one, is meant. Names that are there stay there, and are not looked up
// twice.
func (r *readNames) kept(of port.Named, name string) string {
	key := unknownName{of, name}
	if _, seen := r.s.named.Load(key); seen || name == "" {
		return name
	}
	alike, err := r.s.app.NamesLike(r.ctx, of, name)
	if err != nil {
		return name // the handler will say what is the matter
	}
	if slices.Contains(alike, name) {
		r.s.named.Store(key, true)
		return name
	}
	alike = slices.DeleteFunc(alike, func(other string) bool { return !spelling.Same(other, name) })
	if len(alike) == 1 {
		return alike[0]
	}
	r.unknown = append(r.unknown, key)
	return name
}

// suggest adds to a refusal the names that were probably meant.
func (r *readNames) suggest(err error) error {
	var e *port.Error
	if !errors.As(err, &e) || e.Kind != port.NotFound && e.Kind != port.Impossible {
		return err
	}
	said := *e
	for _, u := range r.unknown {
		names, err := r.s.app.NamesLike(r.ctx, u.of, "")
		if err != nil {
			continue
		}
		meant := spelling.Nearest(u.name, names)
		if meant == "" {
			continue
		}
		hint := "did you mean " + meant + "?"
		if fields := refusal.FieldsOf(said.Err); len(fields) > 0 {
			said.Err = &refusal.Error{Fields: hinted(fields, u.name, hint)}
		} else if strings.Contains(said.Detail, u.name) {
			said.Detail += "; " + hint
		}
	}
	return &said
}

// hinted are the fields with a hint at the one that has the value.
func hinted(fields []refusal.Field, value, hint string) []refusal.Field {
	fields = slices.Clone(fields)
	for i := range fields {
		if fields[i].Value == value {
			fields[i].Do = strings.TrimSuffix(hint+" Else "+fields[i].Do, " Else ")
		}
	}
	return fields
}
