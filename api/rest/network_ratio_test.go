package rest_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// BenchmarkNetworkRatio reads a roll over the loopback address with 1, 8 and 32
// clients and prints a table of ratios of requests per second, medians of rounds
// that are interleaved in one run. "Same" is a plain net/http server that sends the
// statements the service sends, raw, and writes as many bytes. "One" is one that
// sends one raw statement for the row of the roll and writes it. The clients run in
// this process and cost all three the same.
//
//	go test ./api/rest -run xxx -bench NetworkRatio -benchtime 1x
func BenchmarkNetworkRatio(b *testing.B) {
	overNetwork(b, func(b *testing.B, n *network) {
		n.works()
		n.receive("W100", 100)
		path := "/v1/rolls/W100"
		body := n.call("GET", n.url+path, "", nil, 200)
		mux := http.NewServeMux()
		mux.HandleFunc("GET /same/{roll}", func(w http.ResponseWriter, r *http.Request) { n.sameRead(w, r, body) })
		mux.HandleFunc("GET /one/{roll}", n.oneRead)
		bare := httptest.NewServer(mux)
		b.Cleanup(bare.Close)
		targets := []target{{"barrelbook", n.url + path}, {"same", bare.URL + "/same/W100"}, {"one", bare.URL + "/one/W100"}}
		table := "read a roll, " + n.driver + "\n"
		for _, clients := range []int{1, 8, 32} {
			rates := interleaved(b, targets, n.tokens[port.Viewer], clients)
			b.ReportMetric(rates[0]/rates[1], fmt.Sprintf("of-same-%d", clients))
			b.ReportMetric(rates[0]/rates[2], fmt.Sprintf("of-one-%d", clients))
			table += fmt.Sprintf("%3d clients: %6.0f a second, %.2f of same, %.2f of one\n", clients, rates[0], rates[0]/rates[1], rates[0]/rates[2])
		}
		b.Log(table)
	})
}

type target struct{ name, url string }

// interleaved gives the median rate of each target, in requests per second.
func interleaved(b *testing.B, targets []target, secret string, clients int) []float64 {
	const rounds, each = 7, 250 * time.Millisecond
	transport := &http.Transport{MaxIdleConnsPerHost: clients}
	defer transport.CloseIdleConnections()
	rates := make([][]float64, len(targets))
	for round := range rounds + 1 {
		for i := range targets {
			t := (i + round) % len(targets)
			rate := load(b, transport, targets[t].url, secret, clients, each)
			if round > 0 { // the first one warms up
				rates[t] = append(rates[t], rate)
			}
		}
	}
	medians := make([]float64, len(targets))
	for i := range rates {
		slices.Sort(rates[i])
		medians[i] = rates[i][len(rates[i])/2]
	}
	return medians
}

// load sends requests from clients for a time.
func load(b *testing.B, transport *http.Transport, url, secret string, clients int, each time.Duration) float64 {
	b.Helper()
	var done atomic.Int64
	var all sync.WaitGroup
	begun := time.Now()
	for range clients {
		all.Go(func() {
			for time.Since(begun) < each {
				r, err := http.NewRequest(http.MethodGet, url, nil)
				if err != nil {
					b.Error(err)
					return
				}
				r.Header.Set("Authorization", "Bearer "+secret)
				resp, err := transport.RoundTrip(r)
				if err != nil {
					b.Error(err)
					return
				}
				_, err = io.Copy(io.Discard, resp.Body)
				if _ = resp.Body.Close(); err != nil || resp.StatusCode != 200 {
					b.Errorf("%s: %d, %v", url, resp.StatusCode, err)
					return
				}
				done.Add(1)
			}
		})
	}
	all.Wait()
	return float64(done.Load()) / time.Since(begun).Seconds()
}

// sameRead asks for the seals of the roll and its fatigue, as the service does.
func (n *network) sameRead(w http.ResponseWriter, r *http.Request, body []byte) {
	digest := "hex(digest)"
	if n.driver == "pgx" {
		digest = "CAST(digest AS TEXT)"
	}
	seal := func(k int) string {
		return fmt.Sprintf(", coalesce((SELECT %s FROM seals WHERE source = $%d AND shard = $%d AND lane = 0), '')", digest, k, k+1)
	}
	statement := "SELECT CAST(revision AS TEXT)" + seal(1) + seal(3) + " FROM revisions WHERE name = 'settings'"
	var texts [3]string
	number := r.PathValue("roll")
	err := n.raw.QueryRowContext(r.Context(), statement, "roll_states", number, "roll_damage", number).Scan(&texts[0], &texts[1], &texts[2])
	if err != nil || strings.Join(texts[:], "|") == "" {
		http.Error(w, fmt.Sprint(err), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(body)
}

func (n *network) oneRead(w http.ResponseWriter, r *http.Request) {
	var state, totals string
	var version int64
	err := n.raw.QueryRowContext(r.Context(), "SELECT version, state, totals FROM roll_states WHERE number = $1", r.PathValue("roll")).Scan(&version, &state, &totals)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(map[string]any{"version": version, "state": json.RawMessage(state), "totals": json.RawMessage(totals)})
}
