package port

import (
	"context"
	"strconv"
	"time"

	"barrelbook/domain/roll"
)

// EventKind is what an event tells of: a noun, a dot, what became of it.
type EventKind string

// The kinds. Those of entries end in the kind of the entry: entry.reground.
const (
	EventEntry           EventKind = "entry"
	EventChockEntry      EventKind = "chock_entry"
	EventChangeRecorded  EventKind = "change.recorded"
	EventChangeUndone    EventKind = "change.undone"
	EventChangeMoved     EventKind = "change.moved"
	EventSetBuilt        EventKind = "set.built"
	EventSetChanged      EventKind = "set.changed" // went into a stand or came out of it
	EventSetBroken       EventKind = "set.broken"
	EventIncident        EventKind = "incident.recorded"
	EventIncidentMoved   EventKind = "incident.moved" // other rolls bore it
	EventIncidentUndone  EventKind = "incident.undone"
	EventPiecesStored    EventKind = "pieces.stored"
	EventCampaignLoaded  EventKind = "campaign.loaded"
	EventRatesLearned    EventKind = "wear_rates.learned"
	EventForecastKept    EventKind = "forecast.kept"
	EventForecastSettled EventKind = "forecast.settled"
	EventOrderPlaced     EventKind = "order.placed"
	EventOrderChanged    EventKind = "order.changed"
	EventMillAdded       EventKind = "mill.added"
	EventGradeAdded      EventKind = "grade.added"
	EventStandAdded      EventKind = "stand.added"
	EventStandReplaced   EventKind = "stand.replaced"
	EventPracticePut     EventKind = "practice.put"
)

// EventKinds are all kinds; those of entries by their noun.
func EventKinds() []EventKind {
	return []EventKind{EventEntry, EventChockEntry, EventChangeRecorded, EventChangeUndone, EventChangeMoved, EventSetBuilt, EventSetChanged, EventSetBroken, EventIncident, EventIncidentMoved, EventIncidentUndone,
		EventPiecesStored, EventCampaignLoaded, EventRatesLearned, EventForecastKept, EventForecastSettled, EventOrderPlaced, EventOrderChanged, EventMillAdded, EventGradeAdded, EventStandAdded, EventStandReplaced, EventPracticePut}
}

// Event is one thing that was recorded, for those who follow.
type Event struct {
	EventPlace
	Kind    EventKind
	Subject string // the resource it is about, below /v1: rolls/CW-110
	Mill    string // empty where it is of no one mill
	EventData
}

// MessageID names the event among the messages of all works that one reader may
// get: positions alone would meet.
func (e Event) MessageID() string {
	return "evt_" + strconv.FormatInt(e.Position, 10) + "_" + strconv.FormatInt(e.At.UnixMicro(), 36)
}

// EventPlace is a place in the order of all events.
type EventPlace struct {
	Position int64     // from 1 without gaps; 0 is the place before the first
	At       time.Time // when the event there was recorded
}

// EventData is what an event says beside its kind. Each kind fills what it has.
type EventData struct {
	Entry   *roll.Entry // of a roll's book, whole
	Name    string
	Version int64
	Stand   string
	Role    string
	SetOut  string
	SetIn   string
	What    string    // the mishap, or what was forecast
	Rolls   []string  // that it concerns
	When    time.Time // when it happened
	Count   int64     // pieces or forecasts
}

// EventFilter narrows events. Empty fields stand for any.
type EventFilter struct {
	// Kinds are whole kinds or their nouns: "entry.reground", "entry".
	Kinds []string
	// Mills lets through what is of these mills or of none.
	Mills []string
}

// EventReader reads events in the order in which they were kept: one that comes
// after another never became visible before it, and follows everything that its
// transaction could have seen.
type EventReader interface {
	// Events gives at most limit events beyond a place, and the place up to which
	// was looked. Gone when events beyond the place have been dropped, or the place
	// is of another history, as after a restore.
	Events(f EventFilter, after EventPlace, limit int) ([]Event, EventPlace, error)
	// EventSpan gives the oldest event that is kept and the newest, zero places when
	// there is none.
	EventSpan() (oldest, newest EventPlace, err error)
	// LastEventBefore gives the newest event that was recorded before a moment, a zero
	// place when none is kept.
	LastEventBefore(at time.Time) (EventPlace, error)
}

// EventWriter drops events. They are written by what records.
type EventWriter interface {
	// ForgetEvents drops at most n of the oldest events that are older than the
	// moment. The newest event stays, so that who has read it can go on from there.
	ForgetEvents(before time.Time, n int) error
}

// EventStore is what a store knows of events beside reading them.
type EventStore interface {
	// OrderEvents gives their place to events that are kept and have none yet.
	OrderEvents(ctx context.Context) error
	// Recorded gives a channel that is closed when something is next recorded by
	// this process.
	Recorded() <-chan struct{}
}
