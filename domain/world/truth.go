package world

// Truth is how a world really is. A zero value of a part stands for "not so".
type Truth struct {
	Name string
	// Breaks says which assumption of the models the world breaks.
	Breaks string

	Stands int // 6 or 7, the first three of one group of rolls, the others of another
	// LimitUM is the deepest wear that the strip stands.
	LimitUM float64
	// ProgrammesPerDay at full pace.
	ProgrammesPerDay float64

	// PerKM has wear go by kilometres alone, whatever the force and the edges.
	PerKM         bool
	ForceExponent float64
	// A roll wears faster by Fresh right after its grind, which dies away over
	// FreshKM; and by Softening more when it is down to its scrap diameter.
	Fresh, FreshKM, Softening float64
	EdgeFactor                float64
	// Spread of the rate: a roll's for life, a set's and a roll's own of one stay.
	RollCV, SetCV, OwnCV float64
	// Tail is the degrees of freedom of these spreads; 0 for normal.
	Tail int
	// Rolled against the programme: each stand's bias, its wander from day to day,
	// and one piece's spread. Dropped is the share of pieces not rolled at all.
	Force, Length OffPlan
	Dropped       float64
	Troubles      []Trouble

	// GaugeUM is the spread of one reading. GaugeBiasUM is each grinder's bias.
	GaugeUM     float64
	GaugeBiasUM []float64
	// Warm is the share of rolls that are read some kelvins warm and said to be cold.
	Warm float64
	// Slips is the share of figures written down wrongly.
	Slips float64

	// Mishap is the chance of a cobble in a programme at a stand; its crack takes
	// CrackMM and an exponential CrackMoreMM at the grind. Loss is the chance that
	// a roll breaks in a stay.
	Mishap, CrackMM, CrackMoreMM, Loss float64

	// Grinders each take so much below the deepest wear; Even has both rolls of a
	// set ground to one diameter, LeastUM is the least that is taken off.
	Grinders []Grinder
	Even     bool
	LeastUM  float64

	// Seasons are planned and known beforehand.
	Seasons []Season
	// LeadDays from order to receipt, and its spread.
	LeadDays, LeadCV float64
	// RollsPerGroup are there at first, of all ages; Needed keep the stands going.
	RollsPerGroup, Needed int
}

// OffPlan is how what is rolled differs from the programme.
type OffPlan struct{ Bias, Day, Piece float64 }

// Trouble is a stand that wears otherwise for some days; Days 0 is for good.
type Trouble struct {
	Stand   int // from 0
	From    int // day
	Days    int
	Factor  float64
	Because string
}

// Grinder is one grinding machine and its man.
type Grinder struct{ StockUM, CV float64 }

// Season is a stretch of another pace; 0 is a shut-down.
type Season struct {
	From, Days int
	Pace       float64
}

// plain is what all worlds have in common: some scatter, a gauge and two habits.
func plain(name, breaks string) Truth {
	return Truth{
		Name: name, Breaks: breaks, Stands: 6, LimitUM: 250, ProgrammesPerDay: 2.2,
		ForceExponent: 1, EdgeFactor: 1.2, RollCV: 0.08, SetCV: 0.08, OwnCV: 0.05,
		Force: OffPlan{0.01, 0.01, 0.03}, Length: OffPlan{0.005, 0.005, 0.01}, Dropped: 0.01,
		GaugeUM: 6, GaugeBiasUM: []float64{0, 3, -3}, Slips: 0.002,
		Mishap: 0.004, CrackMM: 0.5, CrackMoreMM: 0.8, Loss: 0.0005,
		Grinders: []Grinder{{110, 0.25}, {150, 0.3}, {130, 0.2}}, Even: true, LeastUM: 80,
		LeadDays: 120, LeadCV: 0.1, RollsPerGroup: 40, Needed: 36,
	}
}

// Spreadsheet is the world in which the spreadsheet's rule is right: so many µm
// for each kilometre, whatever the force, the width and the roll.
func Spreadsheet() Truth {
	t := plain("spreadsheet", "wear follows force, width and edges")
	t.PerKM, t.RollCV, t.SetCV, t.OwnCV, t.EdgeFactor = true, 0, 0.06, 0.04, 1
	t.Force, t.Length, t.Dropped = OffPlan{0, 0, 0.02}, OffPlan{0, 0, 0.01}, 0
	return t
}

