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

func newMetrics(pools func() map[string]sql.DBStats) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "barrelbook_request_seconds", Help: "Requests by operation of the contract and status.",
			Buckets: []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}}, []string{"operation", "status"}),
		pieces: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "barrelbook_pieces_total", Help: "Piece lines taken in, by what became of them."}, []string{"status"}),
	}
	m.registry.MustRegister(m.requests, m.pieces, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	if pools != nil {
		m.registry.MustRegister(poolStats{pools})
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

// poolStats reports the pools of database connections when asked.
type poolStats struct {
	pools func() map[string]sql.DBStats
}

var (
	poolOpen    = prometheus.NewDesc("barrelbook_database_connections", "Open connections to the database.", []string{"pool"}, nil)
	poolInUse   = prometheus.NewDesc("barrelbook_database_connections_in_use", "Connections in use.", []string{"pool"}, nil)
	poolWaits   = prometheus.NewDesc("barrelbook_database_waits_total", "Times a connection had to be waited for.", []string{"pool"}, nil)
	poolWaiting = prometheus.NewDesc("barrelbook_database_wait_seconds_total", "Time spent waiting for a connection.", []string{"pool"}, nil)
)

// Describe implements prometheus.Collector.
func (poolStats) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{poolOpen, poolInUse, poolWaits, poolWaiting} {
		out <- d
	}
}

// Collect implements prometheus.Collector.
func (p poolStats) Collect(out chan<- prometheus.Metric) {
	for name, s := range p.pools() {
		out <- prometheus.MustNewConstMetric(poolOpen, prometheus.GaugeValue, float64(s.OpenConnections), name)
		out <- prometheus.MustNewConstMetric(poolInUse, prometheus.GaugeValue, float64(s.InUse), name)
		out <- prometheus.MustNewConstMetric(poolWaits, prometheus.CounterValue, float64(s.WaitCount), name)
		out <- prometheus.MustNewConstMetric(poolWaiting, prometheus.CounterValue, s.WaitDuration.Seconds(), name)
	}
}
