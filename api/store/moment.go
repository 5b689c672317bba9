package store

import "time"

// Moments are BIGINT columns of whole microseconds since 1970 UTC on both
// databases. PostgreSQL's timestamptz would come back in the session's zone, and
// SQLite has no type for time and compares texts; a number comes back the same,
// sorts the same, and is what the hash of an entry is taken over. Documents hold
// RFC 3339 in UTC for the person who looks into the database.

// micros is t as it is stored. The zero time has a number like any other and
// comes back as the zero time.
func micros(t time.Time) int64 { return t.UnixMicro() }

// moment reads what micros wrote.
func moment(us int64) time.Time { return time.UnixMicro(us).UTC() }

// microsOrNull stores the zero time as NULL, for the end of what has not ended.
func microsOrNull(t time.Time) *int64 {
	if t.IsZero() {
		return nil
	}
	us := micros(t)
	return &us
}

func momentOrZero(us *int64) time.Time {
	if us == nil {
		return time.Time{}
	}
	return moment(*us)
}

// stored is t as it will come back.
func stored(t time.Time) time.Time { return moment(micros(t)) }
