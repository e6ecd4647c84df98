package nudge

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

var update = flag.Bool("update", false, "rewrite golden files")

var today = climate.NewDate(2026, 4, 12)

var (
	maple  = &calendar.Species{Name: "Acer campestre", Common: []string{"field maple"}, Flush: phenology.Middle}
	beech  = &calendar.Species{Name: "Fagus sylvatica", Common: []string{"beech"}, Flush: phenology.Late}
	larch  = &calendar.Species{Name: "Larix decidua", Flush: phenology.VeryEarly}
	repot  = &calendar.Rule{ID: "repot-deciduous", Work: "repot", Opens: calendar.Anchor{At: calendar.AtPhase, Phase: phenology.BudSwell}}
	feed   = &calendar.Rule{ID: "feed", Work: "feed", Opens: calendar.Anchor{At: calendar.AtWarmth}}
	unveil = &calendar.Rule{ID: "unveil", Work: shadeEnd, Opens: calendar.Anchor{At: calendar.AtShade}}
	wires  = &calendar.Rule{ID: "wires", Work: wireCheckW, Every: 21, Opens: calendar.Anchor{At: calendar.AtWork}}
	hot    = &calendar.Rule{ID: "hot", Work: heatShade, Opens: calendar.Anchor{At: calendar.AtHeat, C: new(32.0)}}
	prune  = &calendar.Rule{ID: "prune", Work: "heavy-prune", Opens: calendar.Anchor{At: calendar.AtWarmth}}
	style  = &calendar.Rule{ID: "style", Work: "first-style", Opens: calendar.Anchor{At: calendar.AtWarmth}}
	cut    = &calendar.Rule{ID: "cut", Work: "prune", Opens: calendar.Anchor{At: calendar.AtWarmth}}
	frosts = &calendar.Rule{ID: "frosts", Work: frostWatch, Opens: calendar.Anchor{At: calendar.AtWork}}
)

// day is a grower's day at one place, with everything wanted but the weekly digest.
func day(m *Morning, sent ...calendar.Nudge) Day {
	p := calendar.DefaultPreferences()
	p.Off, p.Cap = []string{WeekAhead}, 20
	return Day{Grower: calendar.Grower{ID: "g", Email: "g@example.org"}, Preferences: p, Now: noon, Places: []Morning{*m}, Sent: sent}
}

func tell(m *Morning, sent ...calendar.Nudge) []calendar.Nudge {
	out, _ := Decide(day(m, sent...))
	return out
}

// spread draws ten days evenly from first on, step days apart.
func spread(first climate.Date, step int) climate.Sample {
	var out climate.Sample
	for i := range 10 {
		out = append(out, first+climate.Date(i*step))
	}
	return out
}

// planned is a work whose window is open in most draws from opens to closes.
func planned(r *calendar.Rule, opens, closes climate.Date) calendar.Planned {
	return calendar.Planned{
		Key: r.ID + "/2026/1", Rule: r, Work: workOf(r.Work), Title: "Do " + r.Work, Season: 2026,
		Window: calendar.Window{
			Opens:  climate.Spread{P10: opens - 5, P50: opens, P90: opens + 5},
			Closes: climate.Spread{P10: closes - 5, P50: closes, P90: closes + 5},
			Likely: opens + 3, Certainty: 0.8, Chance: 1,
		},
		Due: climate.NoDate, Done: climate.NoDate, Why: "the rule says so", Cautions: []string{"Look at the tree first."},
	}
}

// workOf is a work as the lore has it, as far as nudges look at it.
func workOf(id string) *calendar.Work {
	w := &calendar.Work{ID: id}
	switch id {
	case "repot":
		w.Hard = calendar.HardOnRoots
	case "first-style", "heavy-prune":
		w.Hard = calendar.HardOnBranches
	case shadeEnd, frostWatch, heatShade:
		w.Class = calendar.Protection
	}
	return w
}

// bench makes a morning with trees; each gets its season.
func bench() *Morning {
	return &Morning{
		Place: "bench",
		Plan: &calendar.Plan{
			On: today, Site: climate.Site{Name: "north bench", Zone: "Europe/Berlin", Lat: 50},
			Basis: climate.Basis{Source: "a station", Years: 12, Interpolated: 3},
		},
		Seasons: map[string]phenology.Season{},
	}
}

func (m *Morning) add(id string, s *calendar.Species, swell climate.Sample, seen climate.Date, works ...calendar.Planned) {
	m.Plan.Trees = append(m.Plan.Trees, calendar.TreePlan{Tree: &calendar.Tree{ID: id, Name: "tree " + id}, State: calendar.State{On: m.Plan.On}, Species: s, Works: works})
	m.Seasons[id] = phenology.Season{Year: 2026, Phases: map[phenology.Phase]phenology.Forecast{
		phenology.BudSwell: {Dates: swell, Seen: seen, Why: "41 of 60 units of warmth"},
	}}
}

