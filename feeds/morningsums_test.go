package feeds

import (
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/wording"
)

// TestMorningsOfSums plans trees with pots, wire, shade and cut candles on ten mornings in each of three seasons
// while a record grows: what is reckoned for a work moves in few events, and says nothing of the morning.
func TestMorningsOfSums(t *testing.T) {
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	normals := &climate.Normals{
		Tmin: [12]float64{-3, -3, 0, 3, 7, 10, 12, 12, 9, 5, 1, -2},
		Tmax: [12]float64{3, 5, 10, 15, 19, 22, 24, 24, 20, 14, 8, 4},
	}
	site := climate.Site{Name: "bench", Lat: 50, Lon: 8, Elevation: 150, Zone: "UTC"}
	made, err := (&climate.Weather{Normals: normals, Seed: 5}).Outlook(site, climate.NewDate(2026, time.September, 1))
	if err != nil {
		t.Fatal(err)
	}
	weather := func(on climate.Date) climate.Weather {
		r := &climate.Record{Source: "made up", First: made.First}
		for i := range int(on - made.First) {
			m := &made.Members[3]
			r.Days = append(r.Days, climate.Day{Tmin: m.Tmin[i], Tmax: m.Tmax[i], TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
		}
		return climate.Weather{Normals: normals, Record: r}
	}
	judged := func(stage calendar.Stage) calendar.Entry {
		return calendar.Entry{On: climate.NewDate(2024, time.January, 1), Judged: &calendar.Judgement{Stage: stage, Strength: calendar.Strong}}
	}
	pot := calendar.Container{Kind: calendar.TrainingPot, Litres: 8}
	told := map[string]bool{}
	pairs, moved := 0, 0
	for _, season := range []struct {
		first climate.Date
		did   string
		days  int // before
	}{
		{climate.NewDate(2027, time.April, 20), calendar.WorkRepot, 3},
		{climate.NewDate(2027, time.June, 20), calendar.WorkWire, 60},
		{climate.NewDate(2027, time.November, 10), calendar.WorkWire, 120},
	} {
		var trees []calendar.Tree
		for species, stage := range map[string]calendar.Stage{
			"Acer campestre": calendar.StageBuilding, "Fagus sylvatica": calendar.StageRefining, "Larix decidua": calendar.StageBuilding,
			"Pinus sylvestris": calendar.StageBuilding, "Pinus thunbergii": calendar.StageRefining,
		} {
			trees = append(trees, calendar.Tree{
				ID: species, Name: species, Species: species, Origin: calendar.Nursery, Container: pot,
				Log: []calendar.Entry{judged(stage), {On: season.first - climate.Date(season.days), Did: season.did}},
			})
		}
		was := map[string]string{}
		for on := season.first; on < season.first+10; on++ {
			plan, err := newCommons(known).plan(known, &calendar.Place{Site: site, Weather: weather(on)}, nil, trees, on)
			if err != nil {
				t.Fatal(err)
			}
			is := map[string]string{}
			for _, e := range ics.Entries(wording.English, "ada", plan.Plan, "") {
				sums := reckoned(e.Description)
				for _, s := range sums {
					told[strings.Fields(s)[0]] = true
				}
				is[e.UID] = strings.Join(sums, "\n")
			}
			for uid, before := range was {
				now, ok := is[uid]
				if !ok || now == "" && before == "" {
					continue
				}
				if pairs++; now != before {
					moved++
					t.Logf("%v: %s\n  then: %s", on, before, now)
				}
			}
			was = is
		}
	}
	t.Logf("%d events with sums on two mornings, %d moved", pairs, moved)
	for _, want := range []string{"Soil", "Wire:", "Wire", "Shade", "Season", "Roots"} {
		if !told[want] {
			t.Errorf("no event reckons %s", want)
		}
	}
	if pairs < 300 || 50*moved > pairs {
		t.Errorf("of %d events with sums on two mornings %d moved, want no more than one in fifty", pairs, moved)
	}
}

// reckoned returns what a description reckons.
func reckoned(description string) (out []string) {
	for line := range strings.Lines(description) {
		if s, ok := strings.CutPrefix(line, "Reckoned: "); ok {
			out = append(out, strings.TrimSpace(s))
		}
	}
	return out
}
