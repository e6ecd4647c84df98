package calendar

import (
	"testing"

	"budswell/climate"
	"budswell/climate/phenology"
)

func resolver(t testing.TB, p place, on string, s *Species, tree *Tree) (*Planner, *timing) {
	pl := smallPlanner(t, p, on)
	if tree == nil {
		tree = &Tree{Origin: Nursery}
	}
	return pl, &pl.bench(tree, s).timing
}

func temp(c float64) *float64 { return &c }

// TestAnchorsAt checks every kind of anchor against the weather that it was
// resolved from, day by day.
func TestAnchorsAt(t *testing.T) {
	hardy := *maple
	hardy.RootsKilledBelow = temp(-8)
	month := climate.MonthDay{Month: 3, Day: 10}
	weekMean := func(m *climate.Member, k int, of func(int) float64) float64 {
		sum := 0.0
		for i := k - 6; i <= k; i++ {
			sum += of(i)
		}
		return sum / 7
	}
	nights := func(m *climate.Member, k int) float64 {
		return weekMean(m, k, func(i int) float64 { return m.Tmin[i] })
	}
	means := func(m *climate.Member, k int) float64 {
		return weekMean(m, k, func(i int) float64 { return (m.Tmin[i] + m.Tmax[i]) / 2 })
	}
	for _, p := range []place{temperate, {lat: -45, mean: 9, half: 10, members: 10, step: 0.1}} {
		pl, tm := resolver(t, p, "2026-04-05", &hardy, nil)
		o, season := pl.outlook, 2026
		start, summer, end := o.Site.SeasonStart(season), o.Site.Midsummer(season), o.Site.SeasonStart(season+1)-1
		first := func(m *climate.Member, from, to climate.Date, is func(k int) bool) climate.Date {
			for d := from; d <= to; d++ {
				if is(int(d - o.First)) {
					return d
				}
			}
			return climate.NoDate
		}
		last := func(m *climate.Member, from, to climate.Date, is func(k int) bool) climate.Date {
			for d := to; d >= from; d-- {
				if is(int(d - o.First)) {
					return d
				}
			}
			return climate.NoDate
		}
		for _, test := range []struct {
			name   string
			anchor Anchor
			want   func(m *climate.Member) climate.Date
		}{
			{"last frost", Anchor{At: AtLastFrost}, func(m *climate.Member) climate.Date {
				return last(m, start, summer-1, func(k int) bool { return m.Tmin[k] <= 0 })
			}},
			{"last frost of -2 C, two weeks on", Anchor{At: AtLastFrost, C: temp(-2), Days: 14}, func(m *climate.Member) climate.Date {
				return last(m, start, summer-1, func(k int) bool { return m.Tmin[k] <= -2 }) + 14
			}},
			{"first frost", Anchor{At: AtFirstFrost}, func(m *climate.Member) climate.Date {
				return first(m, summer, end, func(k int) bool { return m.Tmin[k] <= 0 })
			}},
			{"nights above", Anchor{At: AtNightsAbove, C: temp(10)}, func(m *climate.Member) climate.Date {
				return first(m, start, end, func(k int) bool { return nights(m, k) > 10 })
			}},
			{"nights below", Anchor{At: AtNightsBelow, C: temp(8)}, func(m *climate.Member) climate.Date {
				return first(m, summer, end, func(k int) bool { return nights(m, k) <= 8 })
			}},
			{"warmth", Anchor{At: AtWarmth, C: temp(12)}, func(m *climate.Member) climate.Date {
				return first(m, start, end, func(k int) bool { return means(m, k) > 12 })
			}},
			{"cold", Anchor{At: AtCold, C: temp(8)}, func(m *climate.Member) climate.Date {
				return first(m, summer, end, func(k int) bool { return means(m, k) <= 8 })
			}},
			{"root cold", Anchor{At: AtRootCold, C: temp(10)}, func(m *climate.Member) climate.Date {
				return first(m, summer, end, func(k int) bool { return nights(m, k) <= 2 })
			}},
			{"end of root cold", Anchor{At: AtRootColdEnd, C: temp(10)}, func(m *climate.Member) climate.Date {
				return last(m, start, summer-1, func(k int) bool { return nights(m, k) <= 2 }) + 1
			}},
			{"heat", Anchor{At: AtHeat, C: temp(22)}, func(m *climate.Member) climate.Date {
				return first(m, start, end, func(k int) bool { return m.Tmax[k] > 22 })
			}},
			{"end of heat", Anchor{At: AtHeatEnd, C: temp(22)}, func(m *climate.Member) climate.Date {
				return last(m, start, end, func(k int) bool { return m.Tmax[k] > 22 }) + 1
			}},
			{"midsummer", Anchor{At: AtMidsummer, Days: -3}, func(*climate.Member) climate.Date { return summer - 3 }},
			{"midwinter", Anchor{At: AtMidwinter}, func(*climate.Member) climate.Date { return end }},
			{"season start", Anchor{At: AtSeasonStart}, func(*climate.Member) climate.Date { return start }},
			{"start of the next", Anchor{At: AtSeasonStart, Next: true}, func(*climate.Member) climate.Date { return end + 1 }},
			{"date", Anchor{At: AtDate, Date: &month}, func(*climate.Member) climate.Date { return start + 68 }},
		} {
			got := tm.days(&test.anchor, season)
			for i := range o.Members {
				want := test.want(&o.Members[i])
				if g := got[i%len(got)]; g != want || !want.Valid() {
					// 10 March lies as far from 1 January as 10 September from 1 July, but for February.
					if test.anchor.At == AtDate && o.Site.Southern() && g == date(2026, 9, 10) {
						continue
					}
					t.Errorf("lat %v, %s, member %d: %v, want %v", p.lat, test.name, i, g, want)
				}
			}
		}
	}
}

