package practice

import (
	"sort"

	"barrelbook/domain/mill"
)

// Key names a setting as the contract does, with its unit.
type Key string

// The settings. Each one's meaning, range and default stand in settings.
const (
	GaugeUncertaintyUM    Key = "gauge_uncertainty_um"
	MaxPlausibleStockMM   Key = "max_plausible_stock_mm"
	NormalStockMM         Key = "normal_stock_mm"
	MarginStockUM         Key = "margin_stock_um"
	LeastStockMM          Key = "least_stock_mm"
	CrackMarginUM         Key = "crack_margin_um"
	MaxCrackUM            Key = "max_crack_um"
	EddyCrackThreshold    Key = "eddy_current_crack_threshold"
	EddyBruiseThreshold   Key = "eddy_current_bruise_threshold"
	ReflectorThreshold    Key = "ultrasonic_reflector_threshold"
	HardnessStepShoreC    Key = "hardness_step_shore_c"
	HardnessStockUM       Key = "hardness_stock_um_per_shore_c"
	RoundnessToleranceUM  Key = "roundness_tolerance_um"
	PairToleranceUM       Key = "pair_tolerance_um"
	CampaignsBetweenGrind Key = "campaigns_between_grinds"
	CoolingH              Key = "cooling_h"
	MaxCampaignT          Key = "max_campaign_t"
	MaxCampaignKM         Key = "max_campaign_km"
	MaxWearUM             Key = "max_wear_um"
	MaxPeakPressureMPa    Key = "max_peak_pressure_mpa"
	WearRateUMPerKM       Key = "wear_rate_um_per_km"
	WearRateCV            Key = "wear_rate_cv"
	WearRateShared        Key = "wear_rate_shared"
	LengthCV              Key = "length_cv"
	ForceCV               Key = "force_cv"
	WearForceExponent     Key = "wear_force_exponent"
	EdgeWearFactor        Key = "edge_wear_factor"
	TaperToleranceUM      Key = "taper_tolerance_um"
	RunoutToleranceUM     Key = "runout_tolerance_um"
	CrownUM               Key = "crown_um"
	CrownToleranceUM      Key = "crown_tolerance_um"
	RoughnessMinUM        Key = "roughness_min_um"
	RoughnessMaxUM        Key = "roughness_max_um"
	HardnessMinShoreC     Key = "hardness_min_shore_c"
	GrindMin              Key = "grind_min"
	AssemblyMin           Key = "assembly_min"
	Grinders              Key = "grinders"
	ChangeMin             Key = "change_min"
	StopCost              Key = "stop_cost"
	PlannedStopCost       Key = "planned_stop_cost"
	ChangeCost            Key = "change_cost"
	UnusedKMCost          Key = "unused_km_cost"
	DeliveryDays          Key = "delivery_days"
	RollPrice             Key = "roll_price"
	NeededRolls           Key = "needed_rolls"
	ShortChance           Key = "short_chance"
	ThermalCrownUM        Key = "thermal_crown_um"
	ThermalTauMin         Key = "thermal_tau_min"
	FatigueExponent       Key = "fatigue_exponent"
	FatigueReferenceMPa   Key = "fatigue_reference_mpa"
	FatigueReferenceTurns Key = "fatigue_reference_revolutions"
	MaxDamage             Key = "max_damage"
	FinishYesProbability  Key = "finish_yes_probability"
	FinishNoProbability   Key = "finish_no_probability"

	MaxCampaignRevolutions Key = "max_campaign_revolutions"
	MaxSameWidthKM         Key = "max_same_width_km"
	MaxGrooveT             Key = "max_groove_t"
	GrooveWearUMPerKT      Key = "groove_wear_um_per_kt"
	RedressMarginUM        Key = "redress_margin_um"
	FireCrackUMPerPiece    Key = "fire_crack_um_per_piece"
	MaxFireCrackUM         Key = "max_fire_crack_um"
	RoughnessFloorUM       Key = "roughness_floor_um"
	RoughnessScaleKM       Key = "roughness_scale_km"
	RoughnessLimitUM       Key = "roughness_limit_um"
	MaxReductionPct        Key = "max_reduction_pct"
	OverloadMarginMin      Key = "overload_margin_min"
	FilletBendingFactor    Key = "fillet_bending_factor"
	FilletTorsionFactor    Key = "fillet_torsion_factor"
	DriveRatioTolerancePct Key = "drive_ratio_tolerance_pct"

	// What the strength of a roll's ends hangs on.
	NeckFilletRadiusMM Key = "neck_fillet_radius_mm"
	NeckFriction       Key = "neck_friction"
	WobblerDiameterMM  Key = "wobbler_diameter_mm"
	SpadeWidthMM       Key = "spade_width_mm"
	SpadeThicknessMM   Key = "spade_thickness_mm"

	WarmUpPieces Key = "warm_up_pieces"

	// What is ground on beside the crown, an S-shaped contour above all.
	ContourSineUM      Key = "contour_sine_um"
	ContourToleranceUM Key = "contour_tolerance_um"
	ContourLinearUM    Key = "contour_linear_um"
	ContourCubicUM     Key = "contour_cubic_um"
	ContourQuarticUM   Key = "contour_quartic_um"
	ContourQuinticUM   Key = "contour_quintic_um"

	// What the gap between the work rolls may do to the strip.
	CrownEdgeMM      Key = "crown_edge_mm"
	MaxCrownChangeUM Key = "max_crown_change_um"
	MaxQuarterUM     Key = "max_quarter_um"
	MaxEdgeStepUM    Key = "max_edge_step_um"

	// What is known of a rolled metal: the only settings of a practice for one.
	CarbonPct         Key = "carbon_pct"
	ManganesePct      Key = "manganese_pct"
	ChromiumPct       Key = "chromium_pct"
	FlowStressFactor  Key = "flow_stress_factor"
	ColdFlowStressMPa Key = "cold_flow_stress_mpa"
)

