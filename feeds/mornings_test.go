package feeds

import (
	"regexp"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/wording"
)

// farAhead is what a reason says until the day is a month off, once.
var farAhead = regexp.MustCompile(` More than a month ahead[^.]*\.`)

// TestMornings plans on successive mornings with the real planner. An event is
// revised only where its days moved, or the days that its reason tells: not
// because a day went by. Subscribers would fetch everything anew every day.
func TestMornings(t *testing.T) {
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	normals := &climate.Normals{
		Tmin: [12]float64{-3, -3, 0, 3, 7, 10, 12, 12, 9, 5, 1, -2},
		Tmax: [12]float64{3, 5, 10, 15, 19, 22, 24, 24, 20, 14, 8, 4},
	}
	site := climate.Site{Name: "bench", Lat: 50, Lon: 8, Elevation: 150, Zone: "UTC"}
	var trees []calendar.Tree
	for _, s := range []string{"Acer campestre", "Fagus sylvatica", "Larix decidua", "Pinus sylvestris", "Juniperus communis"} {
		trees = append(trees, calendar.Tree{ID: s, Name: s, Species: s, Origin: calendar.Collected})
	}
	made, err := (&climate.Weather{Normals: normals, Seed: 5}).Outlook(site, climate.NewDate(2025, time.September, 1))
	if err != nil {
		t.Fatal(err)
	}
	record := func(last climate.Date) *climate.Record {
		r := &climate.Record{Source: "made up", First: made.First}
		for i := range int(last-made.First) + 1 {
			m := &made.Members[3]
			r.Days = append(r.Days, climate.Day{Tmin: m.Tmin[i], Tmax: m.Tmax[i], TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
		}
		return r
	}
	first := climate.NewDate(2027, time.March, 10)
	for name, weather := range map[string]func(on climate.Date) climate.Weather{
		"normals as typed": func(climate.Date) climate.Weather { return climate.Weather{Normals: normals} },
		"a record as it grows": func(on climate.Date) climate.Weather {
			return climate.Weather{Normals: normals, Record: record(on - 1)}
		},
		"a record that has ended": func(climate.Date) climate.Weather {
			return climate.Weather{Normals: normals, Record: record(first - 1)}
		},
	} {
		t.Run(name, func(t *testing.T) {
			was := map[string]ics.Entry{}
			works := map[string]*calendar.Planned{}
			both, revised, aged, moved := 0, 0, 0, 0
			for on := first; on < first+4; on++ {
				plan, err := newCommons(known).plan(known, &calendar.Place{Site: site, Weather: weather(on)}, nil, trees, on)
				if err != nil {
					t.Fatal(err)
				}
				is, now := map[string]ics.Entry{}, map[string]*calendar.Planned{}
				for _, e := range ics.Entries(wording.English, "ada", plan.Plan, "") {
					is[e.UID] = e
				}
				for i := range plan.Trees {
					for k := range plan.Trees[i].Works {
						w := &plan.Trees[i].Works[k]
						now[ics.UID("ada", "tree "+plan.Trees[i].Tree.ID, w.Key)] = w
					}
				}
				for uid, e := range is {
					before, ok := was[uid]
					if !ok {
						continue
					}
					both++
					if e.Digest == before.Digest {
						continue
					}
					revised++
					a, b := works[uid], now[uid]
					if a.Window != b.Window || a.Due != b.Due || e.First != before.First || e.Last != before.Last || e.Tentative != before.Tentative {
						continue
					}
					if farAhead.ReplaceAllString(a.Why, "") != farAhead.ReplaceAllString(b.Why, "") {
						t.Errorf("%v: %s is revised, though its days are as they were:\n  %s\n  %s", on, e.Summary, a.Why, b.Why)
					}
					aged++
				}
				for uid, w := range now {
					if before := works[uid]; before != nil && before.SoFar != "" && before.SoFar != w.SoFar {
						moved++
					}
				}
				was, works = is, now
			}
			t.Logf("%d events on two mornings, %d revised, %d of them with the same days; so far moved for %d", both, revised, aged, moved)
			if grows := name == "a record as it grows"; both < 200 || !grows && 20*revised > both || grows && moved == 0 {
				t.Errorf("%d events on two mornings, %d revised; so far moved for %d", both, revised, moved)
			}
		})
	}
}
