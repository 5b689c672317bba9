package rest

import (
	"database/sql"
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics counts in a registry of its own: two services in one process, as in
// tests, do not add up.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.HistogramVec
	pieces   *prometheus.CounterVec
}

func newMetrics(pool *sql.DB) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "barrelbook_request_seconds", Help: "Requests by operation of the contract and status.",
			Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}}, []string{"operation", "status"}),
		pieces: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "barrelbook_pieces_total", Help: "Piece lines taken in, by what became of them."}, []string{"status"}),
	}
	m.registry.MustRegister(m.requests, m.pieces, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if pool != nil {
		m.registry.MustRegister(collectors.NewDBStatsCollector(pool, "barrelbook"))
	}
	return m
}

// request notes one request. The operation is empty for paths outside the
// contract and for callers who were turned away.
func (m *metrics) request(operation string, status int, took time.Duration) {
	if operation == "" {
		operation = "none"
	}
	m.requests.WithLabelValues(operation, strconv.Itoa(status)).Observe(took.Seconds())
}

func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}
