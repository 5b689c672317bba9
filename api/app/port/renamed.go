package port

// The names of before, for what is still written with them.
type (
	MountingRow     = Stay
	CampaignRow     = ProgrammeRow
	CampaignSummary = ProgrammeSummary
)
