package embedded_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"barrelbook/testdata/demo"
)

// grindAnswer is what a regrind of the demo was answered.
type grindAnswer struct {
	Roll      string  `json:"roll"`
	Purpose   string  `json:"purpose"`
	StockMM   float64 `json:"stock_mm"`
	AdvisedMM float64 `json:"advised_stock_mm"`
	Campaign  *struct {
		Usage struct {
			Pieces int64 `json:"piece_count"`
			Stated bool  `json:"stated"`
		} `json:"usage"`
	} `json:"campaign"`
}

// takes holds the advice against what the shop of a demo mill took off, for every
// ordinary grind whose campaign is in the books piece by piece. The shop is
// invented and takes what its practice asks with a hand's spread
// (testdata/demo/generate), within the usual stock of the trade; what is held
// here is that the advice counts the same parts from the books.
type takes map[string][]float64 // advised to taken, by class of rolls

// watch passes requests on and notes what regrinds are answered.
func (k takes) watch(do demo.Do) demo.Do {
	return func(ctx context.Context, r demo.Request) (int, string, []byte, error) {
		status, etag, body, err := do(ctx, r)
		if err != nil || status >= 300 || !strings.HasSuffix(r.Path, "/regrinds") {
			return status, etag, body, err
		}
		var a grindAnswer
		if err := json.Unmarshal(body, &a); err != nil {
			return 0, "", nil, err
		}
		if a.Purpose != "incident" && a.Purpose != "crack" && a.Campaign != nil && a.Campaign.Usage.Pieces > 0 && !a.Campaign.Usage.Stated {
			class := a.Roll[:2]
			k[class] = append(k[class], a.AdvisedMM/a.StockMM)
		}
		return status, etag, body, nil
	}
}

// within wants the advice within a fifth of what was taken, in the median.
func (k takes) within(t *testing.T) {
	t.Helper()
	var all []float64
	for class, list := range k {
		all = append(all, list...)
		t.Logf("%s: advised %.2f of what was taken in the median of %d grinds", class, median(list), len(list))
	}
	if len(all) == 0 {
		t.Fatal("no grind of a campaign that is in the books piece by piece")
	}
	if m := median(all); math.Abs(m-1) > 0.20 {
		t.Errorf("advised %.2f of what was taken in the median of %d grinds", m, len(all))
	}
}

func median(list []float64) float64 {
	slices.Sort(list)
	return (list[(len(list)-1)/2] + list[len(list)/2]) / 2
}
