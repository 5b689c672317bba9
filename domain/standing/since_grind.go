package standing

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
	"barrelbook/domain/wearrate"
)

// Rate is what is believed of a roll's wear rate at a stand.
type Rate struct {
	UMPerKM  float64 // at 10 kN/mm
	SharedCV float64 // spread that both rolls of a set have in common
	OwnCV    float64 // spread of the roll by itself in one campaign
	SD       float64 // of this roll's rate, µm per km
	NoiseUM  float64 // of one campaign's measured wear; 0 when not learned
	Version  int64   // of the learned rates; 0 for the practice's
	Source   string
	// Effect is what the length and force of a whole campaign make of the rate.
	Effect wearrate.CampaignEffect
}

// OverBooked is the rate over the one of the practice, at which the wear along
// the barrel is booked when a piece is rolled: what is learned later holds for it
// as well.
func (r Rate) OverBooked(p interface {
	Number(practice.Key) float64
}) float64 {
	if booked := p.Number(practice.WearRateUMPerKM); booked > 0 {
		return r.UMPerKM / booked
	}
	return 1
}

// Stay is a roll's time in one stand: what it bore there as booked, and by how
// much the rate now known is above the one it was booked at.
type Stay struct {
	Usage duty.Usage
	Times float64
}

// SinceGrind is what a roll has borne in all its stays since its last grind,
// with its wear at the rates now known. The stays are left as they are.
func SinceGrind(stays []Stay) duty.Usage {
	var since duty.Usage
	for _, s := range stays {
		u := s.Usage
		if u.WearUM != nil {
			u.WearUM = make([]float64, len(s.Usage.WearUM))
			for i, um := range s.Usage.WearUM {
				u.WearUM[i] = s.Times * um
			}
		}
		since.Add(u)
	}
	return since
}
