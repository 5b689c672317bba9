package refusal_test

import (
	"fmt"
	"math"
	"testing"

	"barrelbook/domain/refusal"
)

func TestCheckGathersEveryBadField(t *testing.T) {
	var c refusal.Check
	c.Positive("diameter_mm", -3)
	c.Positive("width_mm", math.NaN())
	c.NotNegative("wear_um", -1)
	c.Within("poisson_ratio", 0.7, 0, 0.5)
	c.Finite("crown_um", 12)
	got := refusal.FieldsOf(fmt.Errorf("contact: %w", c.Err()))
	want := []string{
		"diameter_mm -3 must be greater than 0",
		"width_mm NaN must be a finite number",
		"wear_um -1 must not be below 0",
		"poisson_ratio 0.7 must lie between 0 and 0.5",
	}
	if len(got) != len(want) {
		t.Fatalf("got %d refusals %v, want %d", len(got), got, len(want))
	}
	for i := range want {
		if got[i].String() != want[i] {
			t.Errorf("refusal %d: got %q, want %q", i, got[i], want[i])
		}
	}
}

func TestNothingRefusedIsNoError(t *testing.T) {
	var c refusal.Check
	c.Positive("diameter_mm", 700)
	if err := c.Err(); err != nil {
		t.Fatal(err)
	}
	if refusal.FieldsOf(fmt.Errorf("other")) != nil {
		t.Fatal("an error of another kind has no fields")
	}
}
