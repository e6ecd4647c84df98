package sums

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/climate"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %.4f, want %.4f within %v", what, got, want, within)
	}
}

func part(t *testing.T, name string, parts float64) Part {
	t.Helper()
	c, ok := ComponentNamed(name)
	if !ok {
		t.Fatalf("no component %q", name)
	}
	return Part{c, parts}
}

// Worked by hand: a box of 40 x 30 x 8 cm holds 9.6 l; 20 % narrower at the
// bottom it holds 9.6 x (1 + 0.8 + 0.64) / 3.
func TestLitres(t *testing.T) {
	for _, c := range []struct {
		name   string
		vessel Vessel
		want   float64
	}{
		{"box", Vessel{Rectangle, 40, 30, 8, 0}, 9.6},
		{"tapered", Vessel{Rectangle, 40, 30, 8, 0.2}, 7.808},
		{"round", Vessel{Oval, 30, 30, 10, 0}, 7.0686},
		{"cone's stump", Vessel{Oval, 30, 30, 10, 0.5}, 7.0686 * 1.75 / 3},
	} {
		near(t, c.name, c.vessel.Litres(), c.want, 1e-3)
	}
}

// Worked by hand: 9.6 l less a ball of 3.6 l leave 6 l, 6 / 0.88 = 6.818 l loose;
// two parts of pumice are 4.545 l, 4.545 / 0.85 = 5.348 l from the bag and 2.674 kg.
func TestSoilFor(t *testing.T) {
	s, err := SoilFor(Vessel{Rectangle, 40, 30, 8, 0}, 3.6, Mix{part(t, "pumice", 2), part(t, "lava", 1)}, 0.12)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", s.Fill, 6.818, 1e-3)
	near(t, "pumice", s.Buy[0].Litres, 5.348, 1e-3)
	near(t, "pumice by weight", s.Buy[0].Kg, 2.674, 1e-3)
	near(t, "lava by weight", s.Buy[1].Kg, 2.273, 1e-3)
	near(t, "dry", s.DryKg, 4.947, 1e-3)
	near(t, "wet", s.WetKg, (6.818+3.6)*(2*0.80+1.05)/3, 1e-3)
}

// Worked by hand: 9 mm and 20 cm take a third in aluminium, 3 mm and 30 cm, 0.0707
// cm2 x 30 cm x 2.7 g/cm3 = 5.73 g; a conifer 2.25 mm of copper, sold as 2.5.
func TestWireFor(t *testing.T) {
	for _, c := range []struct {
		thickness, length float64
		conifer           bool
		want              Wire
	}{
		{9, 20, false, Wire{Metal: Aluminium, Gauge: 3, Length: 30, Grams: 5.726}},
		{9, 20, true, Wire{Metal: Copper, Gauge: 2.5, Length: 30, Grams: 13.19}},
		{1, 10, true, Wire{Metal: Copper, Gauge: 1, Length: 15, Grams: 1.056}},
		{20, 40, false, Wire{Metal: Aluminium, Gauge: 6, Length: 60, Grams: 91.61, TwoWires: true}},
	} {
		w, err := WireFor(c.thickness, c.length, c.conifer)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "grams", w.Grams, c.want.Grams, 0.01)
		if w.Grams = c.want.Grams; w != c.want {
			t.Errorf("%v mm, %v cm: got %+v, want %+v", c.thickness, c.length, w, c.want)
		}
	}
}

// Worked by hand: 3 mm marks once the branch is 0.6 mm thicker; at 4 mm a season
// after 0.15 of it.
func TestBitesAfter(t *testing.T) {
	got, err := BitesAfter(3, 4)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "seasons", got, 0.15, 1e-12)
}

// Worked by hand: 60 cm tall and 45 wide, a trunk of 6 cm: two thirds are 40 cm.
func TestPotFor(t *testing.T) {
	p, err := PotFor(60, 45, 6)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{32, 44, 20, 32, 4.5, 7.2} {
		got := []float64{p.Length[0], p.Length[1], p.Width[0], p.Width[1], p.Depth[0], p.Depth[1]}[i]
		near(t, "centimetres", got, want, 1e-9)
	}
}

var equator = climate.Site{Name: "equator", Lat: 0, Lon: 0, Zone: "UTC"}

func thirsty(t *testing.T) *Thirst {
	return &Thirst{
		Name: "maple", Spread: 40, Leaf: 3, Vessel: Vessel{Rectangle, 40, 30, 8, 0},
		Mix: Mix{part(t, "pumice", 1)}, Ball: 0.2, Filled: 1, Shade: 1,
	}
}

