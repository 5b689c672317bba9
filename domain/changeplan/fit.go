package changeplan

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"barrelbook/domain/refusal"
)

const umPerMM = 1000.0

// judgeFit calls forbid for each limit of the stand that the set breaks.
func judgeFit(c Candidate, s Slot, forbid func(Code, string)) {
	if len(c.Stands) > 0 && !slices.Contains(c.Stands, s.Stand) {
		forbid(CodeStand, "set "+c.ID+" does not serve "+s.Stand)
		return
	}
	top, bottom := float64(c.TopDiameterUM)/umPerMM, float64(c.BottomDiameterUM)/umPerMM
	small, large := min(top, bottom), max(top, bottom)
	if s.PairToleranceUM != nil {
		apart := max(c.TopDiameterUM, c.BottomDiameterUM) - min(c.TopDiameterUM, c.BottomDiameterUM)
		if apart > *s.PairToleranceUM {
			forbid(CodePair, fmt.Sprintf("the pair differs by %d µm, above the %d µm allowed", apart, *s.PairToleranceUM))
		}
	}
	outside(s.DiameterMM, small, large, "diameter", "mm", CodeDiameter, forbid)
	if s.DriveRPM.set() && s.StripSpeedMPerS.set() {
		slow := 60 * umPerMM * s.StripSpeedMPerS.Low / (math.Pi * large)
		fast := 60 * umPerMM * s.StripSpeedMPerS.High / (math.Pi * small)
		outside(s.DriveRPM, slow, fast, "drive speed", "rpm", CodeSpeed, forbid)
	}
	topBackup, bottomBackup := float64(s.TopBackupUM)/umPerMM, float64(s.BottomBackupUM)/umPerMM
	if s.ShimMM.set() {
		shim := s.WorkRefMM - bottom
		if s.BottomBackupUM > 0 {
			shim += (s.BackupRefMM - bottomBackup) / 2
		}
		outside(s.ShimMM, shim, shim, "pass-line shim", "mm", CodeShim, forbid)
	}
	stack := topBackup + top + bottom + bottomBackup + float64(s.IntermediatesUM)/umPerMM
	outside(s.StackMM, stack, stack, "stack height", "mm", CodeStack, forbid)
}

// outside compares an interval found with the one allowed.
func outside(r Range, low, high float64, what, unit string, code Code, forbid func(Code, string)) {
	if !r.set() {
		return
	}
	if low < r.Low {
		forbid(code, fmt.Sprintf("%s %s %s is below the %s %s allowed", what, number(low), unit, number(r.Low), unit))
	}
	if high > r.High {
		forbid(code, fmt.Sprintf("%s %s %s is above the %s %s allowed", what, number(high), unit, number(r.High), unit))
	}
}

// number prints to a thousandth, which is a micrometre for lengths in mm.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
}

// grades says by how many a set is better or lower than the stand needs.
func grades(n int, than string) string {
	if n == 1 {
		return "a " + than + " grade than the stand needs"
	}
	return strconv.Itoa(n) + " grades " + than + " than the stand needs"
}

func checkJudged(c Candidate, s Slot, w Weights, atC, atS string) error {
	var k refusal.Check
	positive := func(path string, um int64) {
		if um <= 0 {
			k.Add(path, fmt.Sprintf("%d µm", um), "must be greater than 0", "")
		}
	}
	positive(atC+"/top_diameter_um", c.TopDiameterUM)
	positive(atC+"/bottom_diameter_um", c.BottomDiameterUM)
	k.Finite(atC+"/ready_min", c.ReadyMin)
	k.Finite(atS+"/due_min", s.DueMin)
	k.NotNegative("weights/late_per_min", w.LatePerMin)
	k.NotNegative("weights/too_good_per_rank", w.TooGoodPerRank)
	k.NotNegative("weights/too_poor_per_rank", w.TooPoorPerRank)
	notNegative := func(path string, um int64) {
		if um < 0 {
			k.Add(path, fmt.Sprintf("%d µm", um), "must not be below 0", "")
		}
	}
	if s.PairToleranceUM != nil {
		notNegative(atS+"/pair_tolerance_um", *s.PairToleranceUM)
	}
	notNegative(atS+"/top_backup_um", s.TopBackupUM)
	notNegative(atS+"/intermediates_um", s.IntermediatesUM)
	notNegative(atS+"/bottom_backup_um", s.BottomBackupUM)
	checkRange(&k, atS+"/diameter_mm", s.DiameterMM)
	checkRange(&k, atS+"/strip_speed_m_per_s", s.StripSpeedMPerS)
	checkRange(&k, atS+"/drive_rpm", s.DriveRPM)
	checkRange(&k, atS+"/shim_mm", s.ShimMM)
	checkRange(&k, atS+"/stack_mm", s.StackMM)
	if s.ShimMM.set() {
		k.Positive(atS+"/work_ref_mm", s.WorkRefMM)
		if s.BottomBackupUM > 0 {
			k.Positive(atS+"/backup_ref_mm", s.BackupRefMM)
		}
	}
	return k.Err()
}

func checkRange(k *refusal.Check, path string, r Range) {
	if k.Finite(path+"/low", r.Low) && k.Finite(path+"/high", r.High) && r.Low > r.High {
		k.Add(path, number(r.Low)+" to "+number(r.High), "must not end below its start", "")
	}
}
