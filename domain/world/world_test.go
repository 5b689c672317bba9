package world_test

import (
	"testing"
	"time"

	"barrelbook/domain/world"
)

// TestWorlds holds what every world promises those who listen: time never goes
// back, the figures add up, and it is of the kind it says.
func TestWorlds(t *testing.T) {
	for _, truth := range world.All() {
		t.Run(truth.Name, func(t *testing.T) {
			t.Parallel()
			w := world.New(truth, 7)
			last := time.Time{}
			counts := map[string]int{}
			in := map[string]*world.Set{}
			pieceAt := time.Time{}
			finishes, asked := 0, 0
			var truths, wear []float64
			err := w.Run(150, world.Foreman{}, func(e world.Event) error {
				if e.When().Before(last) {
					t.Fatalf("%T on %s after %s", e, e.When(), last)
				}
				last = e.When()
				switch e := e.(type) {
				case *world.Receipt:
					counts["receipt"]++
				case *world.Change:
					counts["change "+string(e.Why)]++
					if in[e.Stand] != e.Out {
						t.Fatalf("%s came out of %s, and another was in", e.Out.Name, e.Stand)
					}
					in[e.Stand] = e.In
				case *world.Announced:
					for stand, set := range in {
						f := w.Ahead(stand, set, e, 0)
						asked++
						if f.Passes == 0 {
							finishes++
						}
						truths = append(truths, max(f.EndUM()[0], f.EndUM()[1]))
					}
				case *world.Rolled:
					for _, p := range e.Pieces {
						if !p.RolledAt.After(pieceAt) || p.RolledAt.After(e.When()) {
							t.Fatalf("piece %s on %s, after %s and before %s", p.ID, p.RolledAt, pieceAt, e.When())
						}
						pieceAt = p.RolledAt
						counts["piece"]++
					}
				case *world.Regrind:
					counts["regrind"]++
					if e.Slipped() {
						counts["slip"]++
					}
					if e.Scraps {
						counts["scrap"]++
					}
					wear = append(wear, e.TrueWearUM)
				case *world.Lost:
					counts["lost"]++
				case *world.Incident:
					counts["incident"]++
				}
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
			if got := counts["piece"]; got != w.Ledger.Pieces || got < 20000 {
				t.Errorf("%d pieces were heard of, %d rolled", got, w.Ledger.Pieces)
			}
			if base := float64(finishes) / float64(asked); base < 0.5 || base > 0.9 {
				t.Errorf("%.2f of the sets finish their programme: too easy a question", base)
			}
			t.Logf("%v, ledger %+v, base rate %.2f", counts, w.Ledger, float64(finishes)/float64(asked))
		})
	}
}

// TestSameTruthUnderEveryPolicy: what a policy decides shifts nothing that chance
// decides.
func TestSameTruthUnderEveryPolicy(t *testing.T) {
	pieces := func(p world.Policy) (list []string, force float64) {
		w := world.New(world.Rough(), 3)
		err := w.Run(20, p, func(e world.Event) error {
			if r, ok := e.(*world.Rolled); ok {
				for _, p := range r.Pieces {
					list = append(list, p.ID)
					force += p.Passes[2].ForceKN
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return list, force
	}
	a, fa := pieces(world.Foreman{})
	b, fb := pieces(world.Foreman{Share: 0.6, Mood: 0.1})
	if len(a) != len(b) || fa != fb {
		t.Errorf("%d pieces of %g kN, and %d of %g under another foreman", len(a), fa, len(b), fb)
	}
}
