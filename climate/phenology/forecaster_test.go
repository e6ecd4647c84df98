package phenology

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"budswell/climate"
)

// knownWeather is an outlook whose past is a record of generated years, so that
// sightings of past springs can be read on the clock.
func knownWeather(t testing.TB, p place, issue climate.Date) *climate.Outlook {
	t.Helper()
	years := p.outlook(t, issue-4*365)
	long := p.outlook(t, issue-2*365)
	r := &climate.Record{Source: "made up", First: years.First}
	for d := r.First; d <= issue; d++ {
		o := years
		if d > years.Last() {
			o = long
		}
		m := &o.Members[3]
		k := int(d - o.First)
		r.Days = append(r.Days, climate.Day{Tmin: m.Tmin[k], Tmax: m.Tmax[k], TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
	}
	o, err := (&climate.Weather{Record: r, Normals: p.normals(), Seed: 1}).Outlook(p.site(), issue)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

var order = []Phase{
	BudSwell, BudBreak, CandlesExtending, LeafOut, NeedlesSeparating, LeavesHardened, NeedlesHardened, SecondFlush,
	AutumnColour, LeafFall, Dormant,
}

// check tells what is wrong with any season whatever.
func check(t *rapid.T, f *Forecaster, s *Season) {
	start := f.outlook.Site.SeasonStart(s.Year)
	for phase, fc := range s.Phases {
		if len(fc.Dates) != f.Draws() {
			t.Fatalf("%s: %d draws, want %d", phase, len(fc.Dates), f.Draws())
		}
		if fc.Why == "" || strings.Contains(fc.Why, "NaN") || strings.Contains(fc.Why, "%!") {
			t.Fatalf("%s: why %q", phase, fc.Why)
		}
		for i, d := range fc.Dates {
			if d.Valid() && (d < start || d > f.outlook.Site.SeasonStart(s.Year+1)+afterDays) {
				t.Fatalf("%s: draw %d on %v, outside season %d", phase, i, d, s.Year)
			}
			if fc.Seen.Valid() && d != fc.Seen {
				t.Fatalf("%s: seen on %v, draw %d on %v", phase, fc.Seen, i, d)
			}
		}
	}
	for i := range f.Draws() {
		last := climate.NoDate
		for _, phase := range order {
			fc, ok := s.Phases[phase]
			if !ok || !fc.Dates[i].Valid() {
				continue
			}
			if fc.Dates[i] < last {
				t.Fatalf("draw %d: %s on %v, after a later phase on %v", i, phase, fc.Dates[i], last)
			}
			last = fc.Dates[i]
		}
	}
}

// TestAnySeason: whatever was seen, phases keep their order in every draw, what
// was seen stands, and what had not come is not put before.
func TestAnySeason(t *testing.T) {
	outlooks := map[string]*climate.Outlook{}
	for name, p := range places {
		outlooks[name] = p.outlook(t, p.midwinter()+140)
	}
	outlooks["known"] = knownWeather(t, places["continental"], places["continental"].midwinter()+140)
	for _, o := range outlooks {
		o.Members = o.Members[:8] // enough for this, and quick
	}
	names := sortedKeys(outlooks)
	rapid.Check(t, func(t *rapid.T) {
		o := outlooks[rapid.SampledFrom(names).Draw(t, "place")]
		weeks := rapid.Float64Range(-10, 30).Draw(t, "weeks")
		h := Habit{
			Species: rapid.SampledFrom([]string{"", "Acer rubrum", "Pinus nigra", "Juniperus chinensis"}).Draw(t, "species"),
			Group:   rapid.SampledFrom(Groups()).Draw(t, "group"),
			Flush:   rapid.SampledFrom([]Flush{"", VeryEarly, Middle, VeryLate}).Draw(t, "flush"), FlowerWeeks: &weeks,
		}
		var seen []Sighting
		for range rapid.IntRange(0, 6).Draw(t, "sightings") {
			s := Sighting{
				Tree: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "tree"), Species: h.Species,
				Phase:  rapid.SampledFrom(h.Group.Phases()).Draw(t, "phase"),
				On:     o.Issue - climate.Date(rapid.IntRange(-10, 800).Draw(t, "ago")),
				NotYet: climate.NoDate,
			}
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 0:
				s.NotYet = s.On - climate.Date(rapid.IntRange(1, 30).Draw(t, "before"))
			case 1:
				s.On, s.NotYet = climate.NoDate, s.On
			}
			seen = append(seen, s)
		}
		f, err := NewForecaster(o, seen)
		if err != nil {
			t.Fatal(err)
		}
		season, err := f.Season(h, "a", 2026)
		if err != nil {
			t.Fatal(err)
		}
		check(t, f, season)
		// "Not yet" holds unless a sighting of the same season contradicts it.
		for _, s := range seen {
			contradicted := slices.ContainsFunc(seen, func(o Sighting) bool { return o.On.Valid() })
			if s.Tree != "a" || s.On.Valid() || contradicted || s.NotYet > o.Issue || o.Site.Season(s.NotYet) != 2026 {
				continue
			}
			for i, d := range season.Phases[s.Phase].Dates {
				if d.Valid() && d <= s.NotYet {
					t.Fatalf("draw %d: %s on %v, had not come on %v", i, s.Phase, d, s.NotYet)
				}
			}
		}
	})
}

// TestSameAnswer: the same question has the same answer, to the last draw and
// letter, in whatever order the sightings are told.
func TestSameAnswer(t *testing.T) {
	p := places["continental"]
	o := knownWeather(t, p, p.midwinter()+100)
	seen := []Sighting{
		{"a", "Acer campestre", BudBreak, climate.NewDate(2025, time.April, 28), climate.NewDate(2025, time.April, 24)},
		{"b", "Acer campestre", BudSwell, climate.NewDate(2024, time.April, 8), climate.NoDate},
		{"c", "Juniperus chinensis", BudSwell, climate.NewDate(2025, time.April, 20), climate.NoDate},
		{"c", "Juniperus chinensis", BudSwell, climate.NewDate(2024, time.April, 10), climate.NoDate},
		{"a", "Acer campestre", BudBreak, climate.NoDate, o.Issue},
	}
	for _, g := range Groups() {
		var seasons [2]*Season
		for i := range seasons {
			f, err := NewForecaster(o, seen)
			if err != nil {
				t.Fatal(err)
			}
			seasons[i] = season(t, f, Habit{Species: "Acer campestre", Group: g, Flush: Middle}, "a", 2026)
			slices.Reverse(seen)
		}
		if diff := cmp.Diff(seasons[0], seasons[1]); diff != "" {
			t.Errorf("%s: two answers to one question: %s", g, diff)
		}
	}
}

// TestWarmerIsNeverLater: forcing without chill is the sooner the warmer.
func TestWarmerIsNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := places[rapid.SampledFrom(sortedKeys(places)).Draw(t, "place")]
		w := weather{lat: p.lat, start: p.site().SeasonStart(2026), n: 250}
		for range winterDays + w.n {
			lo := rapid.Float64Range(-30, 30).Draw(t, "tmin")
			w.tmin = append(w.tmin, lo)
			w.tmax = append(w.tmax, lo+rapid.Float64Range(0, 20).Draw(t, "range"))
		}
		warmer := w
		warmer.tmin, warmer.tmax = slices.Clone(w.tmin), slices.Clone(w.tmax)
		for i := range warmer.tmin {
			rise := rapid.Float64Range(0, 5).Draw(t, "rise")
			warmer.tmin[i] += rise
			warmer.tmax[i] += rise
		}
		need := rapid.Float64Range(0, 100).Draw(t, "need")
		offset := rapid.IntRange(0, 19).Draw(t, "offset")
		for k, c := range loadPriors().curves {
			if c.Chill > 0 || k%20 != offset {
				continue
			}
			a, okA := w.forcing(&c, nil).day(need)
			b, okB := warmer.forcing(&c, nil).day(need)
			if okA && (!okB || b > a+1e-9) {
				t.Fatalf("curve %d: day %v, warmer %v", k, a, b)
			}
		}
	})
}

