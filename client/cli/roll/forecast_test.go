package roll

import (
	"testing"

	"barrelbook/client/cli/kit/kittest"
)

func TestForecastIsGolden(t *testing.T) {
	for line, golden := range map[string]string{"CW-115": "forecast.txt", "CW-115 --csv": "forecast.csv"} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/CW-115/forecast": kittest.Fixture(t, "forecast.json")}}, "")
		if err := kittest.Run(t, NewCmdForecast(w.Factory, nil), line); err != nil {
			t.Fatal(err)
		}
		kittest.Golden(t, golden, w.Out.String())
	}
}
