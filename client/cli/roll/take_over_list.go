package roll

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"barrelbook/client/cli/kit"
	"barrelbook/client/oapi"
)

// listedRoll is one line of a list of rolls.
type listedRoll struct {
	number  int // of the line, from 1
	receipt oapi.RollReceipt
	stay    *oapi.PastStayInput
}

const scrapPrefix = "scrap_"

// receiptColumns are the plain fields of a receipt, in the order of the template.
var receiptColumns = []string{"number", "role", "grade", "mill", "stands", "diameter_mm", "new_diameter_mm", "barrel_length_mm", "bearing_span_mm", "neck_diameter_mm", "neck_fillet_radius_mm",
	"scrap_nominal_mm", "scrap_shell_depth_mm", "scrap_hardened_depth_mm", "scrap_stack_height_mm", "scrap_neck_fillet_mm", "scrap_drive_angle_mm", "scrap_speed_range_mm",
	"ground", "crown_um", "roughness_um", "hardness_shore_c", "supplier", "certificate", "price", "received_at", "note"}

// stayColumns tell what a roll bore so far, as one stay.
var stayColumns = []string{"stand", "position", "mounted_at", "withdrawn_at", "tonnage_t", "rolled_km", "specific_force_kn_per_mm"}

// emptyList writes the list to fill.
func emptyList(name string) func(io.Writer) error {
	heads := slices.Concat(receiptColumns, stayColumns)
	return func(w io.Writer) error {
		if !strings.HasSuffix(strings.ToLower(name), ".xlsx") {
			_, err := io.WriteString(w, strings.Join(heads, ",")+"\n")
			return err
		}
		book := excelize.NewFile()
		defer book.Close()
		if err := book.SetSheetRow(book.GetSheetName(0), "A1", &heads); err != nil {
			return err
		}
		return book.Write(w)
	}
}

// cells reads a list as rows of texts, of CSV or of the first sheet of an XLSX.
func cells(text []byte) ([][]string, error) {
	if bytes.HasPrefix(text, []byte("PK\x03\x04")) {
		book, err := excelize.OpenReader(bytes.NewReader(text))
		if err != nil {
			return nil, fmt.Errorf("the file looks like XLSX and cannot be read: %w", err)
		}
		defer book.Close()
		return book.GetRows(book.GetSheetName(0), excelize.Options{RawCellValue: true})
	}
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff")))) // some spreadsheets begin with it
	in.FieldsPerRecord, in.TrimLeadingSpace = -1, true
	return in.ReadAll()
}

// listedRolls reads a list. All cells that are wrong are told at once.
func listedRolls(text []byte, now time.Time) ([]listedRoll, error) {
	rows, err := cells(text)
	if err != nil {
		return nil, err
	}
	if len(rows) < 2 {
		return nil, errors.New("the first line names the columns and each one below it a roll; there is no roll")
	}
	heads := rows[0]
	for i := range heads {
		if heads[i] = strings.TrimSpace(heads[i]); !slices.Contains(receiptColumns, heads[i]) && !slices.Contains(stayColumns, heads[i]) {
			return nil, fmt.Errorf("there is no column %q here; see the columns with --template", heads[i])
		}
	}
	var lines []listedRoll
	var wrong []error
	first := map[string]int{}
	for n, row := range rows[1:] {
		if strings.TrimSpace(strings.Join(row, "")) == "" {
			continue
		}
		line := listedRoll{number: n + 2}
		wrong = append(wrong, line.read(heads, row, now)...)
		number := strings.ToUpper(line.receipt.Number)
		if at, twice := first[number]; twice {
			wrong = append(wrong, fmt.Errorf("line %d: roll %s is on line %d already", line.number, line.receipt.Number, at))
		}
		first[number] = line.number
		lines = append(lines, line)
	}
	return lines, errors.Join(wrong...)
}

func (l *listedRoll) read(heads, row []string, now time.Time) (wrong []error) {
	doc, scrap, stay := map[string]any{"received_at": now.UTC().Truncate(time.Microsecond)}, map[string]any{}, oapi.PastStayInput{}
	told := false
	for i, cell := range row {
		if cell = strings.TrimSpace(cell); cell == "" {
			continue
		}
		if i >= len(heads) {
			wrong = append(wrong, fmt.Errorf("line %d: %q stands under no heading", l.number, cell))
			continue
		}
		if days, err := strconv.ParseFloat(cell, 64); err == nil && strings.HasSuffix(heads[i], "_at") {
			cell = dayOf(days, cell) // a spreadsheet keeps a date as a count of days
		}
		var err error
		switch head := heads[i]; {
		case slices.Contains(stayColumns, head):
			told = true
			err = cardColumns[head](&stay, cell)
		case strings.HasPrefix(head, scrapPrefix):
			field := strings.TrimPrefix(head, scrapPrefix)
			scrap[field], err = valueOf(reflect.TypeFor[oapi.ScrapLimits](), field, cell)
		default:
			doc[head], err = valueOf(reflect.TypeFor[oapi.RollReceipt](), head, cell)
		}
		if err != nil {
			wrong = append(wrong, fmt.Errorf("line %d, %s: %w", l.number, heads[i], err))
		}
	}
	doc["scrap"] = scrap
	text, err := json.Marshal(doc)
	if err == nil {
		err = json.Unmarshal(text, &l.receipt)
	}
	if err != nil {
		wrong = append(wrong, fmt.Errorf("line %d: %w", l.number, err))
	}
	if told {
		stay.Roll = l.receipt.Number
		l.stay = &stay
	}
	return wrong
}

func dayOf(days float64, cell string) string {
	at, err := excelize.ExcelDateToTime(days, false)
	if err != nil {
		return cell
	}
	return at.Format(time.RFC3339)
}

// valueOf reads a cell as the contract's field of that name wants it.
func valueOf(of reflect.Type, field, cell string) (any, error) {
	for i := range of.NumField() {
		f := of.Field(i)
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != field {
			continue
		}
		kind := f.Type
		if kind.Kind() == reflect.Pointer {
			kind = kind.Elem()
		}
		switch {
		case kind == reflect.TypeFor[time.Time]():
			return kit.FileTime(field, cell)
		case kind.Kind() == reflect.Float64 || kind.Kind() == reflect.Int64:
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				return nil, fmt.Errorf("%q is not a number; write a decimal point and nothing between thousands", cell)
			}
			return v, nil
		case kind.Kind() == reflect.Bool:
			switch strings.ToLower(cell) {
			case "yes", "true", "1":
				return true, nil
			case "no", "false", "0":
				return false, nil
			}
			return nil, fmt.Errorf("%q is neither yes nor no", cell)
		case kind.Kind() == reflect.Slice:
			return strings.Fields(strings.ReplaceAll(cell, ";", " ")), nil
		}
		return cell, nil
	}
	return nil, errors.New("is not a field of a receipt")
}
