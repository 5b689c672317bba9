package rest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// BenchmarkGetRoll reads one mounted roll through the whole edge, on a data
// file without a network.
func BenchmarkGetRoll(b *testing.B) {
	s := openFile(b)
	s.rolling()
	w := s.take(step{name: "roll", as: port.Viewer, do: "GET /v1/rolls/WF1T", status: 200})
	b.ReportAllocs()
	for b.Loop() {
		r := s.request(port.Viewer, "GET", "/v1/rolls/WF1T", "")
		w.Body.Reset()
		s.service.Handler().ServeHTTP(w, r)
	}
}

// BenchmarkImportPieces sends groups of 500 pieces of two passes each, through
// models, database and all. The figure is pieces a second.
func BenchmarkImportPieces(b *testing.B) {
	s := openFile(b)
	s.rolling()
	begin := s.now
	s.now = s.now.AddDate(0, 6, 0)
	pieces := 0
	for b.Loop() {
		var lines strings.Builder
		for range 500 {
			lines.WriteString(piece(fmt.Sprint("C", pieces), begin.Add(time.Duration(pieces)*time.Second)) + "\n")
			pieces++
		}
		r := s.request(port.Shift, "POST", "/v1/pieces", lines.String())
		r.Header.Set("Content-Type", "application/x-ndjson")
		if w := s.send(r); w.Code != 200 || !strings.Contains(w.Body.String(), `"stored_count":500`) {
			b.Fatalf("%d %s", w.Code, shortened(w.Body.String()))
		}
	}
	b.ReportMetric(float64(pieces)/b.Elapsed().Seconds(), "pieces/s")
}
