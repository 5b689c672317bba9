package term

import (
	"regexp"
	"strings"
	"time"
)

// Texts hold their moments in UTC, "2026-03-04 14:05Z", those that the service
// wrote as well as the client's own. A person sees them in the zone of the clock on
// the wall, which is named with each; what goes to programs is left alone.

const moment = "2006-01-02 15:04"

var moments = regexp.MustCompile(`\d{4}-\d\d-\d\d \d\d:\d\dZ`)

// Local is a text with its moments as the person's clock shows them.
func (s *Streams) Local(text string) string {
	if s.Zone == nil || s.Zone == time.UTC {
		return text
	}
	return moments.ReplaceAllStringFunc(text, func(found string) string {
		at, err := time.Parse(moment+"Z", found)
		if err != nil {
			return found
		}
		return inZone(at.In(s.Zone))
	})
}

// LocalColumn are cells that are moments or empty in the person's zone. Where it
// is the same for all it is given back, for the heading, and the cells go without;
// around a change of clocks each names its own.
func (s *Streams) LocalColumn(cells []string) (local []string, zone string) {
	marks := map[string]bool{}
	for _, cell := range cells {
		if cell != "" && moments.FindString(cell) != cell {
			return cells, ""
		}
		shown := s.Local(cell)
		local = append(local, shown)
		if shown != "" {
			zone = shown[len(moment):]
			marks[zone] = true
		}
	}
	if len(marks) != 1 {
		return local, ""
	}
	for i, cell := range local {
		local[i] = strings.TrimSuffix(cell, zone)
	}
	return local, strings.Replace(strings.TrimSpace(zone), "Z", "UTC", 1)
}

// inZone is a moment with the name of its zone; a zone without a name of its own
// is told by how far it is from UTC.
func inZone(at time.Time) string {
	name, offset := at.Zone()
	switch {
	case name == "UTC" && offset == 0:
		return at.Format(moment + "Z")
	case name == "" || strings.ContainsAny(name[:1], "+-"):
		return at.Format(moment + " UTC-07:00")
	}
	return at.Format(moment + " MST")
}