func TestAnchorsOfAWork(t *testing.T) {
	tree := &Tree{Origin: Collected, Log: []Entry{
		did(t, "2025-03-01", "collected"), did(t, "2026-03-10", WorkRepot), did(t, "2024-03-10", WorkRepot), did(t, "2026-05-01", WorkWire),
	}}
	_, tm := resolver(t, temperate, "2026-04-05", maple, tree)
	one := func(a Anchor) climate.Date { return tm.days(&a, 2026)[0] }
	for _, test := range []struct {
		anchor Anchor
		want   string
	}{
		{Anchor{At: AtWork, Work: WorkRepot, Days: 42}, "2026-04-21"},
		{Anchor{At: AtWork, Work: WorkCollect}, "2025-03-01"},
		{Anchor{At: AtWork, Work: AnyRootWork}, "2026-03-10"},
		{Anchor{At: AtWork, Work: AnyHard}, "2026-03-10"},
		{Anchor{At: AtWork, Work: WorkWire}, "none"}, // lies ahead
		{Anchor{At: AtShade, Work: WorkWire}, "none"},
		{Anchor{Latest: []Anchor{{At: AtWork, Work: WorkWire}, {At: AtSeasonStart}}}, "2026-01-01"}, // what is not there is left out
		{Anchor{Earliest: []Anchor{{At: AtWork, Work: WorkWire}, {At: AtMidwinter}}}, "2026-12-31"},
		{Anchor{Latest: []Anchor{{At: AtWork, Work: WorkWire}}}, "none"},
		{Anchor{Days: 2, Latest: []Anchor{{At: AtSeasonStart}, {At: AtSeasonStart, Days: 9}}}, "2026-01-12"},
	} {
		if got := one(test.anchor); got.String() != test.want {
			t.Errorf("%+v: %v, want %s", test.anchor, got, test.want)
		}
	}
}

