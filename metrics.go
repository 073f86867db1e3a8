package main

import (
	"context"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/lease"
	"kitbell/bot/store"
)

// metrics are what an operator watches. They hold numbers only: no words, no
// people.
type metrics struct {
	registry *prometheus.Registry
	platform *prometheus.CounterVec
	answers  *prometheus.CounterVec
	lag      prometheus.Histogram
	gaveUp   *prometheus.CounterVec
	backups  *prometheus.CounterVec
	backup   prometheus.Gauge
	leases   *prometheus.CounterVec
	takeover *prometheus.CounterVec
	clock    bot.Clock
}

func newMetrics(clock bot.Clock) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(), clock: clock,
		platform: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "kitbell_platform_total", Help: "What happened on a platform: event, reconnect, rate-limit, refused, lost-ack.",
		}, []string{"platform", "what"}),
		answers: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "kitbell_events_handled_total", Help: "Events worked through, by how that ended.",
		}, []string{"platform", "outcome"}),
		lag: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "kitbell_answer_seconds", Help: "From an event's time on its platform until its answer was durable.",
			Buckets: []float64{0.005, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 3, 10, 60},
		}),
		gaveUp: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "kitbell_messages_given_up_total", Help: "Messages that will not be tried again and may not have arrived.",
		}, []string{"platform", "state"}),
		backups: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "kitbell_backups_total", Help: "Scheduled backups, by whether they were made or failed.",
		}, []string{"outcome"}),
		backup: prometheus.NewGauge(prometheus.GaugeOpts{
			Name: "kitbell_backup_last_timestamp_seconds", Help: "When this process made its last scheduled backup, in Unix time; 0 for none yet.",
		}),
		leases: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "kitbell_leases_total", Help: "Leases that this process has taken, and those it lost before it gave them back.",
		}, []string{"kind", "what"}),
		takeover: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "kitbell_taken_over_total", Help: "Work that this process took over from another: schedule, gateway, message.",
		}, []string{"what"}),
	}
	m.registry.MustRegister(m.platform, m.answers, m.lag, m.gaveUp, m.backups, m.backup, m.leases, m.takeover, collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// watch adds what is read from the store whenever it is asked for.
func (m *metrics) watch(db *store.DB) {
	backlog := func() (int, time.Time) {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		defer cancel()
		waiting, oldest, err := db.Backlog(ctx)
		if err != nil {
			return -1, time.Time{}
		}
		return waiting, oldest
	}
	m.registry.MustRegister(
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "kitbell_outbox_messages", Help: "Messages that wait to be sent; -1 when nobody can tell."},
			func() float64 { waiting, _ := backlog(); return float64(waiting) }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "kitbell_outbox_oldest_seconds", Help: "Age of the oldest message that waits."},
			func() float64 {
				_, oldest := backlog()
				if oldest.IsZero() {
					return 0
				}
				return max(0, m.clock.Now().Sub(oldest).Seconds())
			}),
	)
}

// watchLeases adds how many leases of each kind are held.
func (m *metrics) watchLeases(k *lease.Keeper) {
	for _, kind := range []string{lease.Kind(talkLease), "lane", scheduleLease, lease.Kind(gatewayLease)} {
		m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{
			Name: "kitbell_leases_held", Help: "Leases that this process has now: conversations, lanes, the schedule, gateways.",
			ConstLabels: prometheus.Labels{"kind": kind},
		}, func() float64 { return float64(k.Count()[kind]) }))
	}
}

// leased hears of each lease that was taken or lost.
func (m *metrics) leased(kind, what string) { m.leases.WithLabelValues(kind, what).Inc() }

// tookOver hears of each thing that another process had before.
func (m *metrics) tookOver(what string) { m.takeover.WithLabelValues(what).Inc() }

func (m *metrics) count(platform, what string) { m.platform.WithLabelValues(platform, what).Inc() }

// handled hears of each event that was worked through.
func (m *metrics) handled(e bot.Event, _ command.Outcome, err error) {
	outcome := "answered"
	if err != nil {
		outcome = "set-aside"
	}
	m.answers.WithLabelValues(e.Where.Platform, outcome).Inc()
	m.lag.Observe(max(0, m.clock.Now().Sub(e.At).Seconds()))
}

// backedUp hears how each scheduled backup went.
func (m *metrics) backedUp(made bool, at time.Time) {
	if !made {
		m.backups.WithLabelValues("failed").Inc()
		return
	}
	m.backups.WithLabelValues("made").Inc()
	m.backup.Set(float64(at.Unix()))
}

func (m *metrics) givenUp(item deliver.Item, o deliver.Outcome) {
	m.gaveUp.WithLabelValues(item.Message.To.Platform, string(o.State)).Inc()
}
