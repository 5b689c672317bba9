package port

// Named is a sort of things that have names.
type Named string

// The sorts, by the words that the contract and people have for them.
const (
	RollNames     Named = "roll"
	SetNames      Named = "set"
	StandNames    Named = "stand"
	MillNames     Named = "mill"
	GradeNames    Named = "grade"
	ChockNames    Named = "chock"
	CampaignNames Named = "campaign"
)
