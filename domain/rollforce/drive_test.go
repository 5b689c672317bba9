package rollforce_test

import (
	"testing"

	"barrelbook/domain/rollforce"
)

// Timoshenko's table of rectangular sections in torsion, τ = T/(α·w·t²) (quoted
// from memory, to three decimals).
func TestSpadeAgainstTimoshenkosTable(t *testing.T) {
	for ratio, alpha := range map[float64]float64{1: 0.208, 1.5: 0.231, 2: 0.246, 3: 0.267, 5: 0.291, 10: 0.312} {
		thickness := 120.0
		tau, known := rollforce.DriveEnd{SpadeWidthMM: ratio * thickness, SpadeThicknessMM: thickness}.ShearMPa(50e3)
		if !known {
			t.Fatal("the spade is known")
		}
		near(t, "factor", 50e6/(tau*ratio*thickness*thickness*thickness), alpha, 5e-3)
		other, _ := rollforce.DriveEnd{SpadeWidthMM: thickness, SpadeThicknessMM: ratio * thickness}.ShearMPa(50e3)
		near(t, "either side first", other, tau, 1e-15)
	}
}

// By hand: 100 kN·m on a wobbler of 400 mm is 1e8/(0.07·6.4e7) = 22.32 MPa; the
// bearings of two 500 mm necks under 10 MN at 0.004 take 10 kN·m.
func TestWobblerAndBearingFriction(t *testing.T) {
	tau, known := rollforce.DriveEnd{WobblerDiameterMM: 400}.ShearMPa(100e3)
	if !known {
		t.Fatal("the wobbler is known")
	}
	near(t, "wobbler, MPa", tau, 22.3214, 1e-5)
	near(t, "bearings, N·m", rollforce.BearingTorqueNM(10e6, 500, 0.004), 10e3, 1e-12)
	if _, known := (rollforce.DriveEnd{}).ShearMPa(1e5); known {
		t.Error("an end without dimensions was computed")
	}
}

// A weak drive end governs: its shear is held against the allowable over √3, or
// against all of it in a brittle grade.
func TestDriveEndGoverns(t *testing.T) {
	body := rollforce.Body{BarrelDiameterMM: 700, BarrelLengthMM: 1700, NeckDiameterMM: 480, BearingSpanMM: 2500, FilletBendingFactor: 1, FilletTorsionFactor: 1,
		DriveEnd: rollforce.DriveEnd{WobblerDiameterMM: 400}}
	load := rollforce.Load{ForceN: 1e3, WidthMM: 1000, TorqueNM: 300e3}
	for _, brittle := range []bool{false, true} {
		s, err := rollforce.TwoHighStrength(body, load, rollforce.Allowable{BarrelMPa: 150, NeckMPa: 150, Brittle: brittle})
		if err != nil {
			t.Fatal(err)
		}
		allowed := 150.0
		if !brittle {
			allowed /= 1.7320508075688772
		}
		near(t, "shear", s.DriveEndShearMPa, 66.9643, 1e-5)
		near(t, "margin", s.Margin, 1-66.9643/allowed, 1e-4)
		if s.Governs != "drive end" {
			t.Errorf("%s governs, want the drive end", s.Governs)
		}
	}
}