// Setting describes one setting.
type Setting struct {
	Low, High float64
	Work      float64 // default for work and intermediate rolls
	Backup    float64 // default for backup rolls
	NoDefault bool    // true where the mill must say it itself, or there is no limit
	Meaning   string
}

// wearsAs is the role whose default a setting has: an intermediate roll is like a
// work roll, but wears as a backup roll does, on other rolls.
func wearsAs(k Key, r mill.Role) mill.Role {
	if r == mill.Intermediate && k == WearRateUMPerKM {
		return mill.Backup
	}
	return r
}

func (s Setting) defaultFor(r mill.Role) (float64, bool) {
	if s.NoDefault || s.Meaning == "" {
		return 0, false
	}
	if r == mill.Backup {
		return s.Backup, true
	}
	return s.Work, true
}

// settings are the ranges and defaults. The defaults are typical of hot strip
// finishing rolls: common practice, no source; a mill overrides them.
var settings = map[Key]Setting{
	GaugeUncertaintyUM:    {0, 1000, 20, 40, false, "how far two measurements of one diameter may differ, µm. Defaults to 20, backup 40"},
	MaxPlausibleStockMM:   {0, 100, 8, 20, false, "wear or stock above this is taken for a slip of the hand unless confirmed, mm. Defaults to 8, backup 20"},
	NormalStockMM:         {0, 50, 0.4, 2, false, "wear and grind of a normal campaign together, mm on diameter. Defaults to 0.4, backup 2"},
	MarginStockUM:         {0, 5000, 50, 300, false, "ground off below the deepest wear, µm on diameter. Defaults to 50, backup 300"},
	LeastStockMM:          {0, 50, 0, 1, false, "least taken off at a grind before the margin, mm on diameter. Defaults to 0, backup 1"},
	CrackMarginUM:         {0, 20000, 100, 200, false, "ground off below twice the deepest defect a test found, µm on diameter, before the margin. Defaults to 100, backup 200"},
	MaxCrackUM:            {0, 100000, 0, 0, false, "deepest crack a roll may go in with, µm on radius; a test that finds a deeper one is not passed. Defaults to 0: every crack is ground right out"},
	EddyCrackThreshold:    {0.001, 100000, 0, 0, true, "highest crack reading of an eddy current test that passes, in the scale of the mill's instrument. No threshold unless given"},
	EddyBruiseThreshold:   {0.001, 100000, 0, 0, true, "highest bruise reading of an eddy current test that passes, in the scale of the mill's instrument. No threshold unless given"},
	ReflectorThreshold:    {0.001, 100000, 0, 0, true, "highest reflector reading of an ultrasonic test that passes, in the scale of the mill's instrument. No threshold unless given"},
	HardnessStepShoreC:    {0, 50, 0, 3, false, "rise of hardness above new that is ground off, Shore C; 0 for not followed. Defaults to 0, backup 3"},
	HardnessStockUM:       {0, 20000, 500, 500, false, "stock that brings hardness back by 1 Shore C, µm on diameter: a policy, not a law. Defaults to 500"},
	RoundnessToleranceUM:  {0, 1000, 10, 10, false, "largest less smallest diameter of one section after grinding, µm. Defaults to 10"},
	PairToleranceUM:       {0, 100000, 150, 20000, false, "difference of the two diameters of a set, µm. Defaults to 150, backup 20000"},
	CampaignsBetweenGrind: {1, 20, 1, 1, false, "campaigns a roll may run before it must be ground. Defaults to 1"},
	CoolingH:              {0, 240, 12, 24, false, "hours from withdrawal until a roll may go back. Defaults to 12, backup 24"},
	MaxCampaignT:          {0, 1e7, 0, 0, true, "tonnes a campaign may last. No limit unless given"},
	MaxCampaignKM:         {0, 1e6, 0, 0, true, "kilometres a campaign may last. No limit unless given"},
	MaxWearUM:             {0, 1e5, 400, 2500, false, "deepest wear, µm on diameter. Defaults to 400, backup 2500"},
	MaxPeakPressureMPa:    {0, 1e4, 2000, 2000, false, "Hertz peak pressure between work and backup roll, MPa. Defaults to 2000"},
	WearRateUMPerKM:       {0, 1000, 3, 0.1, false, "wear rate at 10 kN/mm, µm per km on diameter, until regrinds have taught it. Defaults to 3, backup 0.1, an intermediate roll as a backup roll"},
	WearRateCV:            {0, 2, 0.15, 0.15, false, "spread of the wear rate from roll to roll. Defaults to 0.15"},
	WearRateShared:        {0, 1, 0.5, 0.5, false, "share of that spread, as variance, which both rolls of a set have in common. Defaults to 0.5"},
	LengthCV:              {0, 0.5, 0.03, 0.03, false, "spread of the rolled length of a whole programme about the plan. Defaults to 0.03"},
	ForceCV:               {0, 0.5, 0.05, 0.05, false, "spread of the force of a whole programme about the plan. Defaults to 0.05"},
	WearForceExponent:     {0, 2, 1, 1, false, "exponent of specific force in wear. Defaults to 1"},
	EdgeWearFactor:        {1, 2, 1.2, 1, false, "wear near the strip's edges against that inside. Defaults to 1.2, backup 1"},
	TaperToleranceUM:      {0, 1000, 20, 20, false, "difference of the barrel's two ends after grinding, µm. Defaults to 20"},
	RunoutToleranceUM:     {0, 1000, 10, 10, false, "after grinding, µm. Defaults to 10"},
	CrownUM:               {-5000, 5000, 0, 0, false, "crown to grind, µm on diameter. Defaults to 0"},
	CrownToleranceUM:      {0, 1000, 10, 20, false, "about the crown aimed at, µm. Defaults to 10, backup 20"},
	RoughnessMinUM:        {0, 50, 0, 0, true, "lowest Ra after grinding, µm. No limit unless given"},
	RoughnessMaxUM:        {0, 50, 0, 0, true, "highest Ra after grinding, µm. No limit unless given"},
	HardnessMinShoreC:     {0, 120, 0, 0, true, "lowest barrel hardness, Shore C. No limit unless given"},
	GrindMin:              {0, 10000, 90, 480, false, "minutes to grind one roll. Defaults to 90, backup 480"},
	Grinders:              {1, 20, 1, 1, false, "grinders that work rolls can go on. Defaults to 1"},
	AssemblyMin:           {0, 10000, 60, 240, false, "minutes to build a set into chocks. Defaults to 60, backup 240"},
	ChangeMin:             {0, 10000, 12, 60, false, "minutes of a roll change. Defaults to 12, backup 60"},
	StopCost:              {0, 1e12, 500000, 500000, false, "cost of an unplanned stop, in the smallest currency unit. Defaults to 500000"},
	PlannedStopCost:       {0, 1e12, 0, 0, false, "cost of using a stop that comes anyway. Defaults to 0"},
	ChangeCost:            {0, 1e12, 60000, 900000, false, "cost of changing one stand's set. Defaults to 60000, backup 900000"},
	UnusedKMCost:          {0, 1e12, 500, 500, false, "cost of each kilometre a set could still have rolled. Defaults to 500"},
	DeliveryDays:          {0, 1500, 240, 300, false, "from order to receipt of a new roll. Defaults to 240, backup 300"},
	NeededRolls:           {0, 10000, 0, 0, true, "rolls of the role that one stand needs to keep rolling, those in the shop included; a group needs the sum over its stands. As many as there are unless given"},
	ShortChance:           {0.001, 0.5, 0.05, 0.05, false, "how likely a group of rolls may be short on any day: what buying keeps. Defaults to 0.05"},
	RollPrice:             {0, 1e12, 0, 0, true, "price of a new roll, in the smallest currency unit"},
	ThermalCrownUM:        {0, 1000, 0, 0, true, "thermal growth under the middle of a wide strip in endless rolling, µm on diameter. Work rolls: 200 in hot mills and 50 in cold ones unless given; of intermediate and backup rolls it is not followed unless given"},
	ThermalTauMin:         {1, 600, 30, 60, false, "time constant of the thermal crown, min. Defaults to 30, backup 60"},
	FatigueExponent:       {3, 20, 20. / 3, 20. / 3, false, "of contact fatigue on pressure: a policy, not a law. Defaults to 6.666666666666667"},
	FatigueReferenceMPa:   {100, 10000, 1500, 1500, false, "peak pressure with a known life, MPa: a policy. Defaults to 1500"},
	FatigueReferenceTurns: {1, 1e15, 1e7, 1e7, false, "revolutions at that pressure before damage 1: a policy. Defaults to 1e+07"},
	MaxDamage:             {0.001, 100, 1, 1, false, "contact fatigue a layer may bear: a policy. Defaults to 1"},
	FinishYesProbability:  {0.5, 1, 0.95, 0.95, false, "a finish check says yes from this probability. Defaults to 0.95"},
	FinishNoProbability:   {0, 0.9, 0.5, 0.5, false, "a finish check says no below this probability. Defaults to 0.5"},

	MaxCampaignRevolutions: {0, 1e9, 0, 0, true, "revolutions a campaign may last. No limit unless given"},
	ContourSineUM:          {-5000, 5000, 0, 0, true, "crown to grind as half a sine wave, middle less ends, µm on diameter, on top of the parabola. None unless given"},
	ContourToleranceUM:     {0, 1000, 0, 0, true, "greatest deviation of a measured contour from its target after the best shift of level, µm on diameter. No limit unless given"},
	ContourLinearUM:        {-10000, 10000, 0, 0, true, "contour ground on beside the crown: factor of u, µm on diameter, u from -1 at the drive side's end of the top roll to 1; the bottom roll has it turned end for end. None unless given"},
	ContourCubicUM:         {-10000, 10000, 0, 0, true, "contour ground on beside the crown: factor of u to the power 3, µm on diameter. None unless given"},
	ContourQuarticUM:       {-10000, 10000, 0, 0, true, "contour ground on beside the crown: factor of u to the power 4, µm on diameter. None unless given"},
	ContourQuinticUM:       {-10000, 10000, 0, 0, true, "contour ground on beside the crown: factor of u to the power 5, µm on diameter. None unless given"},
	CrownEdgeMM:            {10, 200, 40, 40, false, "how far inside the strip's edge its crown is taken, mm: 25 or 40 as a rule. Defaults to 40"},
	MaxCrownChangeUM:       {0, 5000, 0, 0, true, "change of the gap's crown since the rolls were ground that bending and shift can still correct, µm. No limit unless given"},
	MaxQuarterUM:           {0, 5000, 0, 0, true, "change of the gap at the quarter points of the strip over a parabola, µm. No limit unless given"},
	MaxEdgeStepUM:          {0, 5000, 0, 0, true, "change of a work roll's worn contour within 50 mm under the strip, µm on diameter. No limit unless given"},
	MaxSameWidthKM:         {0, 1e6, 0, 0, true, "km within 10 mm of one width between two grinds. No limit unless given"},
	MaxGrooveT:             {0, 1e6, 0, 0, true, "tonnes through one groove between two turnings. No limit unless given"},
	GrooveWearUMPerKT:      {0, 1e6, 0, 0, false, "wear of a groove, µm on diameter per 1000 t through it. Defaults to 0: none is computed"},
	RedressMarginUM:        {0, 20000, 300, 300, false, "turned off below the deepest groove wear, µm on diameter. Defaults to 300"},
	FireCrackUMPerPiece:    {0, 10000, 0, 0, true, "growth of fire cracks per piece, µm on radius: the mill's policy, not a law. Not followed unless given"},
	MaxFireCrackUM:         {0, 100000, 0, 0, true, "deepest fire crack to run, µm on radius. No limit unless given"},
	RoughnessFloorUM:       {0, 50, 0, 0, false, "Ra the surface tends to while it rolls, µm. Defaults to 0"},
	RoughnessScaleKM:       {0, 1e6, 0, 0, true, "km over which the difference to the floor falls to 37 %. Not followed unless given"},
	RoughnessLimitUM:       {0, 50, 0, 0, true, "lowest Ra to roll with, µm. No limit unless given"},
	MaxReductionPct:        {0, 100, 0, 0, true, "reduction of thickness in one pass, %. No limit unless given"},
	OverloadMarginMin:      {0, 1, 0, 0, true, "least margin of the roll's own strength against the allowable stress of its grade. Not looked at unless given"},
	FilletBendingFactor:    {1, 10, 0, 0, true, "stress concentration of the neck's fillet in bending, from a drawing. Worked out from the fillet's radius unless given"},
	FilletTorsionFactor:    {1, 10, 0, 0, true, "stress concentration of the neck's fillet in torsion, from a drawing. Worked out from the fillet's radius unless given"},
	NeckFilletRadiusMM:     {0.1, 1000, 0, 0, true, "radius of the fillet between barrel and neck, mm. 5 % of the neck's diameter is taken unless given, which is a sharp one"},
	NeckFriction:           {0, 0.3, 0.004, 0.004, false, "coefficient of friction of the neck bearings. Defaults to 0.004, of rolling and oil-film bearings"},
	WobblerDiameterMM:      {10, 3000, 0, 0, true, "diameter over the lobes of the wobbler that drives the roll, mm. The drive end is not looked at unless it or the spade is given"},
	SpadeWidthMM:           {10, 3000, 0, 0, true, "width of the spade that drives the roll, mm. Not looked at unless given"},
	SpadeThicknessMM:       {10, 3000, 0, 0, true, "thickness of the spade that drives the roll, mm. Not looked at unless given"},
	WarmUpPieces:           {0, 100, 0, 0, false, "pieces after a change in which the rolls warm up; a plan says where a demanding piece is among them. Defaults to 0"},
	CarbonPct:              {0, 5, 0, 0, true, "carbon of the rolled metal, weight %. 0.15 is assumed unless given"},
	ManganesePct:           {0, 30, 0, 0, true, "manganese of the rolled metal, weight %. 0.6 is assumed where no carbon is given"},
	ChromiumPct:            {0, 40, 0, 0, true, "chromium of the rolled metal, weight %. 0 is assumed unless given"},
	FlowStressFactor:       {0.1, 10, 0, 0, true, "flow stress of the rolled metal over that of plain carbon steel. 1 is assumed unless given"},
	ColdFlowStressMPa:      {10, 5000, 0, 0, true, "mean flow stress of the rolled metal in a cold pass, MPa. 600 is assumed unless given"},
	DriveRatioTolerancePct: {0, 50, 0.5, 0.5, false, "how far two neighbours of a drive block may be off the ratio of their reference diameters, %. Defaults to 0.5"},
}

// Settings lists every setting by name.
func Settings() []Named {
	list := make([]Named, 0, len(settings))
	for k, s := range settings {
		list = append(list, Named{Key: k, Setting: s})
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Key < list[j].Key })
	return list
}

// Named is a setting with its name.
type Named struct {
	Key Key
	Setting
}
