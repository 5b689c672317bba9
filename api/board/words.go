package board

import (
	"embed"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"

	"barrelbook/api/oapi"
)

//go:embed pages
var files embed.FS

//go:embed pages/style.css
var styleSheet []byte

//go:embed pages/icon.svg
var icon []byte

//go:embed pages/refresh.js
var refreshScript []byte

// pages are the templates with the words they share.
var pages = template.Must(template.New("").Funcs(template.FuncMap{
	"mm": mm, "whole": whole, "sure": sure, "words": words, "sentence": sentence, "verdict": verdict, "opt": optAny, "opt2": func(l *[]oapi.OwedTest) []oapi.OwedTest { return opt(l) }, "percent": func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) + "%" },
	"opt3": func(l *[]string) []string { return opt(l) }, "field": field, "crownAim": crownAim, "hundredth": func(minor *float64) float64 { return opt(minor) / 100 },
	"digits": digits, "half": func(v int) int { return v / 2 },
}).ParseFS(files, "pages/*.html"))

// Time prints a moment in the board's zone.
func (f frame) Time(t any) string { return clock(f.local(t)) }

// Day prints a date in the board's zone.
func (f frame) Day(t any) string { return day(f.local(t)) }

// Moment prints a date and time in the board's zone.
func (f frame) Moment(t any) string { return f.local(t).Format("2 Jan 2006 15:04") }

// Zone names the board's zone at the time the page was made.
func (f frame) Zone() string {
	name, offset := f.Made.In(f.zone).Zone()
	if name == "UTC" || offset == 0 && name == "" {
		return "UTC"
	}
	return fmt.Sprintf("%s, UTC%+03d:%02d", name, offset/3600, abs(offset%3600)/60)
}

// MadeAt is when the page was made.
func (f frame) MadeAt() string { return f.Made.In(f.zone).Format("15:04:05") }

func (f frame) local(t any) time.Time {
	switch t := t.(type) {
	case time.Time:
		return t.In(f.zone)
	case *time.Time:
		if t != nil {
			return t.In(f.zone)
		}
	}
	return time.Time{}
}

func clock(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("Mon 15:04")
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2 Jan 2006")
}

// mm prints a length of record: whole micrometres.
func mm(v any) string {
	switch v := v.(type) {
	case float64:
		return strconv.FormatFloat(v, 'f', 3, 64)
	case *float64:
		if v != nil {
			return strconv.FormatFloat(*v, 'f', 3, 64)
		}
	}
	return ""
}

// whole prints a number without decimals, thousands parted.
func whole(v float64) string {
	text := strconv.FormatFloat(math.Abs(math.Round(v)), 'f', 0, 64)
	for i := len(text) - 3; i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	if v < 0 && text != "0" {
		text = "−" + text
	}
	return text
}

// digits prints a number with three digits that count.
func digits(v any) string {
	x, ok := number(v)
	if !ok {
		return ""
	}
	if math.Abs(x) >= 1000 {
		return whole(x)
	}
	return strconv.FormatFloat(x, 'g', 3, 64)
}

func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case *float64:
		if v != nil {
			return *v, true
		}
	case int64:
		return float64(v), true
	}
	return 0, false
}

func hours(h float64) string {
	switch {
	case h < 1:
		return fmt.Sprintf("%d min", int(math.Round(h*60)))
	case h < 48:
		return fmt.Sprintf("%.0f h", h)
	}
	return fmt.Sprintf("%.0f days", h/24)
}

// sure prints a probability as a person says it.
func sure(p float64) string {
	switch {
	case p > 0.999:
		return "over 99.9 % sure"
	case p < 0.001:
		return "under 0.1 % sure"
	}
	return fmt.Sprintf("%.3g %% sure", 100*p)
}

// words turns a name of the contract into words.
func words(v any) string { return strings.ReplaceAll(fmt.Sprint(v), "_", " ") }

// verdict is what the wall says of a stand.
func verdict(v any) string {
	return map[string]string{"yes": "finishes", "marginal": "may not finish", "no": "will not finish", "blocked": "must not run"}[fmt.Sprint(v)]
}

func optAny(v any) any {
	switch v := v.(type) {
	case *string:
		return opt(v)
	case *float64:
		return opt(v)
	case *int64:
		return opt(v)
	case *bool:
		return opt(v)
	}
	return v
}

func abs(v int) int {
	if v < 0 {
		return -v
	}
	return v
}

// field is one input of the regrind form.
func field(d *regrindData, name, label, hint string, first bool) map[string]any {
	return map[string]any{"Name": name, "Label": label, "Hint": hint, "First": first, "Value": d.Entered[name], "Wrong": d.Wrong[name]}
}

// crownAim is the crown to grind, as a hint: what was not measured is not
// entered for the person.
func crownAim(a *oapi.RegrindAdvice) string {
	if a == nil || a.AimCrownUm == nil {
		return ""
	}
	return "aim " + digits(a.AimCrownUm)
}
