package phenology

import (
	"sync"
	"testing"
	"time"

	"budswell/climate"
)

// place is a climate for tests: its typical year by the mean of each month and
// the range of a day, C.
type place struct {
	name  string
	lat   float64
	mean  [12]float64
	daily float64
}

// The climates are invented round numbers for kinds of climate, not of places.
var places = map[string]place{
	"maritime":      {"cool maritime", 55, [12]float64{4, 4, 5.5, 8, 11, 13.5, 15, 15, 12.5, 9.5, 6.5, 4.5}, 7},
	"continental":   {"continental", 45, [12]float64{-8, -6, 1, 8, 14.5, 19, 21, 20, 15, 8.5, 1.5, -5}, 10},
	"mediterranean": {"mediterranean", 40, [12]float64{8, 9, 11.5, 14, 18, 22.5, 25.5, 25, 22, 17.5, 12.5, 9}, 9},
	"southern":      {"southern temperate", -35, [12]float64{22, 22, 20, 16.5, 13, 10.5, 10, 11, 13, 15.5, 18, 20.5}, 11},
	"boreal":        {"boreal", 62, [12]float64{-9, -8, -3, 3, 9.5, 14.5, 17, 15, 10, 4.5, -1.5, -6}, 9},
	"arctic":        {"arctic", 74, [12]float64{-25, -26, -25, -18, -8, 0, 4, 3, -2, -10, -17, -22}, 6},
	"highland":      {"highland tropics", 1, [12]float64{14, 14, 14.3, 14.3, 14, 13.5, 13, 13.2, 13.8, 14, 13.8, 13.8}, 11},
	"lowland":       {"equatorial lowland", 1, [12]float64{27, 27, 27.3, 27.3, 27.5, 27.2, 27, 27, 27, 27, 26.8, 26.8}, 8},
}

func (p place) normals() *climate.Normals {
	n := &climate.Normals{}
	for i, m := range p.mean {
		n.Tmin[i], n.Tmax[i] = m-p.daily/2, m+p.daily/2
	}
	return n
}

func (p place) site() climate.Site {
	return climate.Site{Name: p.name, Lat: p.lat, Lon: 0, Zone: "UTC"}
}

