package rollload

import (
	"math"
	"testing"

	"barrelbook/domain/refusal"
)

func TestRefusedPairs(t *testing.T) {
	for _, c := range []struct {
		name, path string
		spoil      func(*Stack, *Options)
	}{
		{"neck wider than barrel", "work/neck_diameter_mm", func(p *Stack, _ *Options) { p.Work.NeckDiameterMM = 701 }},
		{"bearings closer than the barrel is long", "backup/bearing_span_mm", func(p *Stack, _ *Options) { p.Backup.BearingSpanMM = 1600 }},
		{"bearing span equal to barrel", "backup/bearing_span_mm", func(p *Stack, _ *Options) { p.Backup.BearingSpanMM = 1700 }},
		{"no modulus", "work/elastic_modulus_mpa", func(p *Stack, _ *Options) { p.Work.ElasticModulusMPa = 0 }},
		{"negative modulus", "backup/elastic_modulus_mpa", func(p *Stack, _ *Options) { p.Backup.ElasticModulusMPa = -1 }},
		{"Poisson ratio", "backup/poisson_ratio", func(p *Stack, _ *Options) { p.Backup.PoissonRatio = 0.6 }},
		{"no barrel", "work/barrel_length_mm", func(p *Stack, _ *Options) { p.Work.BarrelLengthMM = 0 }},
		{"neck not a number", "work/neck_diameter_mm", func(p *Stack, _ *Options) { p.Work.NeckDiameterMM = math.NaN() }},
		{"shear coefficient", "work/shear_coefficient", func(p *Stack, _ *Options) { p.Work.ShearCoefficient = 1.2 }},
		{"no shear coefficient", "backup/shear_coefficient", func(p *Stack, _ *Options) { p.Backup.ShearCoefficient = 0 }},
		{"shifted too far", "work/axial_offset_mm", func(p *Stack, _ *Options) { p.Work.AxialOffsetMM = 900 }},
		{"approach constant", "approach_constant", func(p *Stack, _ *Options) { p.ApproachConstant = math.NaN() }},
		{"one station", "station_count", func(_ *Stack, o *Options) { o.Stations = 1 }},
		{"too many stations", "station_count", func(_ *Stack, o *Options) { o.Stations = 1 << 30 }},
		{"odd slices", "slice_count", func(_ *Stack, o *Options) { o.Slices = 101 }},
		{"negative slices", "slice_count", func(_ *Stack, o *Options) { o.Slices = -4 }},
		{"beyond the range of numbers", "work", func(p *Stack, _ *Options) {
			p.Work.ElasticModulusMPa, p.Backup.ElasticModulusMPa = 1e-308, 1e-308
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, o := pair(), Options{}
			c.spoil(&p, &o)
			_, err := NewCoefficients(p, o)
			wantRefusal(t, err, c.path)
		})
	}
}

func wantRefusal(t *testing.T, err error, path string) {
	t.Helper()
	for _, f := range refusal.FieldsOf(err) {
		if f.Path == path {
			return
		}
	}
	t.Fatalf("got %v, want a refusal of %s", err, path)
}

func TestRefusedLoads(t *testing.T) {
	nan := math.NaN()
	s := solver(t, pair(), Options{})
	for _, c := range []struct {
		name, path string
		spoil      func(*Load)
	}{
		{"strip wider than barrel", "strip_load/x_mm", func(l *Load) { l.Strip = evenly(18e6, 1701, 0) }},
		{"strip beside the barrel", "strip_load/x_mm", func(l *Load) { l.Strip = evenly(18e6, 500, 700) }},
		{"points going back", "strip_load/x_mm/1", func(l *Load) { l.Strip.XMM = []float64{600, -600} }},
		{"two points at one place", "strip_load/x_mm/1", func(l *Load) { l.Strip.XMM = []float64{600, 600} }},
		{"one point", "strip_load/x_mm", func(l *Load) { l.Strip = Points{[]float64{0}, []float64{1}} }},
		{"no strip", "strip_load/x_mm", func(l *Load) { l.Strip = Points{} }},
		{"loads missing", "strip_load/n_per_mm", func(l *Load) { l.Strip.Value = l.Strip.Value[:1] }},
		{"load not a number", "strip_load/n_per_mm/0", func(l *Load) { l.Strip.Value = []float64{nan, 1} }},
		{"place not a number", "strip_load/x_mm/1", func(l *Load) { l.Strip.XMM = []float64{0, nan} }},
		{"strip that pulls", "strip_load/n_per_mm/1", func(l *Load) { l.Strip.Value = []float64{1e4, -1} }},
		{"no force at all", "strip_load", func(l *Load) { l.Strip.Value = []float64{0, 0} }},
		{"bending that parts the rolls", "bending_force_n", func(l *Load) { l.BendingForceN = -9e6 }},
		{"bending not a number", "bending_force_n", func(l *Load) { l.BendingForceN = nan }},
		{"resultant off the barrel", "strip_load", func(l *Load) {
			l.Strip, l.BendingForceN = evenly(18e6, 100, 800), -4e6
		}},
		{"load in N where N/mm was meant", "strip_load", func(l *Load) { l.Strip = evenly(18e9, 1250, 0) }},
		{"load beyond numbers", "strip_load", func(l *Load) { l.Strip = evenly(1e300, 1250, 0) }},
		{"crown not a number", "work/crown_um", func(l *Load) { l.Work.CrownUM = nan }},
		{"cubic infinite", "backup/polynomial_um/3", func(l *Load) { l.Backup.PolynomialUM[3] = math.Inf(1) }},
		{"relief longer than half the barrel", "work/end_relief_length_mm", func(l *Load) { l.Work.EndReliefLengthMM = 851 }},
		{"relief not a number", "work/end_relief_length_mm", func(l *Load) { l.Work.EndReliefLengthMM = nan }},
		{"wear points going back", "backup/wear/x_mm/2", func(l *Load) {
			l.Backup.WearUM = Points{[]float64{-1, 1, 0}, []float64{1, 2, 3}}
		}},
		{"wear depth missing", "work/wear/depth_um", func(l *Load) { l.Work.WearUM = Points{XMM: []float64{0, 1}} }},
		{"wear depth not a number", "work/wear/depth_um/1", func(l *Load) {
			l.Work.WearUM = Points{[]float64{0, 1}, []float64{1, nan}}
		}},
		{"measured profile infinite", "work/measured/diameter_um/0", func(l *Load) {
			l.Work.MeasuredUM = Points{[]float64{0}, []float64{math.Inf(-1)}}
		}},
	} {
		for _, whole := range []bool{false, true} {
			t.Run(c.name, func(t *testing.T) {
				l := &Load{Strip: evenly(18e6, 1250, 0), Whole: whole}
				c.spoil(l)
				_, err := s.Solve(l)
				wantRefusal(t, err, c.path)
			})
		}
	}
}

func TestEveryBadFieldIsNamedAtOnce(t *testing.T) {
	p := pair()
	p.Work.DiameterMM, p.Backup.BearingSpanMM = -700, 10
	_, err := NewCoefficients(p, Options{})
	wantRefusal(t, err, "work/diameter_mm")
	wantRefusal(t, err, "backup/bearing_span_mm")
}
