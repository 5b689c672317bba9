package rest

import (
	"mime"
	"strconv"
	"strings"
)

// preferred is the first of what is offered that a header of the kind of Accept
// likes best (RFC 9110, 12.5); empty when it wants none of it.
func preferred(header string, offered ...string) string {
	if strings.TrimSpace(header) == "" {
		return offered[0]
	}
	best, most := "", 0.0
	for _, one := range offered {
		if q := quality(header, one); q > most {
			best, most = one, q
		}
	}
	return best
}

// quality is how much a header likes one: by the range that fits it closest.
func quality(header, one string) float64 {
	q, closest := 0.0, -1
	kind, _, _ := strings.Cut(one, "/")
	for _, part := range strings.Split(header, ",") {
		name, params, err := mime.ParseMediaType(strings.TrimSpace(part))
		if err != nil {
			continue
		}
		fits := -1
		switch name {
		case one:
			fits = 2
		case kind + "/*":
			fits = 1
		case "*/*", "*":
			fits = 0
		}
		if fits <= closest {
			continue
		}
		closest, q = fits, 1
		if text, given := params["q"]; given {
			if q, err = strconv.ParseFloat(text, 64); err != nil || q < 0 || q > 1 {
				q = 0
			}
		}
	}
	return q
}