func kinds(nudges []calendar.Nudge) (out []string) {
	for _, n := range nudges {
		out = append(out, n.Kind)
	}
	return out
}

func want(t *testing.T, got []calendar.Nudge, kinds ...string) {
	t.Helper()
	var have []string
	for _, n := range got {
		have = append(have, n.Kind)
	}
	if !slices.Equal(have, kinds) {
		t.Fatalf("decided %q, want %q", have, kinds)
	}
}

func TestBudsSwellFromHalfOn(t *testing.T) {
	none := climate.NoDate
	for _, c := range []struct {
		name  string
		swell climate.Sample
		tells bool
	}{
		{"not yet", spread(today+1, 1), false},
		{"four of ten", spread(today-3, 1), false},
		{"five of ten", spread(today-4, 1), true},
		{"long over", spread(today-swells-9, 1), false},
		{"half of it long over", spread(today-swells-4, 1), false},
		{"four of ten long over", spread(today-swells-3, 1), true},
		{"never", climate.Sample{none, none, none}, false},
		{"seldom", climate.Sample{today, none, none}, false},
		{"no draws", nil, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.add("1", maple, c.swell, none)
			if got := tell(m); (len(got) == 1) != c.tells {
				t.Fatalf("decided %q, want told: %v", kinds(got), c.tells)
			}
		})
	}
}

func TestBudsSwellBySigns(t *testing.T) {
	soon, late := spread(today+flushGap-4, 1), spread(today+flushGap-3, 1)
	for _, c := range []struct {
		name  string
		sign  *calendar.Species
		seen  climate.Date
		swell climate.Sample // of the maple
		tells bool
	}{
		{"one class earlier", &calendar.Species{Name: "x", Flush: phenology.Early}, today - 2, soon, true},
		{"one class earlier, and still far off", &calendar.Species{Name: "x", Flush: phenology.Early}, today - 2, late, false},
		{"two classes earlier", larch, today - 2, soon, false},
		{"later", beech, today - 2, soon, false},
		{"another tree of the species", maple, today - 2, soon, true},
		{"of a class not known", &calendar.Species{Name: "x"}, today - 2, soon, false},
		{"long ago", &calendar.Species{Name: "x", Flush: phenology.Early}, today - swells, soon, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.add("seen", c.sign, spread(c.seen, 0), c.seen)
			m.add("1", maple, c.swell, climate.NoDate)
			got := tell(m)
			if (len(got) == 1) != c.tells {
				t.Fatalf("decided %q, want told: %v", kinds(got), c.tells)
			}
			if c.tells && !strings.Contains(got[0].Body, "tree seen") {
				t.Errorf("the sign is not told:\n%s", got[0].Body)
			}
		})
	}
}

func TestWhatTheGrowerSawIsNotNews(t *testing.T) {
	for _, p := range []phenology.Phase{phenology.BudSwell, phenology.BudBreak, phenology.LeafOut, phenology.CandlesExtending} {
		m := bench()
		m.add("1", maple, spread(today-9, 1), climate.NoDate)
		f := m.Seasons["1"].Phases[p]
		f.Seen = today - 1
		m.Seasons["1"].Phases[p] = f
		want(t, tell(m))
	}
}

func TestFortyTreesAreOneMessage(t *testing.T) {
	m := bench()
	for i := range 40 {
		species := []*calendar.Species{maple, beech, larch}[i%3]
		m.add(fmt.Sprint(i), species, spread(today-6, 1), climate.NoDate, planned(repot, today-2, today+12))
	}
	got := tell(m)
	want(t, got, BudsSwell)
	for i := range 40 {
		if !strings.Contains(got[0].Body, fmt.Sprintf("tree %d:", i)) {
			t.Errorf("tree %d is not told of", i)
		}
	}
	if len(got[0].Subjects) != 3+40 {
		t.Errorf("%d subjects, want three species and forty windows", len(got[0].Subjects))
	}

	// The next mornings bring nothing new, and a further species its own message.
	want(t, tell(m, got...))
	m.Plan.On += 3
	m.add("pine", &calendar.Species{Name: "Pinus mugo"}, spread(today-3, 1), climate.NoDate)
	second := tell(m, got...)
	want(t, second, BudsSwell)
	if second[0].ID == got[0].ID || strings.Contains(second[0].Body, "Acer") {
		t.Errorf("the second message tells the first again:\n%s", second[0].Body)
	}

	// The next year it is told anew.
	for id, s := range m.Seasons {
		s.Year = 2027
		m.Seasons[id] = s
	}
	m.Plan.Trees[0].Works = nil
	if third := tell(m, append(got, second...)...); len(third) == 0 || third[0].Kind != BudsSwell || third[0].ID == got[0].ID {
		t.Errorf("in the next season: %q", kinds(third))
	}
}

