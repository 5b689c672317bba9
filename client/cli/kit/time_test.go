package kit_test

import (
	"strings"
	"testing"
	"time"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/config"
)

func TestTimesAreTypedAsPeopleSayThem(t *testing.T) {
	const vienna = "Europe/Vienna"
	for _, c := range []struct {
		name, zone, typed, want, wrong string
		now                            time.Time // kittest.Now, 14:05 UTC, when zero
	}{
		{name: "in UTC", zone: vienna, typed: "2026-03-04T14:05Z", want: "2026-03-04T14:05:00Z"},
		{name: "with seconds", zone: vienna, typed: "2026-03-04T14:05:06.5Z", want: "2026-03-04T14:05:06.5Z"},
		{name: "with an offset", zone: vienna, typed: "2026-03-04T15:05+05:30", want: "2026-03-04T09:35:00Z"},
		{name: "a date and a clock", zone: vienna, typed: "2026-03-04 14:05", want: "2026-03-04T13:05:00Z"},
		{name: "where no zone is known", typed: "2026-03-04 14:05", want: "2026-03-04T14:05:00Z"},
		{name: "a clock alone", zone: vienna, typed: "15:00", want: "2026-03-04T14:00:00Z"},
		{name: "a clock that is a little fast", zone: vienna, typed: "15:08", want: "2026-03-04T14:08:00Z"},
		{name: "a clock still to come", zone: vienna, typed: "22:00", wrong: `yesterday 22:00`},
		{name: "yesterday", zone: vienna, typed: "yesterday 22:00", want: "2026-03-03T21:00:00Z"},
		{name: "today by name", zone: vienna, typed: "Today 22:00", want: "2026-03-04T21:00:00Z"},
		{name: "now", zone: vienna, typed: "now", want: "2026-03-04T14:05:00Z"},
		{name: "the day is that of the zone", zone: "Pacific/Auckland", typed: "yesterday 22:00", want: "2026-03-04T09:00:00Z"},
		{name: "a date", zone: vienna, typed: "2026-03-04", want: "2026-03-03T23:00:00Z"},
		{name: "before the clocks are put forward", zone: vienna, typed: "2026-03-29 01:59", want: "2026-03-29T00:59:00Z"},
		{name: "in the hour that is jumped over", zone: vienna, typed: "2026-03-29 02:30", wrong: "jump over it"},
		{name: "after it", zone: vienna, typed: "2026-03-29 03:00", want: "2026-03-29T01:00:00Z"},
		{name: "in the hour that comes twice", zone: vienna, typed: "2026-10-25 02:30", wrong: "write 2026-10-25T02:30+02:00 or 2026-10-25T02:30+01:00"},
		{name: "told apart", zone: vienna, typed: "2026-10-25T02:30+01:00", want: "2026-10-25T01:30:00Z"},
		{name: "before the hour that comes twice", zone: vienna, typed: "2026-10-25 01:59", want: "2026-10-24T23:59:00Z"},
		{name: "yesterday over a change of clocks", zone: vienna, typed: "yesterday 14:00", want: "2026-10-24T12:00:00Z", now: time.Date(2026, 10, 25, 12, 0, 0, 0, time.UTC)},
		{name: "a date whose first hour is jumped over", zone: "Asia/Beirut", typed: "2026-03-29", want: "2026-03-28T22:00:00Z"},
		{name: "no time", zone: vienna, typed: "noon", wrong: "not a date and time"},
		{name: "a day that is none", zone: vienna, typed: "2026-02-30 10:00", wrong: "not a date and time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := kittest.New(t, nil, "")
			w.Given[config.TimeZone] = c.zone
			if !c.now.IsZero() {
				w.Now = func() time.Time { return c.now }
			}
			got, err := kit.ParseTime(w.Factory, "--at", c.typed)
			switch {
			case c.wrong != "":
				if err == nil || !strings.Contains(err.Error(), c.wrong) || !strings.Contains(err.Error(), "--at") {
					t.Errorf("got %v, %v; want %q", got, err, c.wrong)
				}
			case err != nil || got.Format(time.RFC3339Nano) != c.want || got.Location() != time.UTC:
				t.Errorf("got %v, %v; want %s", got, err, c.want)
			}
		})
	}
}

func TestAnUnknownZoneIsSaid(t *testing.T) {
	w := kittest.New(t, nil, "")
	w.Given[config.TimeZone] = "Europe/Nowhere"
	if _, err := kit.ParseTime(w.Factory, "--at", "14:00"); err == nil || !strings.Contains(err.Error(), "Europe/Nowhere") {
		t.Errorf("got %v", err)
	}
}
