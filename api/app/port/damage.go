package port

import (
	"time"

	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/quantity"
)

// DamageRow is the contact fatigue of a roll, as pieces and grinds have left
// it, and its thermal growth at a moment.
type DamageRow struct {
	Roll string
	// Diameter is where the surface of the field lies; the roll may have been
	// ground since.
	Diameter  quantity.Micrometre
	Field     fatigue.Field
	Thermal   heat.Growth
	ThermalAt time.Time // zero when it never was warm
}

// DamageReader reads what rolling did inside the rolls.
type DamageReader interface {
	// Damage gives the rows there are of the rolls named, in any order.
	Damage(numbers []string) ([]DamageRow, error)
	// StayDamage gives what is kept of what a roll took into its stays, by
	// mounting.
	StayDamage(number string) (map[int64]DamageRow, error)
}

// DamageWriter keeps it. Rolls are to be locked by their stand or themselves.
type DamageWriter interface {
	PutDamage(rows []DamageRow) error
	// RemoveDamage is for rolls that turn out to have borne nothing.
	RemoveDamage(numbers []string) error
	// PutStayDamage keeps what a roll took into stays, by mounting, in the place of
	// all that was kept of it.
	PutStayDamage(number string, damage map[int64]DamageRow) error
}
