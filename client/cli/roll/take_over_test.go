package roll

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

var today = time.Date(2026, 3, 4, 14, 5, 0, 0, time.UTC)

// TestBothKindsOfListReadAlike: the same two rolls as CSV and as XLSX, a date
// typed as a date among them.
func TestBothKindsOfListReadAlike(t *testing.T) {
	heads := []string{"number", "role", "grade", "mill", "stands", "diameter_mm", "new_diameter_mm", "barrel_length_mm", "scrap_nominal_mm", "ground", "price", "received_at", "stand", "position", "mounted_at", "withdrawn_at", "tonnage_t"}
	first := []any{"W1", "work", "HSS-1", "HSM", "F1 F2", 771.5, 780, 2000, 690, "yes", 4200000, time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC), "F1", "top_work", "2024-01-01", "2025-12-31", 120000}
	book := excelize.NewFile()
	sheet := book.GetSheetName(0)
	if book.SetSheetRow(sheet, "A1", &heads) != nil || book.SetSheetRow(sheet, "A2", &first) != nil || book.SetCellValue(sheet, "A3", "W2") != nil {
		t.Fatal("the sheet could not be filled")
	}
	var xlsx bytes.Buffer
	if err := book.Write(&xlsx); err != nil {
		t.Fatal(err)
	}
	csv := strings.Join(heads, ",") + "\nW1,work,HSS-1,HSM,F1 F2,771.5,780,2000,690,yes,4200000,2026-01-02,F1,top_work,2024-01-01,2025-12-31,120000\nW2\n"
	for kind, text := range map[string][]byte{"CSV": []byte(csv), "XLSX": xlsx.Bytes()} {
		lines, err := listedRolls(text, today)
		if err != nil || len(lines) != 2 {
			t.Fatalf("%s: %d lines, %v", kind, len(lines), err)
		}
		r, s := lines[0].receipt, lines[0].stay
		if r.Number != "W1" || r.DiameterMm != 771.5 || *r.NewDiameterMm != 780 || r.Scrap.NominalMm != 690 || !*r.Ground || *r.Price != 4200000 || len(*r.Stands) != 2 || !r.ReceivedAt.Equal(time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC)) {
			t.Errorf("%s: the receipt reads %+v", kind, r)
		}
		if s == nil || s.Roll != "W1" || s.TonnageT != 120000 || s.Stand != "F1" {
			t.Errorf("%s: what it bore reads %+v", kind, s)
		}
		if lines[1].stay != nil || !lines[1].receipt.ReceivedAt.Equal(today) {
			t.Errorf("%s: the second line reads %+v", kind, lines[1])
		}
	}
}

// TestEveryBadCellIsNamed by its line and column, all at once.
func TestEveryBadCellIsNamed(t *testing.T) {
	_, err := listedRolls([]byte("number,diameter_mm,ground,received_at,tonnage_t\nW1,780,yes,2026-01-01,5\nW2,\"780,5\",maybe,last week,many\nw1,780,no,2026-01-01,1\n"), today)
	if err == nil {
		t.Fatal("nothing was found wrong")
	}
	for _, want := range []string{"line 3, diameter_mm", "line 3, ground", "line 3, received_at", "line 3, tonnage_t", "line 4: roll w1 is on line 2 already"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q is not in\n%v", want, err)
		}
	}
	if _, err := listedRolls([]byte("number,colour\nW1,red\n"), today); err == nil || !strings.Contains(err.Error(), "colour") {
		t.Errorf("a column that is none: %v", err)
	}
}

func TestTemplatesAreReadBack(t *testing.T) {
	for _, name := range []string{"rolls.csv", "rolls.XLSX"} {
		var list bytes.Buffer
		if err := emptyList(name)(&list); err != nil {
			t.Fatal(err)
		}
		rows, err := cells(list.Bytes())
		if err != nil || len(rows) != 1 || rows[0][0] != "number" || len(rows[0]) != len(receiptColumns)+len(stayColumns) {
			t.Errorf("%s: %v, %v", name, rows, err)
		}
	}
}
