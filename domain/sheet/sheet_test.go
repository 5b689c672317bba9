package sheet

import "testing"

func TestCell(t *testing.T) {
	for text, want := range map[string]string{
		"": "", "WR-1": "WR-1", "=cmd|' /C calc'!A0": "'=cmd|' /C calc'!A0", "+1+1": "'+1+1", "-1": "-1", "+2.5": "+2.5", "-1.5e-7": "-1.5e-7", "-": "'-", "-x": "'-x", "-1e": "'-1e", "-1-1": "'-1-1",
		"@SUM(A1)": "'@SUM(A1)", "\t=1": "'\t=1", "\r=1": "'\r=1", "12": "12", "a=1": "a=1", "--1": "'--1", "-1.": "'-1.",
	} {
		if got := Cell(text); got != want {
			t.Errorf("%q became %q, want %q", text, got, want)
		}
	}
}