// Where there is no frost or no warmth, windows are there or not as the contract
// of Anchor says.
func TestAnchorsWhereNothingComes(t *testing.T) {
	swell := Anchor{At: AtPhase, Phase: phenology.BudSwell}
	for _, test := range []struct {
		name          string
		place         place
		opens, closes Anchor
		want          string // opens and closes, or nothing
	}{
		{"opens after the last frost, where none is", tropical, Anchor{At: AtLastFrost, Days: 14}, Anchor{At: AtMidsummer}, "2026-01-01 2026-07-01"},
		{"closes at the last frost, where none is", tropical, Anchor{At: AtSeasonStart}, Anchor{At: AtLastFrost}, ""},
		{"opens at the first frost, where none is", tropical, Anchor{At: AtFirstFrost, Days: -14}, Anchor{At: AtFirstFrost}, ""},
		{"closes before the first frost, where none is", tropical, Anchor{At: AtMidsummer}, Anchor{At: AtFirstFrost, Days: -60}, "2026-07-01 2026-12-31"},
		{"the later of bud swell and frost", tropical, Anchor{Latest: []Anchor{swell, {At: AtLastFrost}}}, Anchor{At: AtMidsummer}, "2026-04-01 2026-07-01"},
		{"never so warm", icy, Anchor{At: AtNightsAbove, C: temp(15)}, Anchor{At: AtMidwinter}, ""},
		{"never so hot: open to the end", icy, Anchor{At: AtMidsummer}, Anchor{At: AtHeat, C: temp(30)}, "2026-07-01 2026-12-31"},
		{"never so hot: open to the end of the next", icy, Anchor{At: AtMidsummer}, Anchor{At: AtHeat, C: temp(30), Next: true}, "2026-07-01 2027-12-31"},
		{"never mild: cold all summer", icy, Anchor{At: AtFirstFrost}, Anchor{At: AtMidwinter}, "2026-07-01 2026-12-31"},
		{"a phase that does not come", temperate, Anchor{At: AtPhase, Phase: phenology.SecondFlush}, Anchor{At: AtMidwinter}, ""},
		{"closes before it opens", temperate, Anchor{At: AtMidsummer}, Anchor{At: AtMidsummer, Days: -1}, ""},
		{"one day", temperate, Anchor{At: AtMidsummer}, Anchor{At: AtMidsummer}, "2026-07-01 2026-07-01"},
		{"opens before its season", temperate, Anchor{At: AtSeasonStart, Days: -60}, Anchor{At: AtSeasonStart, Days: 60}, "2026-01-01 2026-03-02"},
		{"over midwinter", temperate, Anchor{At: AtPhase, Phase: phenology.LeafFall}, Anchor{At: AtPhase, Phase: phenology.BudSwell, Next: true}, "2026-11-17 2027-04-01"},
		{"south", southern, swell, Anchor{At: AtMidsummer}, "2026-09-29 2027-01-01"},
	} {
		t.Run(test.name, func(t *testing.T) {
			pl, tm := resolver(t, test.place, "2026-04-05", maple, nil)
			w, _ := pl.window(&Rule{Opens: test.opens, Closes: test.closes}, tm, 2026)
			got := ""
			if w.Chance > 0 {
				got = w.Opens.P50.String() + " " + w.Closes.P50.String()
			}
			if got != test.want {
				t.Errorf("window %q, want %q (chance %v)", got, test.want, w.Chance)
			}
		})
	}
}

// Beyond the outlook a season is like the one before it, moved by a year.
func TestSeasonsBeyondTheOutlook(t *testing.T) {
	pl, tm := resolver(t, temperate, "2026-09-01", maple, nil)
	if _, end := pl.span(2028); end <= pl.outlook.Last() {
		t.Fatalf("season 2028 lies within the outlook, which ends %v", pl.outlook.Last())
	}
	for _, a := range []Anchor{{At: AtLastFrost}, {At: AtPhase, Phase: phenology.BudSwell}} {
		near, far := tm.days(&a, 2027), tm.days(&a, 2028)
		for i := range near {
			if far[i]-near[i] != 365 {
				t.Errorf("%s, draw %d: %v and %v", a.At, i, near[i], far[i])
			}
		}
	}
}

func TestShadeLastsLongerWhenDryAndInLeaf(t *testing.T) {
	end := func(p place, s *Species, on, potted string) climate.Date {
		pl := smallPlanner(t, p, on)
		return pl.shadeEnds(day(t, potted), s)[0] - day(t, potted)
	}
	spring := end(temperate, maple, "2026-04-05", "2026-03-20")
	summer := end(temperate, maple, "2026-07-05", "2026-07-01")
	hot := end(place{lat: 30, mean: 30, half: 8, members: 1}, maple, "2026-07-05", "2026-07-01")
	inLeaf := end(temperate, pine, "2026-04-05", "2026-03-20")
	if !(7 <= spring && spring < summer && summer < hot && hot <= 28 && spring < inLeaf) {
		t.Errorf("days of shade: spring %d, summer %d, hot summer %d, pine in spring %d", spring, summer, hot, inLeaf)
	}
	if long := end(temperate, maple, "2026-04-05", "2019-03-20"); long != 28 {
		t.Errorf("of a potting long ago %d days, want the longest", long)
	}
}
