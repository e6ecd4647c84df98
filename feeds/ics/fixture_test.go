package ics

import (
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// on is the day of the plan that the tests write.
var on = climate.NewDate(2027, time.March, 1)

func d(m time.Month, day int) climate.Date { return climate.NewDate(2027, m, day) }

func spread(a, b, c climate.Date) climate.Spread { return climate.Spread{P10: a, P50: b, P90: c} }

// fixture is a plan made by hand with one of each kind of work: near, far, long,
// blocked for a while, blocked for good, repeated, done, unlikely.
func fixture() *calendar.Plan {
	repot := &calendar.Work{ID: "repot", Title: "Repot", Class: calendar.Roots, Hard: calendar.HardOnRoots}
	prune := &calendar.Work{ID: "prune", Title: "Prune", Class: calendar.Branches, Hard: calendar.HardOnBranches}
	feed := &calendar.Work{ID: "feed", Title: "Feed", Class: calendar.Feeding}
	maple := &calendar.Species{Name: "Acer campestre", Group: phenology.Deciduous}
	p := &calendar.Plan{
		On:    on,
		Site:  climate.Site{Name: "north bench", Lat: 50.1, Lon: 8.7, Zone: "Europe/Berlin"},
		Basis: climate.Basis{Source: "a station", Years: 12, Generated: 18, Measured: 365},
		Trees: []calendar.TreePlan{{
			Tree:    &calendar.Tree{ID: "ridge-maple", Name: "ridge maple", Species: "field maple", Container: calendar.Container{Litres: 12}},
			Species: maple,
			State:   calendar.State{Stage: calendar.StageBuilding},
			Next:    "Repot at bud swell.",
			Works: []calendar.Planned{{
				Key: "repot-deciduous/2027", Title: "Repot", Season: 2027, Work: repot,
				Rule: &calendar.Rule{ID: "repot-deciduous", Minutes: 120, Materials: []string{"pumice", "wire; raffia"}, Not: "once leaves are open"},
				Window: calendar.Window{
					Opens: spread(d(3, 5), d(3, 9), d(3, 20)), Closes: spread(d(3, 20), d(3, 28), d(4, 9)),
					Likely: d(3, 14), Certainty: 0.78, Chance: 1,
				},
				Why:      "41 of 60 units of warmth since 1 February, in 8 of 10 springs between 5 and 20 March",
				Cautions: []string{"Sharp tools: cut away from yourself."},
			}, {
				Key: "prune-heavy/2027", Title: "Prune hard", Season: 2027, Work: prune, Rule: &calendar.Rule{ID: "prune-heavy", Minutes: 45},
				Window: calendar.Window{
					Opens: spread(d(6, 1), d(6, 9), d(6, 20)), Closes: spread(d(7, 1), d(7, 10), d(7, 20)),
					Likely: d(6, 20), Certainty: 0.9, Chance: 0.9,
				},
				Why:     "leaves are hardened by then",
				Blocked: []calendar.Block{{Reason: "a heavy repot this season", Until: climate.NoDate}},
			}, {
				Key: "shape/2027", Title: "Trim shoots", Season: 2027, Work: prune, Rule: &calendar.Rule{ID: "shape", Minutes: 20},
				Window: calendar.Window{
					Opens: spread(d(5, 1), d(5, 9), d(5, 20)), Closes: spread(d(5, 28), d(6, 8), d(6, 20)),
					Likely: d(5, 20), Certainty: 0.9, Chance: 0.97,
				},
				Why:     "shoots have five leaves",
				Blocked: []calendar.Block{{Reason: "roots rest after the repot", Until: d(5, 15)}},
			}, {
				Key: "winter-shelter/2027", Title: "Winter shelter", Season: 2027, Rule: &calendar.Rule{ID: "winter-shelter"},
				Work: &calendar.Work{ID: "shelter", Title: "Shelter", Class: calendar.Protection},
				Window: calendar.Window{
					Opens: spread(d(11, 1), d(11, 20), d(12, 5)), Closes: spread(d(12, 30), d(12, 31)+60, d(12, 31)+80),
					Likely: d(12, 20), Certainty: 0.95, Chance: 1,
				},
				Why: "roots in pots stand less cold than the crown",
			}, {
				Key: "feed/2027/3", Title: "Feed", Season: 2027, Work: feed, Rule: &calendar.Rule{ID: "feed", Every: 14, Minutes: 5},
				Due: d(3, 12),
				Window: calendar.Window{
					Opens: spread(d(3, 1), d(3, 5), d(3, 9)), Closes: spread(d(9, 1), d(9, 10), d(9, 20)),
					Likely: d(3, 12), Certainty: 1, Chance: 1,
				},
				Why: "it builds",
			}, {
				Key: "wire-off/2026", Title: "Take the wire off", Season: 2026, Done: d(2, 20),
				Work:   &calendar.Work{ID: "wire-off", Title: "Wire off", Class: calendar.Wire},
				Window: calendar.Window{Opens: spread(d(2, 1), d(2, 5), d(2, 9)), Closes: spread(d(3, 1), d(3, 5), d(3, 9)), Likely: d(2, 20), Certainty: 1, Chance: 1},
				Why:    "it bit in",
			}, {
				Key: "heat/2027", Title: "Shade in heat", Season: 2027,
				Work:   &calendar.Work{ID: "heat", Title: "Shade", Class: calendar.Protection},
				Window: calendar.Window{Opens: spread(d(7, 1), d(7, 5), d(7, 9)), Closes: spread(d(7, 8), d(7, 12), d(7, 20)), Likely: d(7, 6), Certainty: 1, Chance: 0.04},
			}},
		}},
	}
	for i := range p.Trees[0].Works {
		w := &p.Trees[0].Works[i]
		if w.Due == 0 {
			w.Due = climate.NoDate
		}
		if w.Done == 0 {
			w.Done = climate.NoDate
		}
	}
	return p
}

// render revises as a store would that knew nothing before, and writes.
func render(t testing.TB, c *Calendar) []byte {
	t.Helper()
	b, err := c.Bytes(firstRevisions(c))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func firstRevisions(c *Calendar) map[string]calendar.Revision {
	out := map[string]calendar.Revision{}
	for _, r := range c.Digests() {
		r.Modified = time.Date(2027, time.March, 1, 5, 30, 0, 0, time.UTC)
		out[r.UID] = r
	}
	return out
}

func feed(p *calendar.Plan) *Calendar {
	return &Calendar{
		UID: UID("grower", "feed", "all"), Name: "All work", Description: "What the trees of north bench need.",
		URL: "https://trees.example/", Entries: Entries(wording.English, "grower", p, "https://trees.example/"),
	}
}
