package purchase_test

import (
	"testing"
	"time"

	"barrelbook/domain/purchase"
	"barrelbook/domain/refusal"
)

var ordered = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)

func TestOrder(t *testing.T) {
	o := purchase.Order{Rolls: 3, Price: 2_100_000, MassKG: 7000, NewDiameter: 690_000, ScrapDiameter: 622_000, OrderedAt: ordered, DueAt: ordered.AddDate(0, 8, 0)}
	if err := o.Check(); err != nil {
		t.Fatal(err)
	}
	if kg, ok := o.PricePerKG(); !ok || kg != 300 {
		t.Errorf("%g a kg", kg)
	}
	if mm, ok := o.PricePerMM(); !ok || mm != 2_100_000/68.0 {
		t.Errorf("%g a mm", mm)
	}
	o, err := o.Arrive([]string{"A", "B"})
	if err != nil || o.ToCome() != 1 || !o.Open() || o.Late(o.DueAt) || !o.Late(o.DueAt.Add(1)) {
		t.Errorf("after two of three: %d to come, %v", o.ToCome(), err)
	}
	for name, rolls := range map[string][]string{"again": {"A"}, "twice": {"C", "C"}, "more than ordered": {"C", "D"}} {
		if _, err := o.Arrive(rolls); refusal.FieldsOf(err) == nil {
			t.Errorf("%s was taken", name)
		}
	}
	o.ClosedAt = ordered
	if o.ToCome() != 0 || o.Late(o.DueAt.AddDate(1, 0, 0)) {
		t.Error("a closed order has rolls to come")
	}
	if _, err := o.Arrive([]string{"C"}); refusal.FieldsOf(err) == nil {
		t.Error("a roll came with a closed order")
	}
	bad := purchase.Order{MassKG: -1, NewDiameter: 1, ScrapDiameter: 1, OrderedAt: ordered, DueAt: ordered.Add(-1)}
	if n := len(refusal.FieldsOf(bad.Check())); n != 4 {
		t.Errorf("%d refusals: %v", n, bad.Check())
	}
	if _, known := (purchase.Order{Price: 1}).PricePerKG(); known {
		t.Error("a price per kg without a mass")
	}
}