// Worked by hand: the crown covers 0.1257 m2, three layers of leaves give off
// 0.1257 x 3 x 0.2 / 0.7 = 0.1077 mm-m2, the soil's 0.12 m2 the share 0.3 + 0.7 x
// exp(-1.5) = 0.456; at 5 mm that is 0.812 l a day. Of 9.6 l, 0.8 x 0.2 = 1.536 l
// can be drawn: one day and 0.8914 of the next, which a half sine over twelve
// hours has passed at 6 + 12 x acos(1 - 2 x 0.8914) / pi.
func TestDry(t *testing.T) {
	d, err := Dry(thirsty(t), equator, climate.NewDate(2026, 3, 20), 0, []float64{5, 5, 5})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "daily", d.Daily, 0.8122, 1e-3)
	near(t, "holds", d.Holds, 1.536, 1e-9)
	rest := 1.536/d.Daily - 1
	near(t, "hours", d.Hours, 24+6+12*math.Acos(1-2*rest)/math.Pi, 0.1)
	if d.Beyond {
		t.Error("dry within the days, but said to be beyond")
	}
	d, err = Dry(thirsty(t), equator, climate.NewDate(2026, 3, 20), 12, []float64{0.5})
	if err != nil {
		t.Fatal(err)
	}
	if !d.Beyond || d.Hours != 12 {
		t.Errorf("a dull half day: got %+v, want it beyond after 12 h", d)
	}
}

func TestDryComesSooner(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		site := climate.Site{Lat: rapid.Float64Range(-80, 80).Draw(r, "lat"), Zone: "UTC"}
		day := climate.NewDate(2026, 1, 1) + climate.Date(rapid.IntRange(0, 364).Draw(r, "day"))
		et := rapid.SliceOfN(rapid.Float64Range(0, 12), 1, 6).Draw(r, "et0")
		start := rapid.Float64Range(0, 23).Draw(r, "start")
		tree := thirsty(t)
		tree.Leaf = rapid.Float64Range(0.5, 7).Draw(r, "leaf")
		hours := func(change func(*Thirst)) float64 {
			c := *tree
			change(&c)
			d, err := Dry(&c, site, day, start, et)
			if err != nil {
				r.Fatal(err)
			}
			return d.Hours
		}
		plain := hours(func(*Thirst) {})
		if more := hours(func(c *Thirst) { c.Leaf += 1 }); more > plain+0.01 {
			r.Errorf("more leaves: dry after %v h, before after %v", more, plain)
		}
		if deeper := hours(func(c *Thirst) { c.Vessel.Depth *= 1.5 }); deeper < plain-0.01 {
			r.Errorf("a deeper pot: dry after %v h, before after %v", deeper, plain)
		}
		if half := hours(func(c *Thirst) { c.Filled = 0.5 }); half > plain+0.01 {
			r.Errorf("half watered: dry after %v h, before after %v", half, plain)
		}
	})
}

// Worked by hand, at -10 C all day on an open bench: the pot takes up 9.6 l x
// 1.66 = 15.9 kJ/K and loses 12 x 0.352 m2 x 3.6 = 15.2 kJ/h/K, so from 5 C it is at
// freezing after 1.048 h x ln(15 / 9.5) = 0.48 h; its water, 962 kJ, takes 962 /
// (15.2 x 9.5) = 6.66 h to freeze.
func TestRootMinimumFreezes(t *testing.T) {
	v := Vessel{Rectangle, 40, 30, 8, 0}
	b := body{litres: v.Litres(), loss: OnBench.Exchange * v.wall() * 3.6, temp: 5}
	near(t, "wall", v.wall(), 0.352, 1e-9)
	freezing, frozen := 0.0, 0.0
	for h := 0.0; b.ice < 1; h += 0.01 {
		b.take(b.loss * (-10 - b.temp) * 0.01)
		if freezing == 0 && b.temp <= freezes {
			freezing = h
		}
		frozen = h
	}
	near(t, "hours to freezing", freezing, 0.48, 0.02)
	near(t, "hours to frozen", frozen, 0.48+6.66, 0.05)

	// One night of frost does not take a pot below freezing, a week of it does.
	night, err := RootMinimum(v, OnBench, equator, climate.NewDate(2026, 1, 1), []float64{-5}, []float64{4}, 4)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "one night", night.Lowest[0], freezes, 1e-9)
	week, err := RootMinimum(v, OnBench, equator, climate.NewDate(2026, 1, 1),
		[]float64{-9, -9, -9, -9, -9, -9, -9}, []float64{-3, -3, -3, -3, -3, -3, -3}, 4)
	if err != nil {
		t.Fatal(err)
	}
	if last := week.Lowest[6]; !week.Frozen || last > -8 || last < -9 {
		t.Errorf("a week of frost: lowest %v, frozen %v; want near -9, frozen", last, week.Frozen)
	}
}

