package api

import (
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"cagework/domain"
)

// Metrics counts requests for Prometheus. Its labels are the route's pattern, the method and the status: never a
// path, an id or a name. A nil Metrics counts nothing.
type Metrics struct {
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	inFlight prometheus.Gauge
	sheds    *prometheus.CounterVec
}

// NewMetrics registers the api's metrics. The buckets are OpenTelemetry's for HTTP server durations.
func NewMetrics(r prometheus.Registerer) *Metrics {
	m := &Metrics{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "cagework_http_requests_total",
			Help: "Requests answered."}, []string{"route", "method", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "cagework_http_request_duration_seconds",
			Help:    "Time from request to answer.",
			Buckets: []float64{.005, .01, .025, .05, .075, .1, .25, .5, .75, 1, 2.5, 5, 7.5, 10},
		}, []string{"route", "method"}),
		inFlight: prometheus.NewGauge(prometheus.GaugeOpts{Name: "cagework_http_requests_in_flight",
			Help: "Requests being answered."}),
		sheds: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "cagework_http_requests_shed_total",
			Help: "Requests turned away because there was too much of something at once."}, []string{"reason"}),
	}
	for _, why := range domain.Sheds {
		m.sheds.WithLabelValues(string(why)) // a counter that is not there looks like one that nobody reads
	}
	r.MustRegister(m.requests, m.seconds, m.inFlight, m.sheds)
	return m
}

var knownMethods = []string{http.MethodGet, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete}

func (m *Metrics) begin() {
	if m != nil {
		m.inFlight.Inc()
	}
}

func (m *Metrics) end(route, method string, status int, took time.Duration) {
	if m == nil {
		return
	}
	if !slices.Contains(knownMethods, method) {
		method = "_OTHER" // a caller could invent any number of them
	}
	m.inFlight.Dec()
	m.requests.WithLabelValues(route, method, strconv.Itoa(status)).Inc()
	m.seconds.WithLabelValues(route, method).Observe(took.Seconds())
}

func (m *Metrics) shed(why domain.Shed) {
	if m != nil && why != "" {
		m.sheds.WithLabelValues(string(why)).Inc()
	}
}
