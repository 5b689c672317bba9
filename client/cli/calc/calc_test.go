package calc

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
)

const in = `{"anything": [1, 2.50]}`

// Every model sends its input untouched to its own path, from a file and from
// a pipe, and prints with --json what came, untouched.
func TestModelsPassThrough(t *testing.T) {
	const out = `{"model":"m v1","peak_pressure_mpa":1234.5678901}`
	file := filepath.Join(t.TempDir(), "in.json")
	if err := os.WriteFile(file, []byte(in), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, m := range models {
		for _, name := range []string{file, "-", ""} {
			answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/calculations/" + m.name: out}}
			w := kittest.New(t, answers, in)
			w.JSON = true
			if err := kittest.Run(t, NewCmd(w.Factory), m.name+" "+name); err != nil {
				t.Fatal(err)
			}
			if answers.Sent[0] != in || w.Out.String() != out+"\n" {
				t.Errorf("%s %s: sent %s, printed %s", m.name, name, answers.Sent[0], w.Out)
			}
		}
	}
}

func TestWearRateFromCSV(t *testing.T) {
	for name, csv := range map[string]string{
		"as written":    "roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,hss,F1,41.25,9.5,180\n",
		"another order": "wear_um, roll, specific_force_kn_per_mm, grade, rolled_km, stand\n180, R1, 9.5, hss, 41.25, F1\n",
		"empty rows":    "roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,hss,F1,41.25,9.5,180\n\n,,,,,\n",
		"a mark first":  "\ufeffroll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\r\nR1,hss,F1,41.25,9.5,180\r\n",
	} {
		got, err := campaignsFromCSV([]byte(csv))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := `{"campaigns":[{"grade":"hss","roll":"R1","rolled_km":41.25,"specific_force_kn_per_mm":9.5,"stand":"F1","wear_um":180}]}`
		if string(got) != want {
			t.Errorf("%s: got %s, want %s", name, got, want)
		}
	}
	for csv, wrong := range map[string]string{
		"": "first line must be",
		"roll,grade,stand,rolled_km,wear_um\nR1,hss,F1,41.25,180\n":                                     "specific_force_kn_per_mm is missing",
		"roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um,note\nR1,hss,F1,41.25,9.5,180,n\n": `no heading "note"`,
		"roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,hss,F1,41.25,9.5,deep\n":       `line 2: wear_um "deep" is no number`,
		"roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,hss,F1,NaN,9.5,1\n":            `line 2: rolled_km "NaN"`,
		"roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,hss,F1,41.25\n":                "line 2: has 4 cells",
		"roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\n\nR1,hss,F1,41,25,9.5,180\n":      "line 3: has 7 cells where the headings are 6; a decimal comma",
		"roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,hss,F1,\"41,25\",9.5,180\n":    "write a decimal point",
		"roll;grade;stand;rolled_km;specific_force_kn_per_mm;wear_um\nR1;hss;F1;41,25;9.5;180\n":        "not separated by commas",
		"roll,roll,grade,stand,rolled_km,specific_force_kn_per_mm,wear_um\nR1,R2,hss,F1,4,9.5,180\n":    "heading roll is there twice",
		"\xff\xfer\x00o\x00": "not UTF-8",
	} {
		if got, err := campaignsFromCSV([]byte(csv)); err == nil || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %s, %v; want %q", csv, got, err, wrong)
		}
	}
}

func TestOnlyWearRateTakesCSV(t *testing.T) {
	answers := &kittest.Answers{T: t}
	w := kittest.New(t, answers, "a,b\n")
	if err := kittest.Run(t, NewCmd(w.Factory), "contact -"); err == nil || !strings.Contains(err.Error(), "holds no JSON") || len(answers.Sent) > 0 {
		t.Errorf("got %v, sent %v", err, answers.Sent)
	}
}

func TestNobodyTypesAFile(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t}, "")
	w.Term.SetTTY(true, true, true)
	var usage *kit.UsageError
	if err := kittest.Run(t, NewCmd(w.Factory), "contact"); !errors.As(err, &usage) {
		t.Errorf("got %v", err)
	}
}

func TestResultsForPeopleAreGolden(t *testing.T) {
	asked := map[string]string{"cooling": `{"diameter_mm":700,"minutes":[0,60,600]}`, "weibull": `{"survival_at":[{"age":100,"further":50},{"age":0,"further":20}]}`}
	for name, raw := range map[string]string{
		"contact":     `{"model":"hertz v1","half_width_mm":3.012345678,"peak_pressure_mpa":2113.4567,"approach_mm":0.21}`,
		"roll-load":   `{"model":"m","mean_line_load_n_per_mm":9000,"stations":{"x_mm":[-100,0,100],"line_load_n_per_mm":[8000,10000,8000.5]},"iterations":7,"warnings":["the ends part"]}`,
		"cooling":     `{"model":"m","mean_c":[70,60.5,40],"surface_c":[50,45,30],"time_constant_min":301.5}`,
		"weibull":     `{"model":"m","notes":["said last"],"scale":606.5,"survival":[0.95,0.99]}`,
		"wear-rate":   `{"model":"m","cells":[{"between_roll_sd":0.4,"grade":"hss","noise_um":9,"rate_um_per_km":3.21,"source":"cell","stand":"F1"}],"notes":["said last"],"rolls":[],"predictions":[{"roll":"R1","wear_um":120,"low90_um":90,"high90_um":150,"source":"cell"},{"roll":"R2","wear_um":121,"low90_um":91,"high90_um":151}]}`,
		"roll-life":   `{"model":"m","campaigns":{"p10":20,"p50":25,"p90":31,"mean":25.2},"notes":["wear and tonnes are taken as independent"]}`,
		"change-plan": `{"model":"m","feasible":true,"cost":1234567.5,"optimal":true,"gap":0,"stops":[{"before_piece":12,"stands":["F1","F3"]},{"before_piece":40,"stands":["F2"]}]}`,
	} {
		w := kittest.New(t, nil, "")
		if err := printResult(w.Term, json.RawMessage(asked[name]), json.RawMessage(raw)); err != nil {
			t.Fatal(err)
		}
		kittest.Golden(t, name+".txt", w.Out.String())
	}
}