func (p place) outlook(t testing.TB, issue climate.Date) *climate.Outlook {
	t.Helper()
	o, err := (&climate.Weather{Normals: p.normals(), Seed: 1}).Outlook(p.site(), issue)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// midwinter is a day early in season 2026, when nothing of its spring is known.
func (p place) midwinter() climate.Date { return p.site().SeasonStart(2026) + 4 }

var (
	forecastersMu sync.Mutex
	forecasters   = map[string]*Forecaster{}
)

// forecasterAt returns the forecaster of midwinter at a place, where nothing has
// been seen; tests that only read share it.
func forecasterAt(t testing.TB, name string) *Forecaster {
	t.Helper()
	forecastersMu.Lock()
	defer forecastersMu.Unlock()
	if f := forecasters[name]; f != nil {
		return f
	}
	p := places[name]
	f, err := NewForecaster(p.outlook(t, p.midwinter()), nil)
	if err != nil {
		t.Fatal(err)
	}
	forecasters[name] = f
	return f
}

func season(t testing.TB, f *Forecaster, h Habit, tree string, year int) *Season {
	t.Helper()
	s, err := f.Season(h, tree, year)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestPlaces checks the dates of trees of which nothing was fitted nor seen
// against what is common knowledge of such climates (from memory, no published
// source): the median must fall in the range, given as month-day.
func TestPlaces(t *testing.T) {
	middle := Habit{Group: Deciduous, Flush: Middle}
	for _, c := range []struct {
		place    string
		habit    Habit
		phase    Phase
		from, to string
	}{
		{"maritime", middle, BudBreak, "04-15", "05-05"},
		{"maritime", middle, BudSwell, "04-01", "04-22"},
		{"maritime", middle, LeavesHardened, "06-10", "07-15"},
		{"maritime", middle, AutumnColour, "09-25", "10-31"},
		{"maritime", middle, Dormant, "10-20", "12-10"},
		{"maritime", Habit{Group: DeciduousConifer, Flush: VeryEarly}, BudBreak, "03-20", "04-18"},
		{"maritime", Habit{Group: Deciduous, Flush: Late}, BudBreak, "04-25", "05-15"},
		{"maritime", Habit{Group: SingleFlushPine, Flush: Middle}, CandlesExtending, "04-15", "05-15"},
		{"maritime", Habit{Group: JuniperCypress}, BudSwell, "03-25", "05-10"},
		{"maritime", Habit{Group: BroadleafEvergreen}, BudBreak, "04-10", "05-20"},
		{"continental", middle, BudBreak, "04-25", "05-05"},
		{"continental", middle, LeavesHardened, "06-01", "06-30"},
		{"continental", middle, LeafFall, "10-05", "11-05"},
		{"continental", Habit{Group: JuniperCypress}, BudSwell, "04-10", "05-10"},
		{"continental", Habit{Group: FrostTender}, BudSwell, "05-25", "06-30"},
		{"mediterranean", middle, BudBreak, "03-15", "04-10"},
		{"mediterranean", middle, LeafFall, "11-01", "12-31"},
		{"mediterranean", Habit{Group: FrostTender}, BudSwell, "05-01", "06-10"},
		{"southern", middle, BudBreak, "09-10", "10-05"},
		{"southern", middle, AutumnColour, "04-15", "05-31"},
		{"southern", Habit{Group: SingleFlushPine, Flush: Middle}, CandlesExtending, "09-01", "10-10"},
		{"boreal", Habit{Group: Deciduous, Flush: Early}, BudBreak, "05-01", "05-25"},
		{"boreal", middle, AutumnColour, "09-05", "10-05"},
		{"lowland", Habit{Group: FrostTender}, BudSwell, "01-01", "01-02"},
	} {
		p := places[c.place]
		f := forecasterAt(t, c.place)
		dates := season(t, f, c.habit, "", 2026).Phases[c.phase].Dates
		median, ok := dates.Quantile(0.5)
		from, to := inSeason(t, p.site(), c.from), inSeason(t, p.site(), c.to)
		if !ok || median < from || median > to || dates.Chance() < 0.9 {
			t.Errorf("%s: %s %s of %s: median %v in %.0f %% of draws, want %v to %v", c.place, c.habit.Group, c.habit.Flush, c.phase, median, 100*dates.Chance(), from, to)
		}
	}
}

// inSeason returns the day MM-DD in season 2026 of the site.
func inSeason(t *testing.T, s climate.Site, day string) climate.Date {
	t.Helper()
	m, err := climate.ParseMonthDay(day)
	if err != nil {
		t.Fatal(err)
	}
	d := m.In(2026)
	if d < s.SeasonStart(2026) {
		d = m.In(2027)
	}
	return d
}

// TestNoSpring: where winters bring no chill, or summers no warmth, buds of
// dormant trees do not break; that is an answer, with a reason.
func TestNoSpring(t *testing.T) {
	for _, c := range []struct {
		place string
		group Group
	}{{"lowland", Deciduous}, {"lowland", DeciduousConifer}, {"arctic", FrostTender}} {
		s := season(t, forecasterAt(t, c.place), Habit{Group: c.group}, "", 2026)
		for phase, fc := range s.Phases {
			if fc.Dates.Chance() > 0.05 {
				t.Errorf("%s: %s of %s comes in %.0f %% of draws", c.place, phase, c.group, 100*fc.Dates.Chance())
			}
			if fc.Why == "" {
				t.Errorf("%s: %s of %s: no reason", c.place, phase, c.group)
			}
		}
	}
}

// TestOrderOfFlushing: at every place with a spring the classes keep their order.
func TestOrderOfFlushing(t *testing.T) {
	for _, name := range []string{"maritime", "continental", "mediterranean", "southern", "boreal"} {
		f := forecasterAt(t, name)
		last := climate.NoDate
		for _, flush := range []Flush{VeryEarly, Early, Middle, Late, VeryLate} {
			median, ok := season(t, f, Habit{Group: Deciduous, Flush: flush}, "", 2026).Phases[BudBreak].Dates.Quantile(0.5)
			if !ok || last.Valid() && (median < last+3 || median > last+25) {
				t.Errorf("%s: %s breaks bud on %v, the class before on %v", name, flush, median, last)
			}
			last = median
		}
	}
}

// TestUnknownIsWider: less known of a tree, or of its place, makes wider forecasts.
func TestUnknownIsWider(t *testing.T) {
	f := forecasterAt(t, "continental")
	width := func(h Habit) int {
		s, _ := season(t, f, h, "", 2026).Phases[BudBreak].Dates.Spread()
		return int(s.P90 - s.P10)
	}
	fitted := width(Habit{Species: "Acer rubrum", Group: Deciduous})
	class := width(Habit{Species: "Zelkova serrata", Group: Deciduous, Flush: Middle})
	nothing := width(Habit{Species: "Zelkova serrata", Group: Deciduous})
	if !(fitted < class && class < nothing) {
		t.Errorf("widths %d, %d, %d days: want them to rise", fitted, class, nothing)
	}
}

// TestSouthMirrorsNorth gives a southern site the weather of a northern one, half
// a year later.
func TestSouthMirrorsNorth(t *testing.T) {
	p := places["continental"]
	north := p.outlook(t, p.midwinter()+100)
	south := *north
	south.Site = climate.Site{Name: "mirror", Lat: -p.lat, Zone: "UTC"}
	south.First = south.Site.SeasonStart(2025) - winterDays
	south.Issue = south.Site.SeasonStart(2026) + 104
	for _, g := range Groups() {
		h := Habit{Group: g, Flush: Middle}
		var medians [2]map[Phase]int
		for i, o := range []*climate.Outlook{north, &south} {
			f, err := NewForecaster(o, nil)
			if err != nil {
				t.Fatal(err)
			}
			medians[i] = map[Phase]int{}
			for phase, fc := range season(t, f, h, "", 2026).Phases {
				if d, ok := fc.Dates.Quantile(0.5); ok {
					medians[i][phase] = int(d - o.Site.SeasonStart(2026))
				}
			}
		}
		for phase, day := range medians[0] {
			if other, ok := medians[1][phase]; !ok || max(day-other, other-day) > 2 {
				t.Errorf("%s of %s: day %d in the north, %d in the south", phase, g, day, other)
			}
		}
	}
}

// TestLeapYear: a leap day moves dates by a day at most.
func TestLeapYear(t *testing.T) {
	p := places["continental"]
	var days []int
	for _, year := range []int{2027, 2028, 2029} {
		f, err := NewForecaster(p.outlook(t, climate.NewDate(year, time.January, 5)), nil)
		if err != nil {
			t.Fatal(err)
		}
		d, _ := season(t, f, Habit{Group: Deciduous, Flush: Middle}, "", year).Phases[BudBreak].Dates.Quantile(0.5)
		days = append(days, int(d-climate.NewDate(year, time.March, 1)))
	}
	for _, d := range days {
		if max(d-days[0], days[0]-d) > 3 { // the generator's own years stray, too
			t.Errorf("days after 1 March: %v", days)
		}
	}
}
