package main

import (
	"github.com/prometheus/client_golang/prometheus"

	"cagework/postgres"
)

// poolCollector shows the connection pool to Prometheus.
type poolCollector struct {
	db                                      *postgres.DB
	acquired, idle, most, waits, waitSecond *prometheus.Desc
}

func newPoolCollector(db *postgres.DB) *poolCollector {
	desc := func(name, help string) *prometheus.Desc {
		return prometheus.NewDesc("cagework_db_"+name, help, nil, nil)
	}
	return &poolCollector{db,
		desc("connections_acquired", "Connections in use."),
		desc("connections_idle", "Connections idle."),
		desc("connections_max", "Most connections allowed."),
		desc("acquire_waits_total", "Times that a request waited for a connection."),
		desc("acquire_wait_seconds_total", "Seconds spent in getting a connection."),
	}
}

// Describe names the metrics.
func (p *poolCollector) Describe(ch chan<- *prometheus.Desc) { prometheus.DescribeByCollect(p, ch) }

// Collect reads the pool.
func (p *poolCollector) Collect(ch chan<- prometheus.Metric) {
	s := p.db.Stat()
	gauge := func(d *prometheus.Desc, v float64) {
		ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v)
	}
	count := func(d *prometheus.Desc, v float64) {
		ch <- prometheus.MustNewConstMetric(d, prometheus.CounterValue, v)
	}
	gauge(p.acquired, float64(s.AcquiredConns()))
	gauge(p.idle, float64(s.IdleConns()))
	gauge(p.most, float64(s.MaxConns()))
	count(p.waits, float64(s.EmptyAcquireCount()))
	count(p.waitSecond, s.AcquireDuration().Seconds())
}