// TestClock: in the typical season the clock shows the day, and it always rises.
func TestClock(t *testing.T) {
	f := forecasterAt(t, "continental")
	for k, typical := range f.typical {
		g := make(gauge, len(typical))
		typical.addClock(g, typical, 1)
		for i, x := range g {
			if math.Abs(x-float64(i)) > 1e-6 {
				t.Fatalf("curve %d: the clock shows %v on day %d", k, x, i)
			}
		}
	}
	for _, year := range []int{2025, 2026, 2027} {
		for m, g := range f.sums(year).clock {
			for i := 1; i < len(g); i++ {
				if g[i] <= g[i-1] {
					t.Fatalf("member %d: the clock stands still on day %d of %d", m, i, year)
				}
				if d, ok := g.reach(g[i]); !ok || math.Abs(d-float64(i)) > 1e-6 {
					t.Fatalf("the clock shows %v on day %d, and is said to show it on %v", g[i], i, d)
				}
			}
		}
	}
}

// median returns the median bud break of a tree in 2026.
func median(t testing.TB, o *climate.Outlook, seen []Sighting, h Habit, tree string) climate.Date {
	t.Helper()
	f, err := NewForecaster(o, seen)
	if err != nil {
		t.Fatal(err)
	}
	d, _ := season(t, f, h, tree, 2026).Phases[BudBreak].Dates.Quantile(0.5)
	return d
}

