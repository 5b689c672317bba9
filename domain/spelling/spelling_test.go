package spelling_test

import (
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/spelling"
)

func TestLook(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"CW-110", "cw-110", true}, {"CW-110", "CW110", true}, {"CW-110", "CW-11O", true}, {"CW-110", "cw.IIo", true}, {"B5", "8S", true}, {"Z1", "2l", true},
		{"CW-110", "CW-111", false}, {"CW-110", "CW-101", false}, {"CW-110", "HW-110", false},
	} {
		if got := spelling.Look(c.a) == spelling.Look(c.b); got != c.same {
			t.Errorf("%s and %s look alike: %t, want %t", c.a, c.b, got, c.same)
		}
	}
	if !spelling.Same("cw-110", "CW-110") || spelling.Same("CW-110", "CW110") {
		t.Error("Same heeds more than the case, or less")
	}
}

func TestNearest(t *testing.T) {
	names := []string{"CW-107", "CW-117", "CW-118", "HW-117", "S-1"}
	for text, want := range map[string]string{"CW-171": "CW-117", "cw-117": "CW-117", "CW-17": "CW-107", "CW117": "CW-117", "CX-118": "CW-118", "S-2": "S-1", "F5": "", "BACKUP": "", "": ""} {
		if got := spelling.Nearest(text, names); got != want {
			t.Errorf("nearest to %q is %q, want %q", text, got, want)
		}
	}
}

// TestOneSlipIsFound: a name with one digit changed, dropped, doubled or changed
// over with its neighbour is the nearest to itself.
func TestOneSlipIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[A-Z]{2}-[0-9]{3,6}`).Draw(t, "name")
		i := rapid.IntRange(0, len(name)-2).Draw(t, "place")
		typed := map[string]string{
			"changed": name[:i] + "x" + name[i+1:], "dropped": name[:i] + name[i+1:], "doubled": name[:i+1] + name[i:],
			"changed over": name[:i] + name[i+1:i+2] + name[i:i+1] + name[i+2:],
		}[rapid.SampledFrom([]string{"changed", "dropped", "doubled", "changed over"}).Draw(t, "slip")]
		if got := spelling.Nearest(typed, []string{"another-roll", name}); got != name {
			t.Fatalf("%q is nearest to %q, not to %q", typed, got, name)
		}
	})
}
