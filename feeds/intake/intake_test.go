package intake

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"
	"budswell/climate"
	"budswell/climate/source"
)

var morning = time.Date(2026, 3, 20, 7, 0, 0, 0, time.UTC)

// fake is a provider that answers as it is told.
type fake struct {
	pause time.Duration
	back  int
	asked []climate.Ask
	fetch func(a climate.Ask) (*climate.Answer, error)
}

func (*fake) Credit() (string, string) { return "made for tests", "" }
func (f *fake) Pause() time.Duration   { return f.pause }
func (f *fake) Back() int              { return f.back }
func (f *fake) Fetch(_ context.Context, a climate.Ask) (*climate.Answer, error) {
	f.asked = append(f.asked, a)
	return f.fetch(a)
}

type rig struct {
	*Intake
	t         *testing.T
	providers map[string]climate.Provider // by kind
	now       time.Time
}

// newRig has a place with the sources given.
func newRig(t *testing.T, kinds ...string) *rig {
	t.Helper()
	ctx := context.Background()
	db, err := store.Open(ctx, storetest.Anywhere(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	r := &rig{t: t, providers: map[string]climate.Provider{}, now: morning}
	r.Intake = &Intake{
		Store: db, Chance: func() float64 { return 0.5 }, Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Clock: clockwork.NewFakeClockAt(morning),
		Provider: func(w calendar.WeatherSource) (climate.Provider, error) {
			p, ok := r.providers[w.Kind]
			if !ok {
				return nil, fmt.Errorf("no provider of %s", w.Kind)
			}
			return p, nil
		},
	}
	r.must(db.PutGrower(ctx, calendar.Grower{ID: "g", Name: "G"}))
	r.must(db.PutPlace(ctx, calendar.Place{ID: "p", Grower: "g", Site: climate.Site{Name: "s", Lat: 47, Lon: 8, Elevation: 500, Zone: "Europe/Zurich"}}))
	var sources []calendar.WeatherSource
	for _, k := range kinds {
		sources = append(sources, calendar.WeatherSource{Kind: k, At: "x"})
	}
	r.must(db.PutWeatherSources(ctx, "g", "p", sources))
	return r
}

func (r *rig) must(err error) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
}

// refresh refreshes after so long and returns the state of a source.
func (r *rig) refresh(after time.Duration, kind string) calendar.SourceState {
	r.t.Helper()
	r.now = r.now.Add(after)
	r.must(r.Refresh(context.Background(), r.now))
	return r.state(kind)
}

func (r *rig) state(kind string) calendar.SourceState {
	r.t.Helper()
	all, err := r.Store.WeatherSources(context.Background())
	r.must(err)
	for _, w := range all {
		if w.Kind == kind {
			return w.State
		}
	}
	r.t.Fatalf("no source of kind %s", kind)
	return calendar.SourceState{}
}

func (r *rig) changes() int {
	r.t.Helper()
	n, err := r.Store.Changes(context.Background(), "g")
	r.must(err)
	return n
}

func days(kind climate.Kind, first, last climate.Date) []climate.Series {
	s := climate.Series{Source: "x", Kind: kind}
	for d := first; d <= last; d++ {
		s.Readings = append(s.Readings, climate.Reading{On: d, Tmin: 1, Tmax: 2, Got: morning})
	}
	return []climate.Series{s}
}

// An archive is asked for the last year at first, then for the years before it
// piece by piece, and, when all is had, for what is new.
func TestHistoryComesPieceByPiece(t *testing.T) {
	r := newRig(t, calendar.SourceOpenMeteo)
	today := climate.DateOf(morning)
	p := &fake{pause: 6 * time.Hour, back: 3, fetch: func(a climate.Ask) (*climate.Answer, error) {
		return &climate.Answer{Series: days(climate.Analysis, a.First, min(a.Last, today-6))}, nil // it lags, as archives do
	}}
	r.providers[calendar.SourceOpenMeteo] = p
	s := r.refresh(0, calendar.SourceOpenMeteo)
	if len(p.asked) != 1 || p.asked[0].First != today-366 || p.asked[0].Last != today-1 || !p.asked[0].Ahead {
		t.Fatalf("asked %+v", p.asked)
	}
	// The next piece in an hour, and half of ten minutes by chance.
	if s.NotYet.Sub(morning) != time.Hour+5*time.Minute || !s.Got.Equal(morning) {
		t.Errorf("state %+v", s)
	}
	if r.refresh(time.Hour, calendar.SourceOpenMeteo); len(p.asked) != 1 {
		t.Error("asked before its time")
	}
	s = r.refresh(5*time.Minute, calendar.SourceOpenMeteo)
	if len(p.asked) != 3 || p.asked[1].First != today-15 || p.asked[2].First != today-2*366 || p.asked[2].Last != today-367 || p.asked[2].Ahead {
		t.Fatalf("asked %+v", p.asked[1:])
	}
	for range 4 {
		s = r.refresh(2*time.Hour, calendar.SourceOpenMeteo)
	}
	oldest := climate.NewDate(2023, 3, 20)
	if s.Digest != oldest.String() || s.NotYet.Sub(s.Tried) != 6*time.Hour+5*time.Minute {
		t.Errorf("state %+v", s)
	}
	n := len(p.asked)
	r.refresh(10*time.Hour, calendar.SourceOpenMeteo)
	if len(p.asked) != n+1 {
		t.Errorf("asked %d times more when all was had", len(p.asked)-n)
	}
	series, err := r.Store.Readings(context.Background(), "g", "p")
	r.must(err)
	rs := series[0].Readings
	if rs[0].On != oldest || len(rs) != int(today-6-oldest)+1 {
		t.Errorf("%d days from %v", len(rs), rs[0].On)
	}
	// After a break of more than a piece no hole is left.
	r.now = r.now.AddDate(2, 0, 0)
	today = climate.DateOf(r.now)
	r.refresh(0, calendar.SourceOpenMeteo)
	if a := p.asked[len(p.asked)-1]; a.First != today-366 {
		t.Errorf("after two years: asked from %v", a.First)
	}
	r.refresh(2*time.Hour, calendar.SourceOpenMeteo)
	if a := p.asked[len(p.asked)-1]; a.Last != today-367 {
		t.Errorf("after two years: the piece before ends %v", a.Last)
	}
}

// A source that is down changes nothing but how it is remembered.
func TestFailuresChangeNothing(t *testing.T) {
	r := newRig(t, calendar.SourceMETNorway, calendar.SourceFolder)
	today := climate.DateOf(morning)
	var fail error
	p := &fake{pause: 2 * time.Hour, fetch: func(climate.Ask) (*climate.Answer, error) {
		if fail != nil {
			return nil, fail
		}
		return &climate.Answer{Series: days(climate.Foretold, today, today+9), Memory: climate.Memory{Modified: "m"}, Expires: r.now.Add(150 * time.Minute)}, nil
	}}
	r.providers[calendar.SourceMETNorway] = p
	other := &fake{fetch: func(climate.Ask) (*climate.Answer, error) { return &climate.Answer{Unchanged: true}, nil }}
	r.providers[calendar.SourceFolder] = other
	s := r.refresh(0, calendar.SourceMETNorway)
	if s.NotYet.Sub(morning) != 155*time.Minute || s.Modified != "m" || s.Why != "" {
		t.Errorf("Expires is not honoured: %+v", s)
	}
	before := r.changes()
	got := s.Got
	fail = errors.New("it is down")
	for i, want := range []time.Duration{10, 20, 40, 80, 160, 320, 360, 360} {
		s = r.refresh(s.NotYet.Sub(r.now), calendar.SourceMETNorway)
		if s.Failed != i+1 || s.NotYet.Sub(r.now) != want*time.Minute+5*time.Minute || s.Why != "it is down" || s.Modified != "m" || !s.Got.Equal(got) || !s.Tried.Equal(r.now) {
			t.Errorf("failed %d times: %+v", i+1, s)
		}
	}
	for _, c := range []struct {
		err  error
		wait time.Duration
	}{
		{fmt.Errorf("x: %w", &climate.Later{Until: r.now.Add(1000 * time.Hour), Why: "429"}), 0}, // set below
		{fmt.Errorf("x: %w", &climate.Refused{Why: "403"}), 24 * time.Hour},
	} {
		var later *climate.Later
		r.now = s.NotYet
		if errors.As(c.err, &later) {
			later.Until, c.wait = r.now.Add(100*time.Hour), 100*time.Hour
		}
		fail = c.err
		if s = r.refresh(0, calendar.SourceMETNorway); s.NotYet.Sub(r.now) != c.wait+5*time.Minute {
			t.Errorf("%v: %+v", c.err, s)
		}
	}
	if r.changes() != before {
		t.Error("a failure changed the plan")
	}
	if len(other.asked) < 10 || r.state(calendar.SourceFolder).Failed != 0 {
		t.Errorf("the folder was asked %d times", len(other.asked))
	}
	fail = nil
	if s = r.refresh(s.NotYet.Sub(r.now), calendar.SourceMETNorway); s.Failed != 0 || s.Why != "" || !s.Got.Equal(r.now) {
		t.Errorf("after all: %+v", s)
	}
	if len(p.asked) != 12 || p.asked[11].Was.Modified != "m" {
		t.Errorf("asked %d times", len(p.asked))
	}
}

func TestOddProviders(t *testing.T) {
	r := newRig(t, calendar.SourceMETNorway, calendar.SourceStation, calendar.SourceOpenMeteo)
	r.providers[calendar.SourceMETNorway] = &fake{fetch: func(climate.Ask) (*climate.Answer, error) { panic("no") }}
	r.providers[calendar.SourceStation] = &fake{fetch: func(climate.Ask) (*climate.Answer, error) {
		s := days(climate.FromStation, 20000, 20001)
		s[0].Readings[1].Tmin = 99
		return &climate.Answer{Series: s}, nil
	}}
	r.refresh(0, calendar.SourceMETNorway)
	for kind, says := range map[string]string{calendar.SourceMETNorway: "panic: no", calendar.SourceStation: "tmin 99", calendar.SourceOpenMeteo: "no provider"} {
		if s := r.state(kind); s.Failed != 1 || !strings.Contains(s.Why, says) || len(s.Why) > 500 {
			t.Errorf("%s: %+v", kind, s)
		}
	}
	if series, err := r.Store.Readings(context.Background(), "g", "p"); err != nil || len(series) != 0 {
		t.Errorf("kept %+v, %v", series, err)
	}
	// A clock that was a year ahead does not stop the weather for a year.
	w := calendar.WeatherSource{Grower: "g", Place: "p", Kind: calendar.SourceStation, At: "x", State: calendar.SourceState{NotYet: morning.AddDate(1, 0, 0)}}
	r.must(r.Store.Asked(context.Background(), w))
	if s := r.refresh(time.Minute, calendar.SourceStation); s.Failed != 1 || !s.Tried.Equal(r.now) {
		t.Errorf("not asked: %+v", s)
	}
}

func TestStoppingIsNoFailure(t *testing.T) {
	r := newRig(t, calendar.SourceMETNorway)
	ctx, cancel := context.WithCancel(context.Background())
	r.providers[calendar.SourceMETNorway] = &fake{fetch: func(climate.Ask) (*climate.Answer, error) { cancel(); return nil, ctx.Err() }}
	if err := r.Refresh(ctx, morning); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	if s := r.state(calendar.SourceMETNorway); s != (calendar.SourceState{}) {
		t.Errorf("state %+v", s)
	}
}

// Run looks at once, and then every ten minutes or a little later.
func TestRun(t *testing.T) {
	r := newRig(t, calendar.SourceFolder)
	asked := make(chan climate.Ask)
	r.providers[calendar.SourceFolder] = &fake{fetch: func(a climate.Ask) (*climate.Answer, error) {
		asked <- a
		return &climate.Answer{Unchanged: true}, nil
	}}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { r.Run(ctx); close(ended) }()
	clock := r.Clock.(*clockwork.FakeClock)
	if a := <-asked; !a.Now.Equal(morning) {
		t.Errorf("first at %v", a.Now)
	}
	if err := clock.BlockUntilContext(ctx, 1); err != nil {
		t.Fatal(err)
	}
	clock.Advance(tick + 30*time.Second)
	if a := <-asked; !a.Now.Equal(morning.Add(tick + 30*time.Second)) {
		t.Errorf("then at %v", a.Now)
	}
	cancel()
	<-ended
}

// The real folder and a real service over a real store, as a grower has them.
func TestOwnReadingsAndService(t *testing.T) {
	ctx := context.Background()
	r := newRig(t, calendar.SourceFolder, calendar.SourceStation)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/csv")
		fmt.Fprint(w, "date,tmin,tmax\n2026-03-17,1,9\n2026-03-18,2,10\n")
	}))
	t.Cleanup(s.Close)
	dir := t.TempDir()
	r.must(os.WriteFile(filepath.Join(dir, "bench.csv"), []byte("date,tmin,tmax\n2026-03-18,0.5,11\n"), 0o600))
	height := 1500.0
	r.providers[calendar.SourceFolder] = &source.Folder{Path: filepath.Join(dir, "bench.csv")}
	r.providers[calendar.SourceStation] = &source.Station{Web: source.Web{Client: s.Client(), Agent: "test"}, Address: s.URL + "/x.csv", Elevation: &height}
	r.refresh(0, calendar.SourceFolder)
	series, err := r.Store.Readings(ctx, "g", "p")
	r.must(err)
	record, _ := climate.Combine(climate.Site{Elevation: 500}, series)
	if len(record.Days) != 2 || record.Days[0].Tmin != 7.5 || record.Days[1].Tmin != 0.5 || record.Spans[1].Kind != climate.OwnReading {
		t.Errorf("record %+v", record)
	}
	before := r.changes()
	r.refresh(time.Hour, calendar.SourceFolder)
	if r.changes() != before {
		t.Error("nothing new changed the plan")
	}
}