// TestLearning: what was seen of a tree moves it most, its species next, other
// trees least, and all of them the way that was seen.
func TestLearning(t *testing.T) {
	o := knownWeather(t, places["continental"], climate.NewDate(2026, time.February, 1))
	maple := Habit{Species: "Acer campestre", Group: Deciduous, Flush: Middle}
	beech := Habit{Species: "Fagus sylvatica", Group: Deciduous, Flush: Late}
	f, err := NewForecaster(o, nil)
	if err != nil {
		t.Fatal(err)
	}
	var seen []Sighting
	for _, year := range []int{2023, 2024, 2025} {
		g, ok := f.pastClock(year)
		if !ok {
			t.Fatalf("the weather of %d is not known", year)
		}
		prior := f.priors.of(Habit{Species: maple.Species})
		usual, _, _ := f.normal(prior.Day)
		day, _ := g.reach(usual - 9) // nine clock days early
		seen = append(seen, Sighting{"one", maple.Species, BudBreak, o.Site.SeasonStart(year) + climate.Date(math.Round(day)), climate.NoDate})
	}
	own := int(median(t, o, nil, maple, "one") - median(t, o, seen, maple, "one"))
	kin := int(median(t, o, nil, maple, "two") - median(t, o, seen, maple, "two"))
	other := int(median(t, o, nil, beech, "three") - median(t, o, seen, beech, "three"))
	if !(5 <= own && own <= 12 && other >= 1 && kin > other && own >= kin) {
		t.Errorf("earlier by %d, its species by %d, others by %d days", own, kin, other)
	}
}

// TestNewsOfTheSpring: others of the species that opened early this spring make a
// tree's own bud break sooner to be expected, and surer.
func TestNewsOfTheSpring(t *testing.T) {
	issue := climate.NewDate(2026, time.April, 20)
	o := knownWeather(t, places["continental"], issue)
	h := Habit{Species: "Acer campestre", Group: Deciduous, Flush: Middle}
	var news []Sighting
	for _, tree := range []string{"x", "y", "z"} {
		news = append(news, Sighting{tree, h.Species, BudBreak, issue - 6, issue - 9})
	}
	spread := func(seen []Sighting) climate.Spread {
		f, err := NewForecaster(o, seen)
		if err != nil {
			t.Fatal(err)
		}
		s, _ := season(t, f, h, "own", 2026).Phases[BudBreak].Dates.Spread()
		return s
	}
	before, after := spread(nil), spread(news)
	if after.P50 >= before.P50 || after.P90-after.P10 >= before.P90-before.P10 {
		t.Errorf("%v to %v before the news, %v to %v after", before.P10, before.P90, after.P10, after.P90)
	}
}

// TestSeenMovesWhatFollows: leaf-out is reckoned from bud break once that is seen.
func TestSeenMovesWhatFollows(t *testing.T) {
	issue := climate.NewDate(2026, time.May, 1)
	o := knownWeather(t, places["continental"], issue)
	h := Habit{Group: Deciduous, Flush: Middle}
	width := func(seen ...Sighting) (climate.Spread, int) {
		f, err := NewForecaster(o, seen)
		if err != nil {
			t.Fatal(err)
		}
		s, _ := season(t, f, h, "own", 2026).Phases[LeafOut].Dates.Spread()
		return s, int(s.P90 - s.P10)
	}
	_, blind := width()
	s, told := width(Sighting{"own", "", BudBreak, issue - 2, issue - 4})
	if told >= blind || s.P50 < issue || s.P50 > issue+20 {
		t.Errorf("leaf-out about %v within %d days; %d days when nothing was seen", s.P50, told, blind)
	}
}

