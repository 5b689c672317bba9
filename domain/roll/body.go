package roll

import (
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
)

// Body is what an entry says, by kind.
type Body interface{ Kind() Kind }

// Received opens the book.
type Received struct {
	Roll     Roll
	Mill     string
	Stands   []string // those the roll may serve; empty for all of its mill
	Diameter quantity.Micrometre
	CrownUM  float64
	Hardness float64 // Shore C, 0 when not measured
	Ground   bool    // comes ground to profile
	Measures Measures
	Tests    []Test // of the certificate and of the receipt check
	// Confirmed are the questions that were asked of it and answered, by their
	// names in package doubt; in the other bodies too.
	Confirmed []string
	Note      string
}

// TestKind is a way of looking at a roll.
type TestKind string

// The tests.
const (
	Visual           TestKind = "visual"
	EddyCurrent      TestKind = "eddy_current"
	Ultrasonic       TestKind = "ultrasonic"
	HardnessTest     TestKind = "hardness"
	MagneticParticle TestKind = "magnetic_particle"
	DyePenetrant     TestKind = "dye_penetrant"
)

// Outcome is what a test gave. Unknown is never taken for passed.
type Outcome string

// The outcomes.
const (
	Passed  Outcome = "passed"
	Failed  Outcome = "failed"
	Unknown Outcome = "unknown"
)

// Test is one test and its outcome.
type Test struct {
	Kind    TestKind
	Outcome Outcome
	// CrackDepthUM is the deepest crack found, on radius below the surface at
	// the time of the test: as ground in a regrind, as it is in an inspection.
	CrackDepthUM float64
	AllowedUM    float64 // deepest crack allowed, in force when it was recorded
	Hardness     float64 // Shore C
	Readings     []Reading
	// Instrument, CalibrationPiece, CalibratedAt and Operator say what the
	// readings rest on; empty where not told.
	Instrument       string
	CalibrationPiece string
	CalibratedAt     time.Time
	Operator         string
	Note             string
}

// Reading is what a test read at one place of the barrel.
type Reading struct {
	AtMM      float64  // along the barrel, from its drive-side end
	AroundDeg *float64 // from the roll's mark; nil where not given
	Value     float64  // in the scale of the test: Shore C of hardness, else the instrument's own
	Threshold float64  // the highest allowed of Value, in force when it was read; 0 where none is
	DepthUM   float64  // on radius below the surface at the time, 0 where the method gives none
	// Indication is what it shows, empty for the usual one of the test.
	Indication Indication
	File       string // name of a picture or record of it
}

// Inspected is a look at the roll without grinding.
type Inspected struct {
	Tests     []Test
	Confirmed []string
	Note      string
}

// Purpose is why a roll was ground.
type Purpose string

// The purposes. Crack and incident grinds do not teach the wear rate.
const (
	ForWear      Purpose = "wear"
	ForCrack     Purpose = "crack"
	ForIncident  Purpose = "incident"
	ForProfile   Purpose = "profile"
	ForRetexture Purpose = "retexture"
	ForIncoming  Purpose = "incoming"
	ForRedress   Purpose = "redress"
)

// Reground is one grind. Found is corrected to shop temperature; FoundAsRead
// is what the gauge showed.
type Reground struct {
	Found            quantity.Micrometre
	FoundAsRead      quantity.Micrometre
	AboveShopK       float64
	Ground           quantity.Micrometre
	GaugeUncertainty quantity.Micrometre // in force when it was recorded
	MaxPlausible     quantity.Micrometre // wear or stock above this needs Confirm; in force when it was recorded
	For              Purpose
	Measures
	FoundStations []Station           // before the grind, at shop temperature
	GrooveWorn    quantity.Micrometre // deepest wear of a groove on diameter, as computed or measured when it was recorded
	FireCrackUM   float64             // grown on radius since the last grind by the mill's policy, as computed when it was recorded
	Grinder       string
	Tests         []Test
	Confirm       string // why an implausible measure is right after all
	Confirmed     []string
	Note          string
}