func TestIDsAreStable(t *testing.T) {
	m := bench()
	m.add("1", maple, spread(today-6, 1), climate.NoDate, planned(repot, today-2, today+12), planned(feed, today-1, today+50))
	m.add("2", maple, spread(today-6, 1), climate.NoDate, planned(feed, today-1, today+50))
	first := tell(m)
	want(t, first, BudsSwell, WindowOpens)
	again := *m
	again.Plan = &calendar.Plan{On: today + 1, Site: m.Plan.Site, Trees: slices.Clone(m.Plan.Trees)}
	slices.Reverse(again.Plan.Trees)
	tomorrow := day(&again)
	tomorrow.Now = noon.AddDate(0, 0, 1)
	next, _ := Decide(tomorrow)
	for i, n := range next {
		if n.ID != first[i].ID {
			t.Errorf("%s has id %s the next day, and had %s", n.Kind, n.ID, first[i].ID)
		}
	}
	other := day(m)
	other.Grower.ID = "h"
	others, _ := Decide(other)
	for i, n := range others {
		if n.ID == first[i].ID {
			t.Errorf("%s has the same id for another grower", n.Kind)
		}
	}
}

func TestWindows(t *testing.T) {
	change := func(f func(*calendar.Planned)) calendar.Planned {
		w := planned(feed, today-1, today+20)
		f(&w)
		return w
	}
	for _, c := range []struct {
		name string
		work calendar.Planned
		want []string
	}{
		{"open", change(func(*calendar.Planned) {}), []string{WindowOpens}},
		{"opens today", planned(feed, today, today+9), []string{WindowOpens}},
		{"opens tomorrow", planned(feed, today+1, today+9), nil},
		{"closes today", planned(feed, today-9, today), []string{WindowOpens}},
		{"closed", planned(feed, today-9, today-1), nil},
		{"blocked", change(func(w *calendar.Planned) { w.Blocked = []calendar.Block{{Reason: "it rests", Until: today + 300}} }), nil},
		{"done", change(func(w *calendar.Planned) { w.Done = today - 1 }), nil},
		{"not likely to open", change(func(w *calendar.Planned) { w.Window.Chance = 0.4 }), nil},
		{"never opens", change(func(w *calendar.Planned) { w.Window.Opens.P50 = climate.NoDate }), nil},
		{"shade", planned(unveil, today, today+9), []string{ShadeEnds}},
		{"frost watch, no frost forecast", planned(frosts, today-9, today+9), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.add("1", maple, nil, climate.NoDate, c.work)
			got := tell(m)
			want(t, got, c.want...)
			if c.name == "closes today" {
				want(t, tell(m, got...), WindowCloses)
				return
			}
			want(t, tell(m, got...))
		})
	}
}

func TestFrostNear(t *testing.T) {
	nights := func(first climate.Date, tmin float64, origin climate.Origin) *climate.Record {
		return &climate.Record{First: first, Days: []climate.Day{{Tmin: tmin, TminOrigin: origin}}}
	}
	for _, c := range []struct {
		name   string
		nights *climate.Record
		tells  bool
	}{
		{"near", nights(today+1, nearFrost, climate.Predicted), true},
		{"warm", nights(today+1, nearFrost+0.1, climate.Predicted), false},
		{"last night", nights(today, -5, climate.Predicted), false},
		{"in two nights", nights(today+2, -5, climate.Predicted), false},
		{"not forecast", nights(today+1, 0, climate.Missing), false},
		{"only typical", nights(today+1, -5, climate.Typical), false},
		{"nothing known", nil, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.Nights = c.nights
			m.add("1", maple, nil, climate.NoDate, planned(frosts, today-9, today+9))
			m.add("2", maple, nil, climate.NoDate)
			got := tell(m)
			if !c.tells {
				want(t, got)
				return
			}
			want(t, got, FrostNear)
			if strings.Contains(got[0].Body, "tree 2") || got[0].Expires.After(noon.AddDate(0, 0, 2)) {
				t.Errorf("told as %+v", got[0])
			}
			want(t, tell(m, got...))
			m.Plan.On, m.Nights.First = today+1, today+2
			want(t, tell(m, got...), FrostNear) // another night
		})
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"a\r\nBcc: b": "a Bcc: b", " a\t b\x00\u2028c ": "a b c", "\xff木": "?木", "": "",
	} {
		if got := clean(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

// BenchmarkDecide decides a morning of 400 trees of which all swell.
func BenchmarkDecide(b *testing.B) {
	m := bench()
	for i := range 400 {
		m.add(fmt.Sprint(i), []*calendar.Species{maple, beech, larch}[i%3], spread(today-6, 1), climate.NoDate,
			planned(repot, today-2, today+12), planned(feed, today-1, today+60))
	}
	for b.Loop() {
		if len(tell(m)) != 2 {
			b.Fatal("want two nudges")
		}
	}
}