// TestWarmthIsLearned: a juniper seen to resume growth early is expected to again.
func TestWarmthIsLearned(t *testing.T) {
	o := knownWeather(t, places["continental"], climate.NewDate(2026, time.February, 1))
	h := Habit{Species: "Juniperus chinensis", Group: JuniperCypress}
	resume := func(seen ...Sighting) climate.Date {
		f, err := NewForecaster(o, seen)
		if err != nil {
			t.Fatal(err)
		}
		d, _ := season(t, f, h, "own", 2026).Phases[BudSwell].Dates.Quantile(0.5)
		return d
	}
	usual := resume()
	early := resume(
		Sighting{"own", h.Species, BudSwell, climate.NewDate(2024, time.April, 1), climate.NoDate},
		Sighting{"own", h.Species, BudSwell, climate.NewDate(2025, time.April, 1), climate.NoDate})
	if early >= usual {
		t.Errorf("expected on %v after early springs, on %v before", early, usual)
	}
}

// TestSeasonErrors: what cannot be forecast is refused with a reason.
func TestSeasonErrors(t *testing.T) {
	f := forecasterAt(t, "continental")
	if _, err := f.Season(Habit{Group: "palm"}, "", 2026); err == nil || !strings.Contains(err.Error(), "palm") {
		t.Errorf("unknown group: %v", err)
	}
	if _, err := f.Season(Habit{Group: Deciduous}, "", 2040); err == nil || !strings.Contains(err.Error(), "2040") {
		t.Errorf("season beyond the outlook: %v", err)
	}
	o := f.outlook
	for _, s := range []Sighting{
		{"a", "", "leaf-in", o.Issue, climate.NoDate},
		{"a", "", BudBreak, climate.NoDate, climate.NoDate},
		{"a", "", BudBreak, o.Issue - 5, o.Issue - 3},
	} {
		if _, err := NewForecaster(o, []Sighting{s}); err == nil {
			t.Errorf("sighting %+v is taken", s)
		}
	}
	if _, err := NewForecaster(&climate.Outlook{}, nil); err == nil {
		t.Error("an outlook without members is taken")
	}
	short := *o
	short.Members = []climate.Member{{Tmin: o.Members[0].Tmin[:500], Tmax: o.Members[0].Tmax[:500]}}
	if _, err := NewForecaster(&short, nil); err == nil {
		t.Error("an outlook that ends too soon is taken")
	}
}

// TestLaterSightingsAreNotLookedAt guards against looking ahead.
func TestLaterSightingsAreNotLookedAt(t *testing.T) {
	p := places["continental"]
	o := p.outlook(t, p.midwinter()+100)
	h := Habit{Group: Deciduous, Flush: Middle}
	if a, b := median(t, o, nil, h, "own"), median(t, o, []Sighting{{"own", "", BudBreak, o.Issue + 1, o.Issue - 1}}, h, "own"); a != b {
		t.Errorf("%v without, %v with a sighting after the issue day", a, b)
	}
}

// TestSlipOfThePen: a bud break written down for December moves no other year.
func TestSlipOfThePen(t *testing.T) {
	o := knownWeather(t, places["continental"], climate.NewDate(2026, time.February, 1))
	h := Habit{Species: "Acer campestre", Group: Deciduous, Flush: Middle}
	slip := []Sighting{{"own", h.Species, BudBreak, climate.NewDate(2024, time.December, 1), climate.NoDate}}
	if a, b := median(t, o, nil, h, "own"), median(t, o, slip, h, "own"); a != b {
		t.Errorf("%v without, %v with it", a, b)
	}
}

// TestConcurrent asks one forecaster from several goroutines (see -race).
func TestConcurrent(t *testing.T) {
	p := places["continental"]
	f, err := NewForecaster(p.outlook(t, p.midwinter()), nil)
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error)
	for i := range 8 {
		go func() {
			_, err := f.Season(Habit{Group: Groups()[i]}, "", 2025+i%3)
			done <- err
		}()
	}
	for range 8 {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}
