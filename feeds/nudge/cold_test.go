package nudge

import (
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// forecast is a provider's forecast from a day on: a low and a high for each day.
func forecast(first climate.Date, values ...float64) *climate.Record {
	r := &climate.Record{Source: "a provider", First: first}
	for i := 0; i+1 < len(values); i += 2 {
		r.Days = append(r.Days, climate.Day{Tmin: values[i], Tmax: values[i+1], TminOrigin: climate.Predicted, TmaxOrigin: climate.Predicted})
	}
	return r
}

func TestRootCold(t *testing.T) {
	stand := -8.0
	known := &calendar.Species{Name: "known", RootsKilledBelow: &stand}
	hardy := &calendar.Species{Name: "hardy", Traits: []calendar.Trait{calendar.FrostHardyRoots}}
	unknown := &calendar.Species{Name: "unknown"}
	state := func(last map[string]climate.Date) calendar.State { return calendar.State{On: today, Last: last} }
	for _, c := range []struct {
		name    string
		species *calendar.Species
		tmin    float64
		state   calendar.State
		tells   bool
	}{
		{"colder than they stand", known, stand - potLag, state(nil), true},
		{"not so cold", known, stand - potLag + 0.1, state(nil), false},
		{"hardy, not known how much", hardy, -12, state(nil), true},
		{"hardy", hardy, -11.9, state(nil), false},
		{"not known", unknown, -5, state(nil), true},
		{"not known, milder", unknown, -4.9, state(nil), false},
		{"in winter shelter", known, -20, state(map[string]climate.Date{"winter-shelter": today - 60}), false},
		{"out of it again", known, -20, state(map[string]climate.Date{"winter-shelter": today - 60, "out-of-winter": today - 1}), true},
		{"in again", known, -20, state(map[string]climate.Date{"winter-shelter": today - 60, "out-of-winter": today - 90}), false},
		{"in since last winter, by the log", known, -20, state(map[string]climate.Date{"winter-shelter": today - 241}), true},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.Nights = forecast(today, 5, 9, c.tmin, 2)
			m.add("1", c.species, nil, climate.NoDate)
			m.Plan.Trees[0].State = c.state
			got := tell(m)
			if !c.tells {
				want(t, got)
				return
			}
			want(t, got, RootCold)
			if n := got[0]; !n.Urgent || !strings.Contains(n.Body, "−") || n.Links[0].Does != "did:winter-shelter" {
				t.Errorf("told as %+v", n)
			}
		})
	}
}

// A cold spell is told once as far as it was forecast, and again for nights that
// were not, and for trees that were not at risk before.
func TestColdSpell(t *testing.T) {
	m := bench()
	m.Nights = forecast(today, 5, 9, 1, 9, 1, 9, 1, 9, 1, 9)
	m.add("1", maple, nil, climate.NoDate, planned(frosts, today-9, today+30))
	first := tell(m)
	want(t, first, FrostNear)
	if len(first[0].Subjects) != ahead {
		t.Errorf("subjects %q", first[0].Subjects)
	}
	sent := first
	for range ahead - 1 {
		m.Plan.On++
		want(t, tell(m, sent...))
	}
	m.Plan.On++
	again := tell(m, sent...)
	want(t, again, FrostNear)

	m.Plan.On = today + 1
	m.add("2", maple, nil, climate.NoDate, planned(frosts, today+1, today+30))
	other := tell(m, sent...)
	want(t, other, FrostNear)
	if strings.Contains(other[0].Body, "tree 1") {
		t.Errorf("the first is told again:\n%s", other[0].Body)
	}

	// A mild night between two cold ones: the second is told when it comes near.
	m = bench()
	m.Nights = forecast(today, 5, 9, 1, 9, 6, 9, 1, 9)
	m.add("1", maple, nil, climate.NoDate, planned(frosts, today-9, today+30))
	sent = tell(m)
	m.Plan.On = today + 1
	want(t, tell(m, sent...))
	m.Plan.On = today + 2
	want(t, tell(m, sent...), FrostNear)
}

func TestFrostTenderTreesMindCold(t *testing.T) {
	fig := &calendar.Species{Name: "Ficus carica", Group: phenology.FrostTender}
	for low, tells := range map[float64]bool{nearCold: true, nearCold + 0.1: false} {
		m := bench()
		m.Nights = forecast(today+1, low, 15)
		m.add("1", fig, nil, climate.NoDate, planned(frosts, today-9, today+9))
		if got := tell(m); (len(got) == 1) != tells {
			t.Errorf("%v C: told %q", low, kinds(got))
		}
	}
}

