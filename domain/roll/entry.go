package roll

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"
)

// Kind is what happened to the roll.
type Kind string

// The kinds of entries.
const (
	KindReceived  Kind = "received"
	KindInspected Kind = "inspected"
	KindReground  Kind = "reground"
	KindPaired    Kind = "paired"
	KindUnpaired  Kind = "unpaired"
	KindMounted   Kind = "mounted"
	KindWithdrawn Kind = "withdrawn"
	KindPastStay  Kind = "past_stay"
	KindIncident  Kind = "incident"
	KindConceded  Kind = "conceded"
	KindHeld      Kind = "held"
	KindReleased  Kind = "released"
	KindRegraded  Kind = "regraded"
	KindScrapped  Kind = "scrapped"
	KindCorrected Kind = "corrected"
)

// Entry is one line of a book. Entries are never changed or removed.
type Entry struct {
	Roll       string
	Number     int64     // place in the book by order of writing, from 1
	At         time.Time // when it happened
	RecordedAt time.Time
	By         string
	Reason     string
	Body       Body
	Hash       string // over this entry and the hash before it
}

// Digest chains an entry to the one before it, so that a book changed behind
// the service's back shows. body is the entry's body as it is stored.
//
//	SHA-256(previous ⏎ roll ⏎ number ⏎ kind ⏎ at ⏎ recorded ⏎ by ⏎ reason ⏎ body)
//
// with the times in microseconds since 1970 and the texts with their length
// before them, so that no two entries give the same bytes.
func Digest(previous string, e Entry, body []byte) string {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%d:%s\n%d\n%s\n%d\n%d\n%d:%s\n%d:%s\n%d:", previous, len(e.Roll), e.Roll, e.Number,
		e.Body.Kind(), e.At.UnixMicro(), e.RecordedAt.UnixMicro(), len(e.By), e.By, len(e.Reason), e.Reason, len(body))
	h.Write(body)
	return hex.EncodeToString(h.Sum(nil))
}
