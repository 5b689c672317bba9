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
	// Measured is what was measured at the last grind, or at the receipt before
	// the first: what it lacks is as ground before.
	Measured Measures
	// NewHardness are the readings along the barrel when it was new, and
	// HardnessAlong the last ones; nil where there is none.
	NewHardness   []Reading
	HardnessAlong []Reading

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
	// Tested holds the last test of each kind.
	Tested []Tested
	// Defects holds the deepest defect known of each kind of test.
	Defects    []Defect
	FireCracks FireCracks
	Concession *Concession // nil when none lasts

	Regrinds            int
	Campaigns           int
	CampaignsSinceGrind int
	StockRemoved        quantity.Micrometre // wear and grind together, since its receipt
	IncidentStock       quantity.Micrometre // the part of it taken off after cracks and incidents
	LastRegrind         *Reground
	// Taken are the stocks of the last five ordinary grinds, newest last.
	Taken    []quantity.Micrometre
	ScrapWhy ScrapWhy

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

// Tested is the last test of a kind. Regrinds and Campaigns say how many there
// had been by then.
type Tested struct {
	Kind      TestKind
	Outcome   Outcome
	Entry     int64
	At        time.Time
	Regrinds  int
	Campaigns int
}

// Defect is the deepest defect that a kind of test found and that is not known
// to be gone.
type Defect struct {
	Kind    TestKind
	DepthUM float64 // on radius below the surface as it now is; wear is not taken off it
	Entry   int64
	At      time.Time
}

// FireCracks is the balance of fire cracks at the last grind, on radius: what
// was in the barrel before, what the mill's policy says grew since, what the
// grind took, what it left. A test that measures the depth replaces what is left.
type FireCracks struct {
	BeforeUM   float64
	GrownUM    float64
	RemovedUM  float64
	LeftUM     float64
	MeasuredAt time.Time // when a test gave what is left; zero when the balance did
}

// Concession is an engineer's release of a roll of which something asked is
// missing.
type Concession struct {
	Entry   int64
	At      time.Time
	By      string
	Reason  string
	Missing []string
}

// Last is the last test of a kind, false when there never was one.
func (s State) Last(kind TestKind) (Tested, bool) {
	for _, t := range s.Tested {
		if t.Kind == kind {
			return t, true
		}
	}
	return Tested{}, false
}

// DeepestDefect is the deepest defect known, false when none is.
func (s State) DeepestDefect() (deepest Defect, known bool) {
	for _, d := range s.Defects {
		if d.DepthUM > deepest.DepthUM {
			deepest, known = d, true
		}
	}
	return deepest, known
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
	s.Tested = append([]Tested(nil), s.Tested...)
	s.Taken = append([]quantity.Micrometre(nil), s.Taken...)
	s.Defects = append([]Defect(nil), s.Defects...)
	return s
}
