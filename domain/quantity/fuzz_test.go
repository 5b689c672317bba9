package quantity_test

import (
	"math"
	"testing"
	"unicode/utf8"

	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
)

var texts = []string{
	"738.412", "738,412", "738.412 mm", "412um", "412 µm", "412 μm", "29.07in", `29.07"`, "29 1/16in", "2ft", "2'",
	"1000 long tonf", "1000 tonf", "40 mph", "-40 °F", "0 K", "1e400", "NaN", "-Inf", "", " ", "-", "+.5 thou", "1/0 in",
	"010/16 in", "9.", "..", "10000", "10000.001", "0.00000000000000000001 in", "12 mN", "5\x00mm", "5\xff", "1\u00a0m",
	"20 ton", "8.5 kN/mm", "3 ksi", "1.5 h", "0.5um", "\u2212273 C",
}

// Any text is read or refused with a reason; what is read prints and reads
// back the same, and is within the limit.
func FuzzParseLength(f *testing.F) {
	for _, text := range texts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, def := range []quantity.LengthUnit{quantity.Millimetres, quantity.Micrometres, quantity.Inches} {
			um, err := quantity.ParseLength(text, def)
			if err != nil {
				mustBeARefusal(t, text, err)
				continue
			}
			if um < 0 || um > quantity.MaxLength {
				t.Fatalf("ParseLength(%q, %s) = %d µm", text, def, um)
			}
			for _, sys := range systems {
				back, err := quantity.ParseLength(sys.ShowLength(um), def)
				if err != nil || back != um {
					t.Fatalf("%q in %s is %d µm, shown as %q, which reads %d, %v", text, def, um, sys.ShowLength(um), back, err)
				}
			}
		}
	})
}

func FuzzParseQuantity(f *testing.F) {
	for _, text := range texts {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, d := range dimensions {
			for _, sys := range systems {
				r, err := d.Parse(text, sys)
				if err != nil {
					mustBeARefusal(t, text, err)
					continue
				}
				if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) {
					t.Fatalf("%s %q = %v", d.Base(), text, r.Value)
				}
				back, err := d.Parse(d.Exact(r.Value), sys)
				if err != nil || back.Value != r.Value {
					t.Fatalf("%s %q is %v, printed as %q, which reads %v, %v", d.Base(), text, r.Value, d.Exact(r.Value), back.Value, err)
				}
			}
		}
	})
}

func mustBeARefusal(t *testing.T, text string, err error) {
	t.Helper()
	fields := refusal.FieldsOf(err)
	if len(fields) != 1 || fields[0].Value == "" || fields[0].Limit == "" || fields[0].Do == "" {
		t.Fatalf("%q is refused without saying what was read, what the limit is and what to do: %v", text, err)
	}
	if !utf8.ValidString(err.Error()) {
		t.Fatalf("the refusal of %q is not text: %q", text, err.Error())
	}
}
