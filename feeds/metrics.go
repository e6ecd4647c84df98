package feeds

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/labstack/echo-contrib/echoprometheus"
	"github.com/labstack/echo/v4"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/nudge"
)

// metrics count what the service does, for Prometheus. No label holds anything
// of a person, a secret, or what a stranger can choose at will.
type metrics struct {
	registry *prometheus.Registry
	requests echo.MiddlewareFunc
	feeds    *prometheus.CounterVec
	plans    prometheus.Histogram
	jobs     *prometheus.HistogramVec
	refused  prometheus.Counter
}

// Of what is measured, names say the unit; all begin with budswell_.
const metricsOf = "budswell"

func newMetrics(store calendar.Store, now func() time.Time) (*metrics, error) {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		feeds: prometheus.NewCounterVec(prometheus.CounterOpts{
			Namespace: metricsOf, Name: "feed_answers_total",
			Help: "Answers to calendar programs: unchanged (304, nothing sent), sent, or by the status of the failure.",
		}, []string{"how"}),
		plans: prometheus.NewHistogram(prometheus.HistogramOpts{
			Namespace: metricsOf, Name: "plan_seconds", Help: "How long making a plan took.",
			Buckets: []float64{.01, .05, .1, .5, 1, 5, 10, 30},
		}),
		jobs: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Namespace: metricsOf, Name: "job_seconds", Help: "How long a job took, for one place.",
			Buckets: []float64{.01, .05, .1, .5, 1, 5, 10, 30, 60, 300},
		}, []string{"job", "outcome"}),
		refused: prometheus.NewCounter(prometheus.CounterOpts{
			Namespace: metricsOf, Name: "secrets_refused_total", Help: "Passwords that were wrong, or not tried because too many were.",
		}),
	}
	m.registry.MustRegister(m.feeds, m.plans, m.jobs, m.refused, &stored{store, now},
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	var err error
	m.requests, err = echoprometheus.MiddlewareConfig{
		Namespace: metricsOf, Subsystem: "http", Registerer: m.registry, DoNotUseRequestPathFor404: true,
		StatusCodeResolver: func(c echo.Context, _ error) int { return c.Response().Status },
		LabelFuncs: map[string]echoprometheus.LabelValueFunc{
			"host": func(echo.Context, error) string { return "" },
			"method": func(c echo.Context, _ error) string {
				if method := c.Request().Method; slices.Contains([]string{"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PROPFIND", "REPORT"}, method) {
					return method
				}
				return "other"
			},
		},
		AfterNext: func(c echo.Context, _ error) {
			if c.Path() != feedRoute && c.Path() != taskRoute {
				return
			}
			switch status := c.Response().Status; status {
			case http.StatusOK:
				m.feeds.WithLabelValues("sent").Inc()
			case http.StatusNotModified:
				m.feeds.WithLabelValues("unchanged").Inc()
			default:
				m.feeds.WithLabelValues(strconv.Itoa(status)).Inc()
			}
		},
	}.ToMiddleware()
	return m, err
}

// Metrics returns what Prometheus reads. It is for an address of its own, which
// only the keeper reaches.
func (s *Server) Metrics() http.Handler {
	return promhttp.HandlerFor(s.metrics.registry, promhttp.HandlerOpts{
		MaxRequestsInFlight: 2, Timeout: workTime, ErrorHandling: promhttp.ContinueOnError,
	})
}

// Timed measures a job.
func (s *Server) Timed(job string, f nudge.Forecast) nudge.Forecast {
	return func(ctx context.Context, grower string, come []calendar.Place, now time.Time) error {
		began := s.cfg.Now()
		err := f(ctx, grower, come, now)
		outcome := "done"
		if err != nil {
			outcome = "failed"
		}
		s.metrics.jobs.WithLabelValues(job, outcome).Observe(s.cfg.Now().Sub(began).Seconds())
		return err
	}
}

// timed measures how long plans take.
func (s *Server) timed(p planner) planner {
	measure := func() func() {
		began := s.cfg.Now()
		return func() { s.metrics.plans.Observe(s.cfg.Now().Sub(began).Seconds()) }
	}
	return planner{
		trees: func(l *calendar.Lore, at *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
			defer measure()()
			return p.trees(l, at, shows, trees, on)
		},
		groups: func(l *calendar.Lore, r *calendar.Region, on climate.Date) (*calendar.RegionPlan, error) {
			defer measure()()
			return p.groups(l, r, on)
		},
	}
}

// stored reads what the store tells whenever Prometheus asks.
type stored struct {
	store calendar.Store
	now   func() time.Time
}

var (
	outboxDepth = prometheus.NewDesc(metricsOf+"_outbox_waiting", "Nudges that are to be mailed and are not yet.", nil, nil)
	weatherAge  = prometheus.NewDesc(metricsOf+"_weather_age_days", "Days since the last day of the oldest record among the places that have one.", nil, nil)
	weatherOf   = prometheus.NewDesc(metricsOf+"_weather_records", "Places that have a record of weather.", nil, nil)
	storeUp     = prometheus.NewDesc(metricsOf+"_store_up", "1 where the store can be used, else 0.", nil, nil)
)

// Describe implements prometheus.Collector.
func (s *stored) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{outboxDepth, weatherAge, weatherOf, storeUp} {
		ch <- d
	}
}

// Collect implements prometheus.Collector.
func (s *stored) Collect(ch chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), readTime)
	defer cancel()
	gauge := func(d *prometheus.Desc, v float64) {
		ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v)
	}
	if err := s.store.Ready(ctx); err != nil {
		gauge(storeUp, 0)
		return
	}
	gauge(storeUp, 1)
	if n, err := s.store.Waiting(ctx, s.now()); err == nil {
		gauge(outboxDepth, float64(n))
	}
	if until, err := s.store.WeatherUntil(ctx); err == nil {
		gauge(weatherOf, float64(len(until)))
		if len(until) > 0 {
			gauge(weatherAge, float64(climate.DateOf(s.now().UTC())-slices.Min(until)))
		}
	}
}
