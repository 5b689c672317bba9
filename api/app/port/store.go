// Package port says what the use cases need of the world outside them, a store with
// its rows, a clock and names, and how they are asked and refuse.
package port

import (
	"context"
	"time"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// Clock tells the time: UTC, truncated to microseconds. It is the clock of the
// database, so that the machines that share one agree on what came first.
type Clock interface {
	// Now is for what is read.
	Now() time.Time
	// In is for what is written: the moment in a transaction, read when it is
	// asked for. After a lock was taken it is later than what the one who held the
	// lock before has recorded.
	In(w Writer) (time.Time, error)
}

// IDs makes names that nobody chose. Name gives prefix + "-" + something that
// has not been given before and sorts by the moment it was made.
type IDs interface{ Name(prefix string) string }

// Store keeps everything. Nothing above it knows which database it is on.
type Store interface {
	// Read gives a consistent view that never writes.
	Read(ctx context.Context, fn func(Reader) error) error
	// Look is Read for what asks the store one thing: it is no consistent view of
	// two.
	Look(ctx context.Context, fn func(Reader) error) error
	// Write runs fn in one transaction: all of it is kept, or nothing when fn
	// returns an error. fn may run again after a conflict of two transactions.
	Write(ctx context.Context, fn func(Writer) error) error
	// Ping answers whether the database answers and its schema is current.
	Ping(ctx context.Context) error

	EventStore
}

// Page asks for at most Limit items after the place After, which is the empty
// string for the first page, else the place a page before gave.
type Page struct {
	Limit int
	After string
	// ChangedSince leaves, of the lists of things that have events, those that have
	// one since the moment; zero leaves all. Gone where events do not go back so far.
	ChangedSince time.Time
	// Sort is another order than the list's own, which the empty string is.
	Sort Sort
}

// Sort is an order of a list. Lists pass over those they do not know.
type Sort string

// The orders.
const (
	NumberDown   Sort = "-number"
	DiameterUp   Sort = "diameter_mm"
	DiameterDown Sort = "-diameter_mm"
	OldestFirst  Sort = "at"
)

// RollRow is a roll's projection: its state and what it has borne.
type RollRow struct {
	State  roll.State
	Totals duty.Usage
	Hash   string // of the last entry
}

// Version is the version of the roll's book.
func (r RollRow) Version() int64 { return r.State.Entries }

// RollCut is how many rolls there ever were and how many of them are scrapped.
type RollCut struct{ Count, Scrapped int64 }

// RollName is as much of a roll as counting them takes.
type RollName struct {
	Number string
	Mill   string
	Role   mill.Role
	Grade  string
	Stage  roll.Stage
}

// RollFilter narrows a list of rolls. Empty fields stand for any.
type RollFilter struct {
	Stage roll.Stage
	Role  mill.Role
	Mill  string
	Stand string
	Grade string
	Held  *bool
	Set   string
}

// SetRow is a set: two rolls built together.
type SetRow struct {
	Name     string
	Role     mill.Role
	Mill     string
	Top      string
	Bottom   string
	BuiltAt  time.Time
	BrokenAt time.Time // zero while it stands
	Stand    string    // where it is mounted, empty when in the shop
	Version  int64
}

// SetFilter narrows a list of sets. Broken sets are not listed.
type SetFilter struct {
	Role mill.Role
	Mill string
}

// Stay is a roll in one stand: when, as what, and what it bore.
type Stay struct {
	ID          int64 // given by the store
	Roll        string
	Stand       string
	Position    mill.Position
	Set         string
	MountedAt   time.Time
	WithdrawnAt time.Time // zero while it is in
	Diameter    quantity.Micrometre
	Usage       duty.Usage
}

// ChangeRow is one roll change at a stand. One that was undone stays, marked.
type ChangeRow struct {
	Name   string
	Stand  string
	Role   mill.Role
	At     time.Time
	SetOut string
	SetIn  string
	Why    roll.Why
	By     string
	Note   string
	// What was stated of the rolls that came out.
	StatedT               float64
	StatedKM              float64
	StatedSpecificKNPerMM float64
	UndoneAt              time.Time // zero while it stands
	UndoneBy              string
	UndoneWhy             string
}

// IncidentRow is one mishap.
type IncidentRow struct {
	Name  string
	What  roll.What
	Stand string
	At    time.Time
	Rolls []string
	By    string
	Note  string
	// UndoneAt is zero while it stands.
	UndoneAt            time.Time
	UndoneBy, UndoneWhy string
}

// TokenRow is a token without its secret.
type TokenRow struct {
	Name string
	Hash string // of the secret
	Role Role
	// Mills are those that its holder may record in; none stands for all.
	Mills     []string
	CreatedAt time.Time
	ExpiresAt time.Time
	RevokedAt time.Time // zero while it stands
	RotatedAt time.Time // zero while it has its first secret
	// PreviousHash is of the secret before, which is taken until PreviousUntil.
	PreviousHash  string
	PreviousUntil time.Time
	UsedAt        time.Time // to the hour; zero before the first time
}

// ProgrammeRow is a programme ahead.
type ProgrammeRow struct {
	mill.Programme
	LoadedBy string
}

// AuditRow is who did what.
type AuditRow struct {
	At        time.Time
	By        string
	Role      Role
	Operation string // of the contract
	What      string
	RequestID string
	// Subjects are what it was about, below /v1, as the events of its transaction
	// name it; the store fills them in.
	Subjects []string
}

// AuditFilter narrows the audit. Empty fields stand for any; From is included,
// Until not.
type AuditFilter struct {
	By        string
	Operation string
	RequestID string
	Subject   string
	From      time.Time
	Until     time.Time
}

// SignOff is a link of the chain that holds the whole works as it was at a moment:
// how many rows of each part of each table, and their digests.
type SignOff struct {
	Number int64 // from 1, given by the store
	At     time.Time
	By     string
	Note   string
	Kept   int64  // rows of all tables, given by the store
	Hash   string // given by the store; noted outside, it shows a chain made anew
}

// Replay is the remembered answer of a request with an idempotency key.
type Replay struct {
	Actor       string
	Operation   string
	Key         string
	Fingerprint string // of the body
	Answer      []byte
	At          time.Time
}

// Reader reads. Every method that names one thing gives an *Error of kind
// NotFound when there is no such thing. Lists are pages: the items and the
// place of the next page, empty at the end.
type Reader interface {
	LearningReader
	ChockReader
	DamageReader
	EventReader
	WebhookReader
	PurchaseReader

	// Err gives what the caller's context has ended with, nil while somebody waits
	// for the answer: the stop.Check of what is computed from what was read.
	Err() error

	Mill(name string) (mill.Mill, error)
	Mills(p Page) ([]mill.Mill, string, error)
	Stand(name string) (mill.Stand, error)
	// Stands gives the stands of a mill, or of all mills, in the order of mill
	// and pass order.
	Stands(millName string, p Page) ([]mill.Stand, string, error)
	Grade(name string) (Grade, error)
	Grades(p Page) ([]Grade, string, error)
	// Practice is the current version.
	Practice(name string) (practice.Practice, error)
	// Practices gives the current versions by name.
	Practices(p Page) ([]practice.Practice, string, error)

	// Settings is what is set up in the works. It is kept and shared: nobody
	// changes it.
	Settings() (*Settings, error)
	// Stamp gives a text that is another one as soon as rows of the parts were
	// added, changed or taken out, or the settings or chocks were.
	Stamp(parts []Part) (string, error)
	// Names gives the names of a sort in order: all, or with alike those that look
	// like it, see spelling.Look.
	Names(of Named, alike string) ([]string, error)

	Roll(number string) (RollRow, error)
	// RollsByNumber gives the rolls that exist of those named, in any order.
	RollsByNumber(numbers []string) ([]RollRow, error)
	// States gives the states of the rolls that exist of those named, in any order.
	// They are kept and shared: nobody changes them.
	States(numbers []string) ([]*roll.State, error)
	Rolls(f RollFilter, p Page) ([]RollRow, string, error)
	// RollNames names all rolls, by number, without reading what they are like.
	RollNames() ([]RollName, error)
	// RollCut tells whether rolls have come or gone since somebody looked.
	RollCut() (RollCut, error)
	// Book is the whole book of a roll in the order of writing.
	Book(number string) ([]roll.Entry, error)
	Entries(number string, p Page) ([]roll.Entry, string, error)
	// Corrections gives, by the number of each entry of a book from one number to
	// another that was corrected, the number of the entry that did it.
	Corrections(number string, from, to int64) (map[int64]int64, error)

	Set(name string) (SetRow, error)
	Sets(f SetFilter, p Page) ([]SetRow, string, error)

	// MountingsAt gives the mountings of the stands that cover the moment.
	MountingsAt(stands []string, at time.Time) ([]Stay, error)
	// MountingsBetween gives the mountings of the stands that end after the
	// moment or have not ended, and begin at another at the latest, zero for no end:
	// for pieces of many moments at once.
	MountingsBetween(stands []string, from, until time.Time) ([]Stay, error)
	// Mountings gives those of one roll, newest first.
	Mountings(rollNumber string, p Page) ([]Stay, string, error)

	Change(name string) (ChangeRow, error)
	// Changes newest first, undone ones too.
	Changes(stand string, p Page) ([]ChangeRow, string, error)
	Incident(name string) (IncidentRow, error)
	// Incidents newest first, undone ones too.
	Incidents(p Page) ([]IncidentRow, string, error)
	// Pieces of a mill, or of all mills, newest first.
	Pieces(millName string, p Page) ([]mill.Piece, string, error)
	// PiecesBetween are those of a mill rolled from a moment until before
	// another, zero for no end, oldest first.
	PiecesBetween(millName string, from, until time.Time, p Page) ([]mill.Piece, string, error)
	Campaign(name string) (ProgrammeRow, error)
	// Campaigns newest first, without their pieces.
	Campaigns(millName string, p Page) ([]ProgrammeSummary, string, error)

	TokenByHash(hash string) (TokenRow, error)
	Tokens(p Page) ([]TokenRow, string, error)
	// Audit last written first.
	Audit(f AuditFilter, p Page) ([]AuditRow, string, error)
	Token(name string) (TokenRow, error)
	// ReckonedAfter is the id of a stay: what is kept of those after it was reckoned
	// by this program.
	ReckonedAfter() (int64, error)
	// SignOffs of the whole works, newest first.
	SignOffs(p Page) ([]SignOff, string, error)
	// Remembered gives the answer kept for a key, NotFound when there is none.
	Remembered(actor, operation, key string) (Replay, error)
	Counts() (Counts, error)
}

// Counts are the sizes of the works.
type Counts struct{ Rolls, Entries, Pieces int64 }

// ProgrammeSummary is a campaign without its pieces.
type ProgrammeSummary struct {
	Name            string
	Mill            string
	StartsAt        time.Time
	MinutesPerPiece float64
	Pieces          int64
	TonnageT        float64
	Stops           []mill.PlannedStop
	LoadedBy        string
}

// Summary is the campaign without its pieces.
func (c ProgrammeRow) Summary() ProgrammeSummary {
	return ProgrammeSummary{Name: c.Name, Mill: c.Mill, StartsAt: c.StartsAt, MinutesPerPiece: c.MinutesPerPiece,
		Pieces: int64(len(c.Pieces)), TonnageT: c.TonnageT(), Stops: c.Stops, LoadedBy: c.LoadedBy}
}

// Writer reads and writes inside one transaction.
type Writer interface {
	Reader
	LearningWriter
	ChockWriter
	DamageWriter
	EventWriter
	WebhookWriter
	PurchaseWriter

	// LockStands and LockRolls keep other transactions off the named things
	// until this one ends. The store takes the locks in the order of the names,
	// so that two transactions cannot wait for one another. Locks on stands are
	// taken before locks on rolls. Unknown names are passed over.
	LockStands(names []string) error
	LockRolls(numbers []string) error

	// LockChocks is taken after the locks on rolls.
	LockChocks(names []string) error

	// Create… give an *Error of kind Conflicting when the name is taken.
	CreateMill(m mill.Mill) error
	CreateStand(s mill.Stand) error
	// ReplaceStand keeps s as version s.Version+1 when the stored version is
	// s.Version, else gives Stale.
	ReplaceStand(s mill.Stand) error
	CreateGrade(g Grade) error
	CreatePractice(p practice.Practice) error
	// ReplacePractice keeps p as version p.Version+1 when the current version is
	// p.Version, else gives Stale. Earlier versions stay.
	ReplacePractice(p practice.Practice) error

	// Append writes the next entry of a book, chained to row.Hash, and the
	// state after it. row is the projection before the entry (the zero row for
	// a receipt); e.Number must be row.Version()+1, else Stale. Conflicting when
	// the number of a receipt was ever used. It gives the new projection. Totals
	// are not touched.
	Append(row RollRow, e roll.Entry, after roll.State) (RollRow, error)
	// AppendAll writes several entries of one book at once, and the state after
	// the last.
	AppendAll(row RollRow, add []roll.Entry, after roll.State) error

	CreateSet(s SetRow) error
	// ReplaceSet keeps s as version s.Version+1, else gives Stale.
	ReplaceSet(s SetRow) error

	// OpenMounting gives the id.
	OpenMounting(m Stay) (int64, error)
	// AddPastStays keeps stays that have ended with what they bore, and adds that
	// to the totals of their rolls.
	AddPastStays(stays []Stay) error
	// MoveMounting writes when and at what diameter a mounting was.
	MoveMounting(m Stay) error
	RemoveMounting(id int64) error
	// AddUsage adds to mountings and to the totals of their rolls.
	AddUsage(additions map[int64]duty.Usage) error
	// PutUsage writes the usage of mountings anew. Totals are not touched.
	PutUsage(usages map[int64]duty.Usage) error
	// SumTotals makes the totals of rolls the sum of their mountings, and gives
	// their regrinds since the moment new ids: what those ended has changed.
	SumTotals(rolls []string, since time.Time) error

	CreateChange(c ChangeRow) error
	// UndoChange marks a change as undone. Conflicting when it is marked.
	UndoChange(name string, at time.Time, by, why string) error
	// MoveChange writes when a change was, what it took out and why.
	MoveChange(c ChangeRow) error
	CreateIncident(i IncidentRow) error
	// MoveIncident writes which rolls bore it.
	MoveIncident(i IncidentRow) error
	// UndoIncident marks an incident as undone. Conflicting when it is marked.
	UndoIncident(name string, at time.Time, by, why string) error
	// InsertPieces keeps those pieces whose source and id are new, and says for
	// each, in order, whether it was new.
	InsertPieces(pieces []mill.Piece) ([]bool, error)
	CreateCampaign(c ProgrammeRow) error

	CreateToken(t TokenRow) error
	RevokeToken(name string, at time.Time) error
	// RotateToken writes the secrets and the times of a token, and ends its
	// revocation.
	RotateToken(t TokenRow) error
	// UseToken notes when a token was used.
	UseToken(name string, at time.Time) error
	// InScope refuses, as Forbidden, what was recorded in this transaction beyond the
	// mills that its context allows. The end of the transaction asks it anyway.
	InScope() error
	WriteAudit(a AuditRow) error
	// SignOff adds a link to the chain that holds the whole works.
	SignOff(s SignOff) (SignOff, error)
	// ClaimKey waits for another request with the same key that is under way, and
	// keeps later ones waiting until this transaction ends. It comes before every
	// lock.
	ClaimKey(actor, operation, key string) error
	// Remember keeps the answer of a request with a key. Conflicting when the
	// key is taken.
	Remember(r Replay) error
	// Forget drops at most n remembered answers older than the moment. Rows that
	// others have locked are passed over.
	Forget(before time.Time, n int) error
	// Now is the moment by the clock of the database, read when it is asked for:
	// UTC in whole microseconds.
	Now() (time.Time, error)
}