// Paired puts the roll into a set with a partner.
type Paired struct {
	Set     string
	Partner string
	Top     bool
}

// Unpaired breaks the set.
type Unpaired struct{ Set string }

// Mounted puts the roll into a stand. Cooling and CampaignsBetweenGrinds are
// the practice in force when it was recorded, kept so that a change of practice
// never unmakes a book.
type Mounted struct {
	Stand                  string
	Position               mill.Position
	Set                    string
	Change                 string
	Cooling                time.Duration
	CampaignsBetweenGrinds int
}

// Why is the reason a roll came out.
type Why string

// The reasons for a withdrawal.
const (
	Planned  Why = "planned"
	Wear     Why = "wear"
	Surface  Why = "surface"
	Mishap   Why = "incident"
	Bearing  Why = "bearing"
	Schedule Why = "schedule"
)

// Withdrawn takes the roll out of its stand.
type Withdrawn struct {
	Stand    string
	Position mill.Position
	Set      string
	Change   string
	Why      Why
}

// What is the sort of a mishap.
type What string

// The mishaps.
const (
	Cobble        What = "cobble"
	Pinch         What = "pinch"
	Spall         What = "spall"
	StripWeld     What = "strip_weld"
	Overload      What = "overload"
	FireCrack     What = "fire_crack"
	Bruise        What = "bruise"
	BearingMishap What = "bearing"
	NeckMishap    What = "neck"
	CoolingLoss   What = "cooling_loss"
	OtherMishap   What = "other"
)

// Incident is a mishap that the roll bore.
type Incident struct {
	Name  string
	What  What
	Stand string
	Asks  []AskedTest // in force when it was recorded; nil for common practice
	Note  string
}

// Conceded lets a roll go out although something asked of it is missing: an
// engineer's decision, with the reason in the entry. It covers what it names and
// lasts until the next grind, mishap or withdrawal.
type Conceded struct{ Missing []string }

// Held keeps the roll from going out.
type Held struct{}

// Released ends a hold.
type Released struct{}

// Regraded moves the roll to another duty.
type Regraded struct {
	Mill   string
	Stands []string
}

// ScrapWhy is what ended the roll.
type ScrapWhy string

// The ends of a roll.
const (
	ByDiameter ScrapWhy = "diameter"
	BySpall    ScrapWhy = "spall"
	ByCrack    ScrapWhy = "crack"
	ByNeck     ScrapWhy = "neck"
	ByEconomy  ScrapWhy = "economic"
)

// Lost says whether the roll was lost while it had stock left.
func (w ScrapWhy) Lost() bool { return w == BySpall || w == ByCrack || w == ByNeck }

// Scrapped ends the book.
type Scrapped struct{ Why ScrapWhy }

// Corrected replaces an earlier entry of the book, or withdraws it when With
// is nil. The earlier entry stays where it is.
type Corrected struct {
	Entry int64
	With  Body
	At    time.Time // when the replacing thing happened; zero keeps the old moment
}

// Kind names each body.
func (Received) Kind() Kind  { return KindReceived }
func (Inspected) Kind() Kind { return KindInspected }
func (Reground) Kind() Kind  { return KindReground }
func (Paired) Kind() Kind    { return KindPaired }
func (Unpaired) Kind() Kind  { return KindUnpaired }
func (Mounted) Kind() Kind   { return KindMounted }
func (Withdrawn) Kind() Kind { return KindWithdrawn }
func (Incident) Kind() Kind  { return KindIncident }
func (Conceded) Kind() Kind  { return KindConceded }
func (Held) Kind() Kind      { return KindHeld }
func (Released) Kind() Kind  { return KindReleased }
func (Regraded) Kind() Kind  { return KindRegraded }
func (Scrapped) Kind() Kind  { return KindScrapped }
func (Corrected) Kind() Kind { return KindCorrected }
