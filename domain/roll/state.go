package roll

import (
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
)

// Stage is where a roll is in its round.
type Stage string

// The stages.
const (
	StageNew      Stage = "new"     // received, not yet ground to profile
	StageWorn     Stage = "worn"    // came out of a stand and has not been ground since
	StageGround   Stage = "ground"  // ground, alone
	StagePaired   Stage = "paired"  // ground and in a set
	StageMounted  Stage = "mounted" // in a stand
	StageScrapped Stage = "scrapped"
)

// State is what the book says at a moment. It holds all that the next entry
// needs, so that adding to a long book costs no more than to a short one.
type State struct {
	Roll   Roll
	Mill   string
	Stands []string

	Stage    Stage
	HeldFor  string // empty when not held
	Diameter quantity.Micrometre
	CrownUM  float64
	TaperUM  *float64
	RunoutUM *float64
	// RoughnessUM and Hardness are the last measured, 0 when never.
	RoughnessUM float64
	Hardness    float64

	ReceivedAt  time.Time
	GroundAt    time.Time // zero when never
	MountedAt   time.Time // last time it went in
	WithdrawnAt time.Time // last time it came out
	ScrappedAt  time.Time
	LastAt      time.Time // moment of the latest entry
	Entries     int64     // entries written, which is the version of the book

	Set      string
	Partner  string
	Top      bool
	Stand    string
	Position mill.Position

	Owed   []Owed
	Failed []Failure

	Regrinds            int
	Campaigns           int
	CampaignsSinceGrind int
	StockRemoved        quantity.Micrometre // wear and grind together, since its receipt
	IncidentStock       quantity.Micrometre // the part of it taken off after cracks and incidents
	LastRegrind         *Reground
	ScrapWhy            ScrapWhy

	Marks Marks
}

// Marks are the numbers of the entries that made the state what it is, so that
// a refusal names the one in the way. 0 where there is none.
type Marks struct {
	Received  int64
	Ground    int64
	Held      int64
	Paired    int64
	Mounted   int64
	Withdrawn int64
	Scrapped  int64
}

// Owed is a test that must be done before the roll goes out. Each cause has
// its own, so that two mishaps are two debts of one kind.
type Owed struct {
	Kind TestKind
	Due  bool // owed now; else only after a coming campaign
	// CampaignsToCome counts the campaigns after each of which the test is
	// owed once more.
	CampaignsToCome int
	Why             string
	Entry           int64 // that made it owed; decisions written before that entry stand
	Unknown         bool  // it was done, and the result is not known
}

// Failure is a test that failed and has not been passed since.
type Failure struct {
	Kind  TestKind
	Entry int64
	At    time.Time
}

// ScrapLimit is the tightest limit and its name.
func (s State) ScrapLimit() (quantity.Micrometre, string) { return s.Roll.Scrap.Tightest() }

// StockLeft is what can still be taken off before the tightest limit.
func (s State) StockLeft() quantity.Micrometre {
	limit, _ := s.ScrapLimit()
	return s.Diameter - limit
}

// Serves says whether the roll may go into the stand, by the stands named for
// it. Whether the stand has a place for it is checked by the change itself.
func (s State) Serves(stand mill.Stand) bool {
	if s.Mill != stand.Mill {
		return false
	}
	if len(s.Stands) == 0 {
		return true
	}
	for _, name := range s.Stands {
		if name == stand.Name {
			return true
		}
	}
	return false
}

// clone copies the slices, so that a state handed out is not changed by the
// next entry.
func (s State) clone() State {
	s.Owed = append([]Owed(nil), s.Owed...)
	s.Failed = append([]Failure(nil), s.Failed...)
	return s
}