// Fresh has rolls wear faster after a grind and as they get thinner.
func Fresh() Truth {
	t := plain("fresh", "the rate is the same over a campaign and over a life")
	t.Fresh, t.FreshKM, t.Softening = 0.6, 25, 0.25
	return t
}

// Off has forces and lengths off the programme by stand and by day, and pieces
// that are never rolled.
func Off() Truth {
	t := plain("off", "the programme is rolled as it was written")
	t.Force, t.Length, t.Dropped = OffPlan{0.06, 0.04, 0.06}, OffPlan{0.03, 0.02, 0.03}, 0.05
	t.ForceExponent = 0.8
	return t
}

// Cooling has stands in trouble for weeks, and one better for good.
func Cooling() Truth {
	t := plain("cooling", "a stand wears as it always has")
	t.Troubles = []Trouble{
		{3, 120, 14, 1.4, "blocked headers"}, {1, 180, 21, 1.4, "blocked headers"}, {5, 240, 10, 1.25, "hot water"},
		{4, 270, 0, 0.75, "new nozzles"}, {0, 330, 28, 1.4, "blocked headers"}, {3, 420, 14, 1.6, "a pump down"},
	}
	return t
}

// Scattered has rolls and sets that differ much, now and then very much, and
// edges that wear half as much again.
func Scattered() Truth {
	t := plain("scattered", "misses are normal and each roll's own; edges wear as the practice says")
	t.RollCV, t.SetCV, t.OwnCV, t.Tail, t.EdgeFactor = 0.14, 0.15, 0.08, 4, 1.45
	return t
}

// Sloppy has a gauge that is off, rolls read warm, slips, mishaps, and grinders
// each of their own mind.
func Sloppy() Truth {
	t := plain("sloppy", "readings are true, and a grind takes what a grind takes")
	t.GaugeUM, t.GaugeBiasUM, t.Warm, t.Slips = 10, []float64{0, 22, -6}, 0.1, 0.015
	t.Mishap, t.CrackMM, t.CrackMoreMM, t.Loss = 0.012, 0.8, 1.5, 0.003
	t.Grinders, t.LeastUM = []Grinder{{70, 0.4}, {260, 0.5}, {150, 0.3}}, 120
	return t
}

// Slow has slack months, a shut-down and then all it can roll, on seven stands.
func Slow() Truth {
	t := plain("slow", "the pace of the past is the pace ahead")
	t.Stands = 7
	t.Seasons = []Season{{90, 75, 0.55}, {230, 14, 0}, {244, 120, 1.25}, {400, 60, 0.6}}
	return t
}

// Rough has all of it at once, each part milder.
func Rough() Truth {
	t := plain("rough", "all of it")
	t.Fresh, t.FreshKM, t.Softening, t.EdgeFactor = 0.35, 20, 0.15, 1.35
	t.Force, t.Length, t.Dropped = OffPlan{0.04, 0.03, 0.05}, OffPlan{0.02, 0.01, 0.02}, 0.03
	t.RollCV, t.SetCV, t.OwnCV, t.Tail = 0.1, 0.1, 0.06, 5
	t.Troubles = []Trouble{{3, 150, 14, 1.4, "blocked headers"}, {1, 320, 14, 1.4, "blocked headers"}}
	t.GaugeUM, t.GaugeBiasUM, t.Warm, t.Slips = 7, []float64{0, 15, -5}, 0.05, 0.008
	t.Mishap, t.CrackMM, t.CrackMoreMM, t.Loss = 0.007, 0.6, 1.2, 0.001
	t.Grinders = []Grinder{{90, 0.3}, {190, 0.4}, {130, 0.3}}
	t.Seasons = []Season{{200, 40, 0.7}, {300, 7, 0}}
	return t
}

// All are the worlds.
func All() []Truth {
	return []Truth{Spreadsheet(), Fresh(), Off(), Cooling(), Scattered(), Sloppy(), Slow(), Rough()}
}
