package roll_test

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// A book told in days from its receipt.
type grindBook struct {
	entries []roll.Entry
}

var receiptDay = time.Date(2026, 1, 1, 6, 0, 0, 0, time.UTC)

func dayOf(d float64) time.Time { return receiptDay.Add(time.Duration(d * 24 * float64(time.Hour))) }

func (b *grindBook) add(day float64, body roll.Body) int64 {
	n := int64(len(b.entries) + 1)
	b.entries = append(b.entries, roll.Entry{Roll: "W1", Number: n, At: dayOf(day), RecordedAt: dayOf(day), Reason: "test", Body: body})
	return n
}

func (b *grindBook) grinds(t interface{ Fatal(...any) }) []roll.Grind {
	if _, err := roll.Replay(b.entries); err != nil {
		t.Fatal(err)
	}
	effective, err := roll.Effective(b.entries)
	if err != nil {
		t.Fatal(err)
	}
	return roll.Grinds(effective)
}

func (b *grindBook) campaign(day float64, stand string) {
	b.add(day, roll.Mounted{Stand: stand, Position: mill.TopWork, Set: "S", CampaignsBetweenGrinds: 5})
	b.add(day+0.5, roll.Withdrawn{Stand: stand, Position: mill.TopWork, Set: "S", Why: roll.Planned})
}

func openedBook() *grindBook {
	b := &grindBook{}
	b.add(0, roll.Received{Roll: roll.Roll{Number: "W1", Role: mill.Work, Scrap: roll.ScrapLimits{Nominal: 650_000}}, Mill: "HSM", Diameter: 740_000, Ground: true})
	b.add(0, roll.Paired{Set: "S", Partner: "W2", Top: true})
	return b
}

func groundAway(found, to quantity.Micrometre, purpose roll.Purpose) roll.Reground {
	return roll.Reground{Found: found, FoundAsRead: found, Ground: to, For: purpose, GaugeUncertainty: 20, MaxPlausible: 8000}
}

func TestGrindsFollowCorrectionsAndStays(t *testing.T) {
	b := openedBook()
	b.campaign(1, "F2")
	b.campaign(2, "F2")
	first := b.add(3, groundAway(739_700, 739_400, roll.ForWear))
	b.campaign(4, "F2")
	b.add(4.2, roll.Held{})
	b.add(4.6, roll.Released{})
	// Written late: the mishap of the second round.
	b.add(4.3, roll.Incident{Name: "i", What: roll.Bruise, Stand: "F2"})
	b.add(5, roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}})
	b.add(6, groundAway(739_290, 738_000, roll.ForIncident))
	b.campaign(7, "F2")
	b.campaign(8, "F3")
	b.add(9, groundAway(737_900, 737_700, roll.ForWear))
	// The first ground diameter was 739.500.
	standing := b.add(9.5, roll.Corrected{Entry: first, With: groundAway(739_700, 739_500, roll.ForWear)})

	got := b.grinds(t)
	if len(got) != 3 {
		t.Fatalf("%d grinds, want 3: %+v", len(got), got)
	}
	for i, want := range []struct {
		wear, stock, removed quantity.Micrometre
		stays, incidents     int
		stand                string
		teaches              bool
	}{
		{300, 200, 500, 2, 0, "F2", true},
		{210, 1290, 1500, 1, 1, "F2", false},
		{100, 200, 300, 2, 0, "", false}, // two stands: it belongs to neither rate
	} {
		g := got[i]
		if g.Wear() != want.wear || g.Stock() != want.stock || g.Removed() != want.removed || len(g.Stays) != want.stays ||
			g.Incidents != want.incidents || g.Stand() != want.stand || g.TeachesWear() != want.teaches {
			t.Errorf("grind %d: %+v, want %+v", i, g, want)
		}
	}
	if got[0].Entry != standing || !got[1].Since.Equal(got[0].At) || !got[0].Since.Equal(receiptDay) {
		t.Errorf("places in the book: %+v", got)
	}
}

func TestWithdrawnRegrindLeavesNoGrind(t *testing.T) {
	b := openedBook()
	b.campaign(1, "F2")
	n := b.add(3, groundAway(739_700, 739_400, roll.ForWear))
	b.add(4, roll.Corrected{Entry: n})
	if got := b.grinds(t); len(got) != 0 {
		t.Errorf("got %+v", got)
	}
	b.add(5, groundAway(739_700, 739_300, roll.ForWear))
	if got := b.grinds(t); len(got) != 1 || got[0].Removed() != 700 || len(got[0].Stays) != 1 {
		t.Errorf("the stay is the next grind's: %+v", got)
	}
}

// What the grinds took adds up to what the book says is gone, in whole
// micrometres, whatever the order in which it was written.
func TestGrindsAddUpToTheBook(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := openedBook()
		day, at := 1.0, quantity.Micrometre(740_000)
		stays := 0
		for range rapid.IntRange(1, 12).Draw(t, "grinds") {
			for range rapid.IntRange(0, 3).Draw(t, "stays") {
				b.campaign(day, rapid.SampledFrom([]string{"F1", "F2"}).Draw(t, "stand"))
				day++
				stays++
			}
			found := at - quantity.Micrometre(rapid.IntRange(0, 500).Draw(t, "wear"))
			to := found - quantity.Micrometre(rapid.IntRange(1, 2000).Draw(t, "stock"))
			b.add(day, groundAway(found, to, rapid.SampledFrom([]roll.Purpose{roll.ForWear, roll.ForCrack}).Draw(t, "for")))
			at, day = to, day+1
		}
		s, err := roll.Replay(b.entries)
		if err != nil {
			t.Fatal(err)
		}
		var removed, incident quantity.Micrometre
		seen := 0
		grinds := b.grinds(t)
		for i, g := range grinds {
			removed += g.Removed()
			if !g.For.Normal() {
				incident += g.Removed()
			}
			seen += len(g.Stays)
			if i > 0 && g.LastGround != grinds[i-1].Ground {
				t.Fatalf("grind %d starts at %s, the one before ended at %s", i, g.LastGround, grinds[i-1].Ground)
			}
		}
		if removed != s.StockRemoved || incident != s.IncidentStock || len(grinds) != s.Regrinds || seen != stays {
			t.Fatalf("grinds say %s, %s of it incident, in %d with %d stays; the book %s, %s, %d, %d",
				removed, incident, len(grinds), seen, s.StockRemoved, s.IncidentStock, s.Regrinds, stays)
		}
		// Order of writing does not matter to what Effective gives.
		again, _ := roll.Effective(b.entries)
		if !reflect.DeepEqual(roll.Grinds(again), grinds) {
			t.Fatal("the same book gave other grinds")
		}
	})
}