func TestHeat(t *testing.T) {
	always := calendar.Rule{ID: "hot", Work: heatShade, Opens: calendar.Anchor{At: calendar.AtHeat}}
	for _, c := range []struct {
		name   string
		rule   *calendar.Rule
		nights *climate.Record
		tells  bool
	}{
		{"today", hot, forecast(today, 20, 32), true},
		{"tomorrow", hot, forecast(today, 20, 31.9, 20, 33), true},
		{"the day after", hot, forecast(today, 20, 30, 20, 30, 20, 40), false},
		{"a rule without a temperature", &always, forecast(today, 20, defaultHeat), true},
		{"not forecast", hot, &climate.Record{First: today, Days: []climate.Day{{Tmax: 40, TmaxOrigin: climate.Typical}}}, false},
		{"nothing known", hot, nil, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := bench()
			m.Nights = c.nights
			m.add("1", maple, nil, climate.NoDate, planned(c.rule, today+30, today+60)) // earlier than usual
			got := tell(m)
			if !c.tells {
				want(t, got)
				return
			}
			want(t, got, Heat)
			if !got[0].Urgent || got[0].Links[0].Does != "did:"+heatShade {
				t.Errorf("told as %+v", got[0])
			}
			want(t, tell(m, got...))
		})
	}
	m := bench()
	m.Nights = forecast(today, 20, 40, 20, 40, 20, 40, 20, 40)
	w := planned(hot, today, today+60)
	m.add("1", maple, nil, climate.NoDate, w)
	sent := tell(m)
	for range ahead - 1 {
		m.Plan.On++
		want(t, tell(m, sent...))
	}
	m.Plan.On++
	want(t, tell(m, sent...), Heat) // it goes on
	m.Plan.Trees[0].Works[0].Season = 2025
	want(t, tell(m, sent...)) // a window of last season
}

// Frost and heat are told by what they are where a tree stands.
func TestColdOnBenches(t *testing.T) {
	frame := &calendar.Bench{ID: "frame", Name: "frame", Exposure: climate.ColdFrame}
	wall := &calendar.Bench{ID: "wall", Name: "south wall", Exposure: climate.Sheltered}
	warm := &calendar.Bench{ID: "warm", Name: "greenhouse", Exposure: climate.Heated}
	hollow := &calendar.Bench{ID: "hollow", Name: "hollow", ShiftTmin: -3}
	broken := &calendar.Bench{ID: "broken", Name: "broken", Exposure: "no such"}
	fig := &calendar.Species{Name: "Ficus carica", Group: phenology.FrostTender}
	for _, c := range []struct {
		name    string
		bench   *calendar.Bench
		species *calendar.Species
		tmin    float64
		tells   bool
	}{
		{"in the open", nil, maple, 2, true},
		{"by a wall", wall, maple, 1.1, false},
		{"by a wall, colder", wall, maple, 1, true},
		{"in a frame", frame, maple, 1, false}, // 1 + 0.9 times 1.3
		{"in a frame, colder", frame, maple, 0.7, true},
		{"heated", warm, maple, -15, false},
		{"heated, but of the tropics", warm, fig, -15, true}, // 2 C
		{"in a hollow", hollow, maple, 5, true},
		{"in a hollow, milder", hollow, maple, 5.1, false},
		{"a bench that cannot be", broken, maple, 2, true},
	} {
		m := bench()
		m.Nights = forecast(today, 12, 20, c.tmin, 15)
		m.add("1", c.species, nil, climate.NoDate, planned(frosts, today-9, today+9))
		m.Plan.Trees[0].Bench = c.bench
		if got := tell(m); (len(got) == 1) != c.tells {
			t.Errorf("%s: told %q, want %v", c.name, kinds(got), c.tells)
		}
	}

	// Roots that stand -5 C, told at -7 C and below of the bench's own air.
	stand := -5.0
	potted := &calendar.Species{Name: "potted", RootsKilledBelow: &stand}
	m := bench()
	m.Nights = forecast(today, 5, 9, -8, 2)
	for id, b := range map[string]*calendar.Bench{"1": nil, "2": frame, "3": warm, "4": hollow} {
		m.add(id, potted, nil, climate.NoDate)
		m.Plan.Trees[len(m.Plan.Trees)-1].Bench = b
	}
	got := tell(m)
	want(t, got, RootCold)
	body := got[0].Body
	for tree, told := range map[string]bool{"tree 1": true, "tree 2": false, "tree 3": false, "tree 4": true} {
		if strings.Contains(body, tree+" ") != told {
			t.Errorf("%s: told %v, want %v in\n%s", tree, !told, told, body)
		}
	}
	for _, line := range []string{"Forecast minima: night to ", "Reckoned for hollow (open): night to "} {
		if !strings.Contains(body, line) {
			t.Errorf("lacks %q:\n%s", line, body)
		}
	}
	if strings.Contains(body, "frame") {
		t.Errorf("tells of a bench on which nothing is at risk:\n%s", body)
	}
}

// Of a day whose night is not known, a cover warms nothing.
func TestBenchOfADayWithoutNight(t *testing.T) {
	frame := &calendar.Bench{ID: "frame", Name: "frame", Exposure: climate.ColdFrame}
	if day := about(frame, climate.Day{Tmax: 30, TmaxOrigin: climate.Predicted}); day.Tmax != 30 {
		t.Errorf("maximum %v, want 30", day.Tmax)
	}
	if day := about(frame, climate.Day{Tmin: -1, Tmax: 4, TminOrigin: climate.Predicted, TmaxOrigin: climate.Predicted}); day.Tmin <= -1 || day.Tmax <= 4 {
		t.Errorf("on a cold day %v to %v, want it warmer than in the open", day.Tmin, day.Tmax)
	}
}
