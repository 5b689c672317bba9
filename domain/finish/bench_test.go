package finish

import (
	"barrelbook/domain/practice"
	"fmt"
	"testing"

	"barrelbook/domain/rollload"
)

// BenchmarkCheck is one check of seven stands with every criterion, where no
// stand is a yes and remedies are sought among six sets each; "roomy" is the
// same where every stand is.
func BenchmarkCheck(b *testing.B) {
	for _, n := range []int{75, 150, 300} {
		for _, wear := range []float64{400, 4000} {
			name := "tight"
			if wear > 400 {
				name = "roomy"
			}
			b.Run(fmt.Sprintf("%s/7x%d", name, n), func(b *testing.B) {
				in := input(n)
				mechanics(&in)
				in.Models.Coefficients = remembered()
				for i := range in.Work.Rolls {
					roll := &in.Work.Rolls[i]
					lim(roll)[practice.MaxWearUM] = entered(wear * float64(n) / 300)
					lim(roll)[practice.MaxCampaignKM], lim(roll)[practice.MaxCampaignT] = entered(1000), entered(50000)
					roll.SinceGrind.WearUM = worn(20)
				}
				for i := range 6 {
					c := in.Work
					c.Name, c.Mounted = fmt.Sprintf("W-%d", 10+i), false
					in.Candidates = append(in.Candidates, c)
				}
				b.ReportAllocs()
				for b.Loop() {
					for range 7 {
						if _, err := Check(in); err != nil {
							b.Fatal(err)
						}
					}
				}
			})
		}
	}
}

// remembered keeps influence coefficients between checks, as the service does.
func remembered() func(rollload.Stack, rollload.Options) (*rollload.Coefficients, error) {
	kept := map[rollload.Stack]*rollload.Coefficients{}
	return func(p rollload.Stack, o rollload.Options) (*rollload.Coefficients, error) {
		if c, ok := kept[p]; ok {
			return c, nil
		}
		c, err := rollload.NewCoefficients(p, o)
		kept[p] = c
		return c, err
	}
}
