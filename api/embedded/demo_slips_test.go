package embedded_test

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"barrelbook/testdata/demo"
)

var slipCount = flag.Int("slips", 1, "slips of each sort to try on each figure of a demo's last regrinds")

const (
	lastRegrinds = 50
	largeSlipMM  = 0.5
)

// slips tries what a tired hand types on the last regrinds of a demo mill, each
// in a dry run just before it is recorded: one digit changed, two changed over,
// one dropped, in the diameter found and in the one ground. The true figures are
// sent without an answer first.
type slips struct {
	t       *testing.T
	random  *rand.Rand
	from    int // the first regrind that counts
	seen    int
	figures int // true ones of the last regrinds
	asked   []string
	tried   int // slips of half a millimetre and more
	passed  []string
}

// slipsOf counts the regrinds of a mill first, so that it knows the last.
func slipsOf(t *testing.T, mill string) *slips {
	t.Helper()
	count := 0
	_, err := demo.Load(t.Context(), func(_ context.Context, r demo.Request) (int, string, []byte, error) {
		if strings.HasSuffix(r.Path, "/regrinds") {
			count++
		}
		return http.StatusCreated, "", fmt.Appendf(nil, `{"stored_count":%d}`, bytes.Count(r.Body, []byte("\n"))), nil
	}, demo.Options{Mill: mill, Now: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	return &slips{t: t, random: rand.New(rand.NewPCG(7, uint64(count))), from: count - lastRegrinds}
}

// watch passes requests on and tries slips on the last regrinds before them.
func (s *slips) watch(do demo.Do) demo.Do {
	return func(ctx context.Context, r demo.Request) (int, string, []byte, error) {
		if strings.HasSuffix(r.Path, "/regrinds") && !bytes.Contains(r.Body, []byte(`"confirmed"`)) {
			if s.seen++; s.seen > s.from {
				s.try(ctx, do, r)
			}
		}
		return do(ctx, r)
	}
}

func (s *slips) try(ctx context.Context, do demo.Do, r demo.Request) {
	if (s.seen-s.from)%10 == 1 { // as the daemon learns each hour
		_, _, _, _ = do(ctx, demo.Request{Method: http.MethodGet, Path: "/v1/wear-rates"})
	}
	r.Path += "?dry_run=true"
	s.figures++
	if asked, status, _ := s.send(ctx, do, r, r.Body); status != http.StatusCreated {
		s.asked = append(s.asked, asked)
	}
	var body map[string]any
	if err := json.Unmarshal(r.Body, &body); err != nil {
		s.t.Fatal(err)
	}
	for _, field := range []string{"found_mm", "ground_mm"} {
		figure, _ := body[field].(float64)
		text := strconv.FormatFloat(figure, 'f', 3, 64)
		for _, slip := range []func(string) string{s.changed, s.exchanged, s.dropped} {
			for range *slipCount {
				typed := slip(text)
				mm, err := strconv.ParseFloat(typed, 64)
				if err != nil || math.Abs(mm-figure) < largeSlipMM-1e-9 {
					continue
				}
				wrong := maps.Clone(body)
				wrong[field] = mm
				raw, err := json.Marshal(wrong)
				if err != nil {
					s.t.Fatal(err)
				}
				s.tried++
				if _, status, answer := s.send(ctx, do, r, raw); status == http.StatusCreated {
					s.passed = append(s.passed, fmt.Sprintf("%s %s %s for %s: %s", r.Path, field, typed, text, answer[:min(200, len(answer))]))
				}
			}
		}
	}
}

// needless is the share of true figures that may be asked about.
const needless = 0.01

// held says what was tried, and wants no more of the slips to have passed than a
// share. Where the stock is millimetres, as of grooves and of cogging rolls, half
// of one does not stand out on the first roll of a set. Of few figures one may be
// asked about in vain.
func (s *slips) held(mill string, share float64) {
	s.t.Helper()
	s.t.Logf("%s: %d of %d slips of %g mm and more passed, and %d of %d true figures were asked about", mill, len(s.passed), s.tried, largeSlipMM, len(s.asked), s.figures)
	if s.tried == 0 || float64(len(s.passed)) > share*float64(s.tried) {
		s.t.Errorf("%s: %d of %d slips passed:\n%s", mill, len(s.passed), s.tried, strings.Join(s.passed, "\n"))
	}
	if n := len(s.asked); n > 1 && float64(n) > needless*float64(s.figures) {
		s.t.Errorf("%s: %d of %d true figures were asked about:\n%s", mill, n, s.figures, strings.Join(s.asked, "\n"))
	}
}

func (s *slips) add(other *slips) {
	s.figures, s.tried = s.figures+other.figures, s.tried+other.tried
	s.asked, s.passed = append(s.asked, other.asked...), append(s.passed, other.passed...)
}

// send gives the questions that a request is asked.
func (s *slips) send(ctx context.Context, do demo.Do, r demo.Request, body []byte) (asked string, status int, answer []byte) {
	r.Body = body
	status, _, answer, err := do(ctx, r)
	if err != nil || status >= 500 {
		s.t.Fatalf("%s: %d %v %s", r.Path, status, err, answer)
	}
	var problem struct {
		Questions []struct {
			Question string `json:"question"`
			Says     string `json:"says"`
		} `json:"questions"`
	}
	if err := json.Unmarshal(answer, &problem); err != nil {
		s.t.Fatal(err)
	}
	for _, q := range problem.Questions {
		asked += q.Question + ": " + q.Says + "; "
	}
	return asked, status, answer
}

// digits are the places of the digits of a figure.
func digits(text string) (places []int) {
	for i := range text {
		if text[i] != '.' {
			places = append(places, i)
		}
	}
	return places
}

func (s *slips) place(text string) int { d := digits(text); return d[s.random.IntN(len(d))] }

func (s *slips) changed(text string) string {
	b, i := []byte(text), s.place(text)
	b[i] = '0' + byte((int(b[i]-'0')+1+s.random.IntN(9))%10)
	return string(b)
}

func (s *slips) exchanged(text string) string {
	b, d := []byte(text), digits(text)
	i := s.random.IntN(len(d) - 1)
	b[d[i]], b[d[i+1]] = b[d[i+1]], b[d[i]]
	return string(b)
}

func (s *slips) dropped(text string) string {
	i := s.place(text)
	return string(slices.Delete([]byte(text), i, i+1))
}
