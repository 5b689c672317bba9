package storetest

import (
	"errors"
	"math"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
)

// testDamage: damage comes back to the last bit, is written over, and is refused
// where it is none.
func testDamage(t *testing.T, s Store) {
	works(t, s)
	damage := func(number string, worst float64) port.DamageRow {
		f, err := fatigue.NewField(41, 40, 0.66)
		if err != nil {
			t.Fatal(err)
		}
		for i := range f.Damage {
			f.Damage[i] = worst / float64(i+1) / 3
		}
		f.OffMM = 0.1 + 0.2
		return port.DamageRow{Roll: number, Diameter: 720_001, Field: *f, Thermal: heat.Growth{123.456, 0, -0.1 - 0.2}, ThermalAt: day}
	}
	never := damage("W-2", 1e-300)
	never.Thermal, never.ThermalAt = heat.Growth{}, time.Time{}
	write(t, s, func(w port.Writer) error { return w.PutDamage([]port.DamageRow{never, damage("W-1", 0.25)}) })
	read(t, s, func(r port.Reader) error {
		got, err := r.Damage([]string{"W-2", "W-1", "NONE"})
		same(t, "damage", got, []port.DamageRow{damage("W-1", 0.25), never})
		return err
	})
	write(t, s, func(w port.Writer) error { return w.PutDamage([]port.DamageRow{damage("W-1", 0.5)}) })
	read(t, s, func(r port.Reader) error {
		got, err := r.Damage([]string{"W-1"})
		same(t, "damage written over", got, []port.DamageRow{damage("W-1", 0.5)})
		none, err2 := r.Damage(nil)
		same(t, "no roll named", none, []port.DamageRow(nil))
		if err == nil {
			err = err2
		}
		return err
	})
	taken := map[int64]port.DamageRow{7: damage("W-1", 0.1), 9: damage("W-1", 0.2)}
	write(t, s, func(w port.Writer) error {
		if err := w.PutStayDamage("W-2", map[int64]port.DamageRow{8: never}); err != nil {
			return err
		}
		if err := w.PutStayDamage("W-1", map[int64]port.DamageRow{6: damage("W-1", 0.3)}); err != nil {
			return err
		}
		return w.PutStayDamage("W-1", taken)
	})
	write(t, s, func(w port.Writer) error { return w.RemoveDamage([]string{"W-1", "NONE"}) })
	read(t, s, func(r port.Reader) error {
		got, err := r.StayDamage("W-1")
		same(t, "damage taken into stays, in the place of what was kept", got, taken)
		other, err2 := r.StayDamage("W-2")
		same(t, "that of another roll", other, map[int64]port.DamageRow{8: never})
		left, err3 := r.Damage([]string{"W-1", "W-2"})
		same(t, "damage left", left, []port.DamageRow{never})
		return errors.Join(err, err2, err3)
	})
	for name, spoil := range map[string]func(*port.DamageRow){
		"NaN":       func(d *port.DamageRow) { d.Field.Damage[3] = math.NaN() },
		"infinite":  func(d *port.DamageRow) { d.Thermal[2] = math.Inf(1) },
		"too short": func(d *port.DamageRow) { d.Field.Damage = d.Field.Damage[:10] },
	} {
		d := damage("W-3", 1)
		spoil(&d)
		if err := s.Write(t.Context(), func(w port.Writer) error { return w.PutDamage([]port.DamageRow{d}) }); err == nil {
			t.Errorf("damage that is %s was stored", name)
		}
	}
}
