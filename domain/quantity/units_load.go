package quantity

// Force is in kN.
var Force = &Dimension{
	name: "force", base: "kN", perSystem: [...]string{"kN", "short tonf", "long tonf"},
	digits: 4, low: 0, high: 1_000_000,
	units: []Unit{
		{Name: "N", Side: MetricSide, factor: exact(perThousand)},
		{Name: "kN", Side: MetricSide, factor: exact("1")},
		{Name: "MN", Side: MetricSide, factor: exact("1000"), exactCase: true},
		{Name: "kgf", Side: MetricSide, factor: exact(gravity, perThousand)},
		{Name: "tf", Side: MetricSide, factor: exact(gravity), spellings: []string{"tonne-force"}},
		{Name: "lbf", Side: ImperialSide, factor: exact(poundKG, gravity, perThousand)},
		{Name: "kip", Side: ImperialSide, factor: exact(poundKG, gravity), spellings: []string{"kips"}},
		{Name: "short tonf", Side: ImperialSide, factor: exact(shortTonLB, poundKG, gravity, perThousand), spellings: []string{"short ton-force"}},
		{Name: "long tonf", Side: ImperialSide, factor: exact(longTonLB, poundKG, gravity, perThousand), spellings: []string{"long ton-force"}},
	},
	ask: map[string]string{
		"tonf": askTonf, "tonsf": askTonf, "ton": askTonf, "tons": askTonf, "ton-force": askTonf,
		"t": "a t is a mass: say 'tf' for the weight of 1000 kg", "kg": "a kg is a mass: say 'kgf'",
		"lb": "a lb is a mass: say 'lbf'", "lbs": "a lb is a mass: say 'lbf'",
		"short ton": "a short ton is a mass: say 'short tonf'", "short tons": "a short ton is a mass: say 'short tonf'",
		"long ton": "a long ton is a mass: say 'long tonf'", "long tons": "a long ton is a mass: say 'long tonf'",
	},
}

const askTonf = "say 'long tonf' (2240 lbf), 'short tonf' (2000 lbf) or 'tf' (1000 kgf)"

// LineLoad is a load per length of barrel, in N/mm.
var LineLoad = &Dimension{
	name: "line load", base: "N/mm", perSystem: [...]string{"N/mm", "lbf/in", "lbf/in"},
	digits: 4, low: 0, high: 10_000_000,
	units: []Unit{
		{Name: "N/mm", Side: MetricSide, factor: exact("1"), spellings: []string{"kN/m"}},
		{Name: "kN/mm", Side: MetricSide, factor: exact("1000")},
		{Name: "lbf/in", Side: ImperialSide, factor: exact(poundKG, gravity, perInch)},
		{Name: "short tonf/in", Side: ImperialSide, factor: exact(shortTonLB, poundKG, gravity, perInch)},
		{Name: "long tonf/in", Side: ImperialSide, factor: exact(longTonLB, poundKG, gravity, perInch)},
	},
	ask: map[string]string{
		"tonf/in": "say 'long tonf/in' or 'short tonf/in'", "ton/in": "say 'long tonf/in' or 'short tonf/in'",
	},
}

// Stress is a pressure, a stress or a modulus, in MPa.
var Stress = &Dimension{
	name: "stress", base: "MPa", perSystem: [...]string{"MPa", "ksi", "ksi"},
	digits: 4, low: 0, high: 10_000_000,
	units: []Unit{
		{Name: "MPa", Side: MetricSide, factor: exact("1"), spellings: []string{"N/mm2", "N/mm²"}, exactCase: true},
		{Name: "GPa", Side: MetricSide, factor: exact("1000")},
		{Name: "kgf/mm2", Side: MetricSide, factor: exact(gravity), spellings: []string{"kgf/mm²"}},
		{Name: "psi", Side: ImperialSide, factor: exact(poundKG, gravity, perSquareInch)},
		{Name: "ksi", Side: ImperialSide, factor: exact(poundKG, gravity, perSquareInch, "1000")},
	},
}