func TestRootMinimumLagsBehindAir(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(r, "days")
		tmin, tmax := make([]float64, n), make([]float64, n)
		lowest := math.Inf(1)
		for i := range tmin {
			tmin[i] = rapid.Float64Range(-35, 15).Draw(r, "tmin")
			tmax[i] = tmin[i] + rapid.Float64Range(0, 15).Draw(r, "range")
			lowest = min(lowest, tmin[i])
		}
		site := climate.Site{Lat: rapid.Float64Range(-80, 80).Draw(r, "lat"), Zone: "UTC"}
		start := rapid.Float64Range(-5, 20).Draw(r, "start")
		least := func(v Vessel, s Standing) float64 {
			out, err := RootMinimum(v, s, site, climate.NewDate(2026, 1, 1), tmin, tmax, start)
			if err != nil {
				r.Fatal(err)
			}
			if len(out.Lowest) != n {
				r.Fatalf("%d days, %d minima", n, len(out.Lowest))
			}
			low := start // a pot that warms up was coldest at the start
			for _, t := range out.Lowest {
				low = min(low, t)
			}
			return low
		}
		small := least(Vessel{Rectangle, 20, 15, 5, 0}, OnBench)
		if small < min(lowest, start)-1e-6 {
			r.Errorf("root zone at %v, colder than the air's %v", small, lowest)
		}
		if wide := least(Vessel{Rectangle, 60, 45, 15, 0}, OnBench); wide < small-0.01 {
			r.Errorf("three times the pot: %v, colder than %v", wide, small)
		}
		if kept := least(Vessel{Rectangle, 20, 15, 5, 0}, OnGround); kept < small-0.01 {
			r.Errorf("on the ground: %v, colder than %v on the bench", kept, small)
		}
	})
}

func TestRanges(t *testing.T) {
	box := Vessel{Rectangle, 40, 30, 8, 0}
	mix := Mix{part(t, "pumice", 1)}
	bad := thirsty(t)
	bad.Leaf, bad.Shade = math.NaN(), 9
	for want, err := range map[string]error{
		"length 2 cm: out of range: want 3 to 300":             Vessel{Rectangle, 2, 2, 8, 0}.Check(),
		"width 50 cm: out of range: want not more than":        Vessel{Rectangle, 40, 50, 8, 0}.Check(),
		`shape "star": out of range: want one of`:              Vessel{"star", 40, 30, 8, 0}.Check(),
		"mix: out of range: want at least one part":            Mix{}.Check(),
		"root ball 10 l: out of range: want 0 to 9.6":          second(SoilFor(box, 10, mix, 0.12)),
		"settling 0.5 : out of range: want 0.05 to 0.25":       second(SoilFor(box, 1, mix, 0.5)),
		"branch thickness 0 mm: out of range: want 1 to 60":    second(WireFor(0, 20, true)),
		"thickening 0 mm a season: out of range":               second(BitesAfter(3, 0)),
		"trunk 90 cm: out of range: want 0.5 to 60":            second(PotFor(60, 40, 90)),
		"leaf area index NaN : out of range: want 0 to 8":      bad.Check(),
		"days with a highest temperature 0 : out of range":     second(RootMinimum(box, OnBench, equator, 0, []float64{1}, nil, 4)),
		"evapotranspiration -1 mm: out of range: want 0 to 20": second(Dry(thirsty(t), equator, 0, 0, []float64{-1})),
	} {
		if !errors.Is(err, ErrRange) || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestFirst(t *testing.T) {
	pots := []Drying{{Name: "large", Hours: 40}, {Name: "small", Hours: 9}, {Name: "middling", Hours: 20}}
	First(pots)
	if pots[0].Name != "small" || pots[2].Name != "large" {
		t.Errorf("got %v first, want the small pot", pots[0].Name)
	}
}

// An hour taken at once is its sixty steps, whatever the pot, and whether it freezes.
func TestHourAtOnceIsItsSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := rapid.Float64Range(-30, 40).Draw(t, "start")
		quick := bodyOf(rapid.Float64Range(0.05, 500).Draw(t, "litres"), rapid.Float64Range(0.01, 500).Draw(t, "loss"), start)
		slow := quick
		for range 48 {
			air := rapid.Float64Range(-60, 50).Draw(t, "air")
			quick.hour(air)
			slow.stepwise(air)
			if math.Abs(quick.temp-slow.temp) > 1e-6 || math.Abs(quick.ice-slow.ice) > 1e-6 {
				t.Fatalf("%v C and %v of ice at once, %v and %v step by step", quick.temp, quick.ice, slow.temp, slow.ice)
			}
		}
	})
}

func BenchmarkRootMinimum(b *testing.B) {
	v := Vessel{Shape: Rectangle, Length: 40, Width: 30, Depth: 12}
	tmin, tmax := make([]float64, 17), make([]float64, 17)
	for i := range tmin {
		tmin[i], tmax[i] = 6-float64(i), 12-float64(i)
	}
	site := climate.Site{Lat: 50, Lon: 8, Zone: "UTC"}
	for b.Loop() {
		if _, err := RootMinimum(v, OnBench, site, climate.NewDate(2027, 4, 2), tmin, tmax, 9); err != nil {
			b.Fatal(err)
		}
	}
}