// An archive that is down keeps no weather forecast away, and who has new weather
// is named once, for all the sources.
func TestForecastComesWithoutTheArchive(t *testing.T) {
	r := newRig(t, calendar.SourceOpenMeteo, calendar.SourceFolder)
	today := climate.DateOf(morning)
	down := errors.New("the archive is down")
	p := &fake{pause: 6 * time.Hour, back: 3, fetch: func(a climate.Ask) (*climate.Answer, error) {
		if a.First.Valid() {
			return nil, down
		}
		return &climate.Answer{Series: days(climate.Foretold, today, today+9)}, nil
	}}
	r.providers[calendar.SourceOpenMeteo] = p
	r.providers[calendar.SourceFolder] = &fake{fetch: func(climate.Ask) (*climate.Answer, error) {
		return &climate.Answer{Series: days(climate.OwnReading, today-3, today-1)}, nil
	}}
	var told []string
	r.Changed = func(_ context.Context, grower string) error {
		told = append(told, grower)
		panic("what comes of it must not end the fetching")
	}
	s := r.refresh(0, calendar.SourceOpenMeteo)
	if s.Failed != 1 || s.Why != down.Error() || !s.Got.IsZero() || len(p.asked) != 2 || !p.asked[1].Ahead {
		t.Errorf("state %+v, asked %+v", s, p.asked)
	}
	series, err := r.Store.Readings(context.Background(), "g", "p")
	r.must(err)
	if len(series) != 2 {
		t.Errorf("kept %+v", series)
	}
	if len(told) != 1 || told[0] != "g" {
		t.Errorf("told %v", told)
	}
	r.refresh(time.Hour, calendar.SourceOpenMeteo)
	if len(p.asked) != 4 || len(told) != 1 {
		t.Errorf("asked %d times, told of the same weather: %v", len(p.asked), told)
	}
}
