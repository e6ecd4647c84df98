package feeds

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"
	"budswell/climate"
	"budswell/feeds/nudge"
)

// BenchmarkScale has a whole service in one process: it fills a database with made-up
// growers, does a first morning, an hour of polls, and a usual morning a day later with a
// day more of weather, and prints a table. SCALE.md tells what came of it.
//
//	BUDSWELL_SCALE      growers; 30 where not told
//	BUDSWELL_SCALE_DB   database, as store.Open has it, to go on with; else one that is gone afterwards
//	BUDSWELL_SCALE_FOR  stop after such a time, to go on another day
//
// Run it with -benchtime 1x -timeout 0.
func BenchmarkScale(b *testing.B) {
	for b.Loop() {
		r := newScaleRun(b)
		r.fill(b)
		r.morning(b, "first", 0)
		r.polls(b)
		r.morning(b, "usual", 1)
		r.table()
	}
}

// scaleRun is what is measured. What has a name in JSON is kept beside the database,
// for a run in pieces.
type scaleRun struct {
	people *population
	store  calendar.Store
	timed  *timedStore
	server *Server
	clock  *clockwork.FakeClock
	dsn    string
	notes  string // file; empty: none
	until  time.Time

	Pieces        int // in which it was run so far
	Filled, Trees int
	FillSeconds   float64
	Mornings      map[string]*scaleMorning
	Polls         []scalePolls
	Bytes         map[string]int64 // of the database, after each step
}

type scaleMorning struct {
	Growers       int
	Wall, CPU     float64 // s
	Plan, Publish float64 // s, without what the store takes
	Decide, Store float64
	PeakMB        int
	Read, Write   int // calls of the store
}

type scalePolls struct {
	Name           string
	Polls          int
	Wall, CPU      float64 // s
	P50, P99, Most float64 // ms
	Sent           int64   // bytes
	PeakMB         int
}

var scaleStart = time.Date(2027, time.April, 12, 3, 10, 0, 0, time.UTC)

func newScaleRun(b *testing.B) *scaleRun {
	b.Helper()
	must := func(err error) {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
	}
	growers, err := strconv.Atoi(cmp.Or(os.Getenv("BUDSWELL_SCALE"), "30"))
	must(err)
	r := &scaleRun{clock: clockwork.NewFakeClockAt(scaleStart), Mornings: map[string]*scaleMorning{}, Bytes: map[string]int64{}, dsn: os.Getenv("BUDSWELL_SCALE_DB")}
	r.until = time.Now().Add(1000 * time.Hour)
	if most := os.Getenv("BUDSWELL_SCALE_FOR"); most != "" {
		d, err := time.ParseDuration(most)
		must(err)
		r.until = time.Now().Add(d)
	}
	switch {
	case r.dsn != "":
		path, ok := store.Path(r.dsn)
		if !ok {
			path = filepath.Join(os.TempDir(), "budswell-scale")
		}
		r.notes = path + ".json"
		if text, err := os.ReadFile(r.notes); err == nil {
			must(json.Unmarshal(text, r))
		}
	case os.Getenv("BUDSWELL_BED") == "postgres":
		r.dsn = storetest.Postgres(b)
	default:
		r.dsn = "sqlite:" + filepath.Join(b.TempDir(), "scale.db")
	}
	r.Pieces++
	r.keep(b) // a piece that is killed counts: what it held is held for a while
	r.people, err = newPopulation(growers, climate.DateOf(scaleStart))
	must(err)
	st, err := store.Open(b.Context(), r.dsn)
	must(err)
	b.Cleanup(func() { _ = st.Close() })
	r.store, r.timed = st, &timedStore{Store: st}
	r.server, err = New(Config{
		Store: r.timed, Lore: r.people.lore, Base: "https://trees.example", Now: r.clock.Now, Random: rand.Reader,
		Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn})),
	})
	must(err)
	plan := r.server.planner.trees
	r.server.planner.trees = func(l *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
		defer r.timed.planning(time.Now())
		return plan(l, p, shows, trees, on)
	}
	return r
}

func (r *scaleRun) keep(b *testing.B) {
	b.Helper()
	if err := r.note(); err != nil {
		b.Fatal(err)
	}
}

