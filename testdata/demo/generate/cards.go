package main

import "time"

// carry writes a stay onto the cards of both rolls of a set.
func (s *shop) carry(c *class, stand string, out *pair, at time.Time) {
	for k, b := range out.rolls {
		line := object{"roll": b.number, "stand": stand, "position": []string{"top_", "bottom_"}[k] + c.role, "mounted_at": stamp(out.since), "withdrawn_at": stamp(at), "piece_count": out.rolled, "tonnage_t": round(out.tonnes, 1)}
		if out.stated[0] > 0 {
			line["rolled_km"], line["specific_force_kn_per_mm"] = round(out.stated[0], 3), round(10*out.stated[1]/out.stated[0], 4)
		}
		b.card = append(b.card, line)
	}
}

// told is how many grinds at the end of a card are told with all that was measured
// and tested: what the practice looks back at.
const told = 10

// linesAtOnce is how many lines of cards go in one request.
const linesAtOnce = 2000

// open hands the past over to the books: what is in the stands comes out, the cards
// are carried over, and the sets are built.
func (s *shop) open(at time.Time) {
	for _, c := range s.classes {
		for _, stand := range c.stands {
			if out := s.in[stand+c.role]; out != nil {
				s.carry(c, stand, out, at.Add(-50*time.Minute))
				s.in[stand+c.role] = nil
				s.takeOut(out, at.Add(-50*time.Minute))
			}
		}
	}
	var lines []object
	send := func() {
		if len(lines) > 0 {
			s.post(s.opens.Add(-5*time.Hour), "/v1/past-stays", object{"stays": lines})
		}
		lines = nil
	}
	for _, b := range s.books {
		if len(lines)+len(b.card) > linesAtOnce {
			send()
		}
		for i, line := range b.card {
			if grind, ok := line["regrind"].(object); ok && i < len(b.card)-told {
				for _, part := range []string{"tests", "stations", "roundness_um", "runout_um", "taper_um", "grinder"} {
					delete(grind, part)
				}
			}
			lines = append(lines, line)
		}
		s.carried += len(b.card)
	}
	send()
	s.opened = true
	for _, c := range s.classes {
		for _, set := range s.sets[c] {
			s.build(set)
		}
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
