package kit

import (
	"fmt"
	"strings"
	"time"
)

// ParseTime reads a moment as people say it, by the clock on their wall: "14:00",
// "yesterday 14:00", "2026-03-04 15:05", a date, which begins with its first
// minute; or with a zone of its own, as programs write it. An hour that the clocks
// jump over, or that comes twice, is refused: an entry that is an hour off
// contradicts its neighbours.
func ParseTime(f *Factory, flag, text string) (time.Time, error) {
	if _, err := f.Settings(); err != nil { // they say the zone
		return time.Time{}, err
	}
	zone := f.Term.Zone
	if zone == nil {
		zone = time.UTC
	}
	t, err := readTime(strings.TrimSpace(text), f.Now(), zone)
	if err != nil {
		return t, &Input{Err: fmt.Errorf("%s %q %w", flag, text, err)}
	}
	return t.UTC(), nil
}

// OptTime is ParseTime for a flag that may be left out.
func OptTime(f *Factory, flag, text string) (*time.Time, error) {
	if text == "" {
		return nil, nil
	}
	t, err := ParseTime(f, flag, text)
	if err != nil {
		return nil, err
	}
	return &t, nil
}

// FileTime reads a moment in a file, which knows no clock on a wall: with its zone,
// or a date, which begins at midnight UTC.
func FileTime(field, text string) (time.Time, error) {
	clean := strings.ToUpper(strings.Replace(strings.TrimSpace(text), " ", "T", 1))
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00", time.DateOnly} {
		if t, err := time.Parse(layout, clean); err == nil {
			return t.UTC(), nil
		}
	}
	return time.Time{}, &Input{Err: fmt.Errorf("%s %q is not a date and time with its zone; write it like 2026-03-04T14:05Z", field, text)}
}

// ahead is how much a clock on a wall may be before that of the service.
const ahead = 5 * time.Minute

func readTime(text string, now time.Time, zone *time.Location) (time.Time, error) {
	clean := strings.ToUpper(strings.Replace(text, " ", "T", 1))
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00"} {
		if t, err := time.Parse(layout, clean); err == nil {
			return t, nil
		}
	}
	now = now.In(zone)
	word, clock, _ := strings.Cut(strings.ToLower(text), " ")
	days, named := map[string]int{"yesterday": -1, "today": 0, "tomorrow": 1}[word]
	switch {
	case word == "now" && clock == "":
		return now, nil
	case named:
		return onWall(now.AddDate(0, 0, days).Format(time.DateOnly)+"T"+clock, zone)
	case strings.Contains(word, ":") && clock == "":
		t, err := onWall(now.Format(time.DateOnly)+"T"+word, zone)
		if err == nil && t.After(now.Add(ahead)) {
			return t, fmt.Errorf("is still to come today: write \"yesterday %s\" or \"today %s\"", word, word)
		}
		return t, err
	}
	return onWall(clean, zone)
}

// onWall is the moment at which a clock in the zone shows a date and time.
func onWall(text string, zone *time.Location) (time.Time, error) {
	text = strings.TrimSuffix(text, "T")
	var shown time.Time
	var err error
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", time.DateOnly} {
		if shown, err = time.Parse(layout, text); err == nil {
			break
		}
	}
	if err != nil {
		return shown, fmt.Errorf("is not a date and time; write it like 14:05, \"yesterday 14:05\", \"2026-03-04 14:05\" or 2026-03-04T14:05Z")
	}
	day := len(text) == len(time.DateOnly)
	var at []time.Time // one, none where the clocks jump, two where they go back
	before, after := offset(shown.Add(-24*time.Hour), zone), offset(shown.Add(24*time.Hour), zone)
	for _, off := range []time.Duration{before, after} {
		t := shown.Add(-off).In(zone)
		if offset(t, zone) == off && (len(at) == 0 || !at[0].Equal(t)) {
			at = append(at, t)
		}
	}
	switch {
	case len(at) == 1 || day && len(at) == 2:
		return at[0], nil
	case day: // a day whose first hour the clocks jump over
		return shown.Add(-before), nil
	case len(at) == 0:
		return shown, fmt.Errorf("is not on any clock in %s: they jump over it that night", zone)
	}
	return shown, fmt.Errorf("comes twice in %s, when the clocks go back: write %s or %s", zone,
		at[0].Format("2006-01-02T15:04Z07:00"), at[1].Format("2006-01-02T15:04Z07:00"))
}

// offset is how far the clock in a zone is before UTC at a moment.
func offset(t time.Time, zone *time.Location) time.Duration {
	_, seconds := t.In(zone).Zone()
	return time.Duration(seconds) * time.Second
}