func (r *scaleRun) note() error {
	if r.notes == "" {
		return nil
	}
	text, err := json.MarshalIndent(r, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(r.notes, text, 0o600)
}

// pause ends a piece of a run whose time is over.
func (r *scaleRun) pause(b *testing.B) {
	b.Helper()
	if time.Now().After(r.until) {
		r.keep(b)
		r.table()
		b.Skip("the time is over: run it again to go on")
	}
}

func progress(format string, args ...any) {
	fmt.Printf(time.Now().Format("15:04:05 ")+format+"\n", args...)
}

func (r *scaleRun) fill(b *testing.B) {
	b.Helper()
	for i := r.Filled; i < r.people.growers; i++ {
		began := time.Now()
		if err := r.people.fill(b.Context(), r.store, i); err != nil {
			b.Fatal(err)
		}
		g, err := r.people.of(i)
		if err != nil {
			b.Fatal(err)
		}
		r.Filled, r.Trees = i+1, r.Trees+len(g.trees)
		r.FillSeconds += time.Since(began).Seconds()
		if r.Filled%100 == 0 {
			progress("%d growers, %d trees, filled in %.0f s", r.Filled, r.Trees, r.FillSeconds)
			r.keep(b)
		}
		r.pause(b)
	}
	if r.Bytes["filled"] > 0 {
		return // in an earlier piece
	}
	if err := r.people.clubs(b.Context(), r.store); err != nil {
		b.Fatal(err)
	}
	r.Bytes["filled"] = r.size(b)
}

// size returns the bytes of the database on the disk.
func (r *scaleRun) size(b *testing.B) (n int64) {
	b.Helper()
	if path, ok := store.Path(r.dsn); ok {
		for _, end := range []string{"", "-wal"} {
			if f, err := os.Stat(path + end); err == nil {
				n += f.Size()
			}
		}
		return n
	}
	db, err := sql.Open("pgx", strings.TrimPrefix(r.dsn, "postgres:url:"))
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	err = db.QueryRow("select sum(pg_total_relation_size(oid)) from pg_class where relkind = 'r' and relnamespace = current_schema()::regnamespace").Scan(&n)
	if err != nil {
		b.Fatal(err)
	}
	return n
}

// at is the time of a morning: somewhat later in each piece of a run, so that what an
// earlier piece held when it was killed is free.
func (r *scaleRun) at(day int) time.Time {
	return scaleStart.AddDate(0, 0, day).Add(time.Duration(r.Pieces%15) * 3 * time.Minute)
}

// morning has the scheduler do a morning of all, as in service.
func (r *scaleRun) morning(b *testing.B, name string, day int) {
	b.Helper()
	ctx := b.Context()
	r.clock.Advance(r.at(day).Sub(r.clock.Now()))
	m := r.Mornings[name]
	if m == nil {
		m = &scaleMorning{}
		r.Mornings[name] = m
		if day > 0 {
			for i := range r.people.growers {
				if err := r.people.weather(ctx, r.store, i, climate.DateOf(r.clock.Now()), r.clock.Now()); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
	clear(r.people.sites) // a service has no more in memory than it needs
	due := 0
	for i := range r.people.growers {
		last, err := r.store.LastRun(ctx, "morning "+r.people.id(i)+"/yard")
		if err != nil {
			b.Fatal(err)
		}
		// All zones' mornings and afternoons are at most so long ago.
		if last.IsZero() || r.clock.Now().Sub(last) >= 24*time.Hour {
			due++
		}
	}
	progress("%s morning: %d growers to do", name, due)
	var done atomic.Int32
	finished := make(chan struct{})
	r.timed.reset()
	began, cpu, before := time.Now(), cpuSeconds(), *m
	resetPeak()
	account := func() {
		m.Growers = before.Growers + int(done.Load())
		m.Wall, m.CPU = before.Wall+time.Since(began).Seconds(), before.CPU+cpuSeconds()-cpu
		m.Store = before.Store + r.timed.seconds()
		m.Read, m.Write = before.Read+int(r.timed.reads.Load()), before.Write+int(r.timed.writes.Load())
		m.PeakMB = max(m.PeakMB, peakMB())
	}
	forecast := func(ctx context.Context, id string, come []calendar.Place, now time.Time) error {
		if time.Now().After(r.until) {
			<-ctx.Done() // the next piece goes on here
			return ctx.Err()
		}
		err := r.oneMorning(ctx, id, m)
		n := int(done.Add(1))
		if n%max(10, r.people.growers/50) == 0 {
			account()
			err = errors.Join(err, r.note())
			took := time.Since(began)
			progress("%s morning: %d of %d in %.0f s, %.0f ms each, %.0f s to go", name, n, due, took.Seconds(), 1000*took.Seconds()/float64(n), took.Seconds()/float64(n)*float64(due-n))
		}
		if n == due {
			close(finished)
		}
		return err
	}
	if due > 0 {
		sched, err := nudge.NewScheduler(r.timed, r.clock, forecast, nil, r.server.cfg.Log)
		if err != nil {
			b.Fatal(err)
		}
		sched.Start()
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
	wait:
		for {
			select {
			case <-finished:
				break wait
			case <-tick.C:
				if time.Now().After(r.until) {
					break wait
				}
			}
		}
		if err := sched.Stop(ctx); err != nil {
			progress("a morning was cut off: %v", err) // the next piece does it
		}
	}
	r.Bytes[name] = r.size(b)
	account()
	r.keep(b)
	r.pause(b)
}

// oneMorning is Server.Morning with a clock held to its steps.
func (r *scaleRun) oneMorning(ctx context.Context, id string, m *scaleMorning) error {
	s, now := r.server, r.clock.Now()
	step := func(at *float64, f func() error) error {
		began, stored := time.Now(), r.timed.seconds()
		err := f()
		*at += time.Since(began).Seconds() - (r.timed.seconds() - stored)
		return err
	}
	var g *garden
	planned := r.timed.plans.Load()
	var all float64
	if err := step(&all, func() (err error) {
		g, err = s.gardens.get(id, func(*garden) bool { return false }, func(*garden, bool) (*garden, error) { return s.plan(ctx, id, now) })
		return err
	}); err != nil {
		return err
	}
	// What is not the planner's of it makes the events and tasks.
	plans := time.Duration(r.timed.plans.Load() - planned).Seconds()
	m.Plan += plans
	m.Publish += all - plans
	if err := step(&m.Publish, func() error { _, err := s.publish(ctx, id, true); return err }); err != nil {
		return err
	}
	return step(&m.Decide, func() error { return s.decide(ctx, g, now, false) })
}

// table prints what was measured.
func (r *scaleRun) table() {
	var t bytes.Buffer
	each := func(s float64, n int) float64 { return 1000 * s / float64(max(1, n)) }
	fmt.Fprintf(&t, "%s, %d processors: %d growers, %d trees, %d sites\n", strings.SplitN(r.dsn, ":", 2)[0], runtime.NumCPU(), r.Filled, r.Trees, r.people.siteCount())
	fmt.Fprintf(&t, "fill: %.0f s; database MB:", r.FillSeconds)
	for _, k := range []string{"filled", "first", "usual"} {
		fmt.Fprintf(&t, " %s %.0f", k, float64(r.Bytes[k])/1e6)
	}
	fmt.Fprintf(&t, "\n%-8s %8s %8s %8s | ms a grower: %6s %6s %8s %7s %6s | %7s %7s | %s\n", "morning", "growers", "wall s", "cpu s", "all", "plan", "publish", "decide", "store", "reads", "writes", "peak MB")
	for _, k := range []string{"first", "usual"} {
		if m := r.Mornings[k]; m != nil {
			n := m.Growers
			fmt.Fprintf(&t, "%-8s %8d %8.1f %8.1f | %12s %6.0f %6.0f %8.0f %7.1f %6.0f | %7.1f %7.1f | %d\n", k, n, m.Wall, m.CPU, "", each(m.Wall, n), each(m.Plan, n), each(m.Publish, n), each(m.Decide, n), each(m.Store, n),
				float64(m.Read)/float64(max(1, n)), float64(m.Write)/float64(max(1, n)), m.PeakMB)
		}
	}
	for _, p := range r.Polls {
		fmt.Fprintf(&t, "polls %-22s %7d in %6.1f s, cpu %6.1f s: %6.0f a second; ms p50 %.1f, p99 %.1f, most %.0f; %.0f KB each; peak %d MB\n", p.Name, p.Polls, p.Wall, p.CPU, float64(p.Polls)/p.Wall, p.P50, p.P99, p.Most, float64(p.Sent)/1e3/float64(max(1, p.Polls)), p.PeakMB)
	}
	fmt.Print(t.String())
}

// cpuSeconds is what the process has used of all processors.
func cpuSeconds() float64 {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}

// resetPeak and peakMB have the most memory that was resident; where the machine does not
// tell, that of the whole run, or 0.
func resetPeak() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

func peakMB() int {
	text, _ := os.ReadFile("/proc/self/status")
	for line := range strings.Lines(string(text)) {
		if v, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			n, _ := strconv.Atoi(strings.Fields(v)[0])
			return n / 1024
		}
	}
	return 0
}

// quantile of sorted milliseconds.
func quantileOf(ms []float64, q float64) float64 {
	if len(ms) == 0 {
		return 0
	}
	slices.Sort(ms)
	return ms[min(len(ms)-1, int(q*float64(len(ms))))]
}
