package port

import (
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
	"barrelbook/domain/wearrate"
)

// GrindRow is a regrind as the books now tell it, with the stays in stands that
// it ended and what they bore by now: pieces may still arrive late.
type GrindRow struct {
	ID int64 // grows with every change of the roll's regrinds
	roll.Grind
	Grade string
	Role  mill.Role
	Uses  []StayUse
}

// StayUse is what one stay in a stand bore.
type StayUse struct {
	Stand       string
	MountedAt   time.Time
	WithdrawnAt time.Time
	TonnageT    float64
	RolledKM    float64
	ExposureKM  float64
}

// StandRolled is what a stand rolled in a month of UTC, "2026-03".
type StandRolled struct {
	Stand    string
	Month    string
	TonnageT float64
}

// GrindFilter narrows the regrinds. Zero fields stand for any; From is included,
// Until not.
type GrindFilter struct {
	AfterID     int64
	Roll        string
	Grade       string
	Role        mill.Role
	From, Until time.Time
}

// GrindCut tells how far somebody has read the regrinds: the newest id and how
// many there were. Where the count beyond does not fit, some have been rewritten.
type GrindCut struct{ Newest, Count int64 }

// WearRates is one version of what the regrinds taught.
type WearRates struct {
	Version   int64
	LearnedAt time.Time
	Cut       GrindCut
	Campaigns int64 // that taught it
	Mills     []MillRates
}

// MillRates are the rates of one role of rolls in one mill. Roles and mills are
// learned apart: a grade's name says nothing of how it wears in another place.
type MillRates struct {
	Mill string
	Role mill.Role
	wearrate.Rates
}

// ForecastKind is what was forecast.
type ForecastKind string

// The kinds. ForecastFinish has a probability, the others an interval of 90 %.
const (
	ForecastFinish ForecastKind = "finish"       // the set in a stand finishes its campaign
	ForecastWear   ForecastKind = "wear_um"      // wear found at the next regrind, µm
	ForecastChange ForecastKind = "next_change"  // tonnes of the whole campaign
	ForecastScrap  ForecastKind = "scrap_months" // months until scrapped, from when it was asked
)

// ForecastRow is one forecast, kept to be held against what came of it.
type ForecastRow struct {
	ID           int64 // given by the store
	Kind         ForecastKind
	About        string // names the forecast: one of a kind about a thing is kept once
	Roll         string
	Stand        string
	Grade        string
	AskedAt      time.Time
	AskedBy      string
	RatesVersion int64    // 0 when no learned rate was used
	Probability  *float64 // of a yes
	Low          *float64
	Middle       *float64
	High         *float64
	Input        string   // what it was made from, JSON
	Outcome      *float64 // nil until it is known
	SettledAt    time.Time
	Void         string // why it never will be
}

// ForecastFilter narrows the forecasts.
type ForecastFilter struct {
	Open  bool // those not settled; else those settled
	Kind  ForecastKind
	Grade string
	Stand string
	From  time.Time // of the settling
}

// RatesOf names the rates of a grade in some stands.
type RatesOf struct {
	Mill   string
	Role   mill.Role
	Grade  string
	Stands []string
}

// LearningReader reads what was learned and what it was learned from.
type LearningReader interface {
	// Grinds by id.
	Grinds(f GrindFilter, p Page) ([]GrindRow, string, error)
	GrindCut() (GrindCut, error)
	// Rolled gives what each stand rolled, by the month in which its top work roll
	// came out, of the stays that ended from a moment on and before another; zero
	// moments for any.
	Rolled(from, until time.Time) ([]StandRolled, error)
	// WearRates is the version in force, NotFound before the first.
	WearRates() (WearRates, error)
	// WearRatesThen are those of one grade, role and mill that were in force at a moment,
	// with the cells of the stands named alone; NotFound before the first.
	WearRatesThen(then time.Time, of RatesOf) (WearRates, error)
	// WearRatesVersion is the number of the version in force, 0 before the first.
	WearRatesVersion() (int64, error)
	// ForecastKept says whether there is one of the kind and About.
	ForecastKept(kind ForecastKind, about string) (bool, error)
	// Forecasts by id.
	Forecasts(f ForecastFilter, p Page) ([]ForecastRow, string, error)
}

// LearningWriter keeps what was learned. The regrinds themselves are kept by
// Append.
type LearningWriter interface {
	// CreateWearRates is Conflicting when the version is taken.
	CreateWearRates(r WearRates) error
	// KeepForecasts keeps those whose kind and About are new.
	KeepForecasts(rows []ForecastRow) error
	// SettleForecast writes what came of an open forecast, or why nothing will.
	SettleForecast(id int64, outcome *float64, at time.Time, void string) error
}
