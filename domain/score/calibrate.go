package score

import "math"

// Spread is how much wider or narrower than a model says intervals must be, learned
// from those that were scored.
type Spread struct {
	Answers int
	Log     float64 // of the factor on the width
}

// What a scored interval moves the width by, and how far it may go from the model's.
// Common practice, no source.
const (
	spreadStep = 0.02
	spreadMost = 0.7
)

// After is the spread once an interval of 90 % was scored: it widens by nine parts
// where the outcome lay outside and narrows by one where it lay inside, so that in
// the long run one in ten lies outside whatever the outcomes do,
//
//	s ← s + γ(1{outside} − 0.1),  γ = 0.02 + 0.5/(n + 50)
//
// Adaptive conformal inference (Gibbs and Candès, NeurIPS 2021) on the logarithm of
// the width in place of the level; from memory. It starts from the model's own width
// and stays within a factor of two of it.
func (s Spread) After(within bool) Spread {
	step := -0.1
	if !within {
		step = 0.9
	}
	s.Log += step * (spreadStep + 0.5/float64(s.Answers+50))
	s.Log = min(max(s.Log, -spreadMost), spreadMost)
	s.Answers++
	return s
}

// Factor on the width of an interval.
func (s Spread) Factor() float64 { return math.Exp(s.Log) }

// Recalibration takes the probabilities of a model to those that come true as often
// as they say, keeping their order.
type Recalibration struct {
	Answers          int
	Intercept, Slope float64 // of the log odds
}

// Believed before any answer is scored: that the model is right, to so much on the
// log odds and on their slope. Common practice, no source.
const (
	interceptSD = 0.4
	slopeSD     = 0.25
)

// Recalibrate learns from probabilities that were scored:
//
//	logit p′ = a + b·logit p,  a ~ N(0, 0.4²), b ~ N(1, 0.25²), b ≥ 0.3
//
// the mode by Newton's method. Without answers p′ = p; with few it stays near it.
// Platt's scaling on log odds, the middle part of beta calibration (Kull, Silva Filho
// and Flach, Electronic Journal of Statistics 11 (2017), from memory). Probabilities
// are taken between 0.001 and 0.999.
func Recalibrate(list []Chance) Recalibration {
	a, b := 0.0, 1.0
	for range 40 {
		g0, g1 := -a/(interceptSD*interceptSD), -(b-1)/(slopeSD*slopeSD)
		h00, h01, h11 := 1/(interceptSD*interceptSD), 0.0, 1/(slopeSD*slopeSD)
		for _, c := range list {
			x := logit(c.Probability)
			q := logistic(a + b*x)
			d := -q
			if c.Happened {
				d++
			}
			v := q * (1 - q)
			g0, g1 = g0+d, g1+d*x
			h00, h01, h11 = h00+v, h01+v*x, h11+v*x*x
		}
		det := h00*h11 - h01*h01
		da, db := (h11*g0-h01*g1)/det, (h00*g1-h01*g0)/det
		// The function is concave; a long step is cut, so that it cannot overshoot.
		cut := min(1, 1/max(math.Abs(da), math.Abs(db), 1e-300))
		a, b = a+cut*da, b+cut*db
		if math.Abs(da)+math.Abs(db) < 1e-10 {
			break
		}
	}
	return Recalibration{Answers: len(list), Intercept: a, Slope: max(b, 0.3)}
}

// Of is the probability p recalibrated; 0 and 1 stay what they are, and so does
// everything before an answer is scored.
func (r Recalibration) Of(p float64) float64 {
	if r.Answers == 0 || p <= 0 || p >= 1 {
		return p
	}
	return logistic(r.Intercept + r.Slope*math.Log(p/(1-p)))
}

func logit(p float64) float64 {
	p = min(max(p, 0.001), 0.999)
	return math.Log(p / (1 - p))
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
