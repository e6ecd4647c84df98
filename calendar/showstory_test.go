package calendar_test

import (
	"fmt"
	"strings"
	"testing"

	"budswell/calendar"
)

// showStory is one tree entered for one show, and what its way there must say.
type showStory struct {
	name, place, on, species string
	log                      string
	container                string
	show                     string // its first day
	look                     calendar.Look
	expect                   []showExpectation
}

// showExpectation is one thing that the way to a show must say; it returns what
// is wrong.
type showExpectation func(p *calendar.ShowPlan) string

func stepsOf(p *calendar.ShowPlan, work string) []calendar.ShowStep {
	var out []calendar.ShowStep
	for _, s := range p.Steps {
		if s.Work.ID == work {
			out = append(out, s)
		}
	}
	return out
}

// step: the work stands on the way once, with this status, opens by its median in
// a span and is right at the latest on a day of another.
func step(work string, status calendar.StepStatus, opens, latest [2]string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		all := stepsOf(p, work)
		if len(all) != 1 {
			return fmt.Sprintf("%d steps %s, want one", len(all), work)
		}
		s := all[0]
		o, l := s.Window.Opens.P50.String(), s.Latest.String()
		if s.Status != status || o < opens[0] || o > opens[1] || l < latest[0] || l > latest[1] {
			return fmt.Sprintf("%s: %s, opens %s, latest %s, blocked %v; want %s, %v, %v", work, s.Status, o, l, s.Blocked, status, opens, latest)
		}
		return ""
	}
}

func days(from, to string) [2]string { return [2]string{from, to} }

var anyDay = days("", "9")

func noStep(work string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		if n := len(stepsOf(p, work)); n > 0 {
			return fmt.Sprintf("%d steps %s, want none", n, work)
		}
		return ""
	}
}

// lastChance: the step can also be taken a season later, from a day of the span.
func lastChance(work, from, to string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		for _, s := range stepsOf(p, work) {
			if w := s.LastChance; w != nil && w.Opens.P50.String() >= from && w.Opens.P50.String() <= to {
				return ""
			}
		}
		return work + " has no last chance in that span"
	}
}

func heldUp(work, reason string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		for _, s := range stepsOf(p, work) {
			for _, b := range s.Blocked {
				if strings.Contains(b.Reason, reason) {
					return ""
				}
			}
		}
		return fmt.Sprintf("%s is not held up with %q", work, reason)
	}
}

// given: the chance of the look lies in a range, and its words say something.
func given(low, high float64, words ...string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		if p.Look.Chance < low || p.Look.Chance > high {
			return fmt.Sprintf("chance %.2f, want %.2f to %.2f: %s", p.Look.Chance, low, high, p.Look.Says)
		}
		for _, w := range words {
			if !strings.Contains(p.Look.Says, w) {
				return fmt.Sprintf("%q does not say %q", p.Look.Says, w)
			}
		}
		return ""
	}
}

// likeliest: the days on which the look is likeliest begin and end in a span.
func likeliest(from, to string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		if p.Look.From.String() < from || p.Look.To.String() > to {
			return fmt.Sprintf("likeliest %v to %v, want within %s to %s", p.Look.From, p.Look.To, from, to)
		}
		return ""
	}
}

func ready(id string, status calendar.Readiness, words string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		for _, c := range p.Ready {
			if c.ID != id {
				continue
			}
			if c.Status != status || !strings.Contains(c.Says, words) {
				return fmt.Sprintf("%s: %s, %q; want %s, %q", id, c.Status, c.Says, status, words)
			}
			return ""
		}
		return "no criterion " + id
	}
}

func restsUntil(from, to string) showExpectation {
	return func(p *calendar.ShowPlan) string {
		if u := p.RestUntil.String(); u < from || u > to {
			return fmt.Sprintf("rests until %s, want %s to %s", u, from, to)
		}
		return ""
	}
}

// refined is the log of a tree that is refined and has no wire and no field soil.
const refined = "2022-01-01 judged refining strong"

// The stories: what is expected is common practice, no published source, and where
// it speaks of weeks and months, what such a climate is known for.
var showStories = []showStory{
	{
		"a maple for its winter silhouette", "temperate", "2026-03-01", "Acer campestre",
		refined + "; 2026-02-20 did wire", "", "2028-02-12", calendar.WinterSilhouette,
		[]showExpectation{
			given(0.9, 1, "Winter silhouette"),
			step("pot-change", calendar.StepToCome, days("2026-03-10", "2026-04-20"), days("2027-04-05", "2027-05-15")),
			lastChance("pot-change", "2027-03-10", "2027-04-20"),
			step("unwire", calendar.StepToCome, days("2026-06-01", "2026-11-30"), days("2027-02-01", "2027-07-31")),
			step("show-prepare", calendar.StepToCome, days("2027-12-01", "2027-12-20"), days("2028-01-01", "2028-01-15")),
			step("last-leaves", calendar.StepToCome, days("2027-11-01", "2028-01-01"), days("2028-02-01", "2028-02-11")),
			step("moss", calendar.StepToCome, days("2028-01-15", "2028-01-15"), days("2028-01-29", "2028-01-29")),
			step("show-clean", calendar.StepToCome, days("2028-02-05", "2028-02-05"), days("2028-02-11", "2028-02-11")),
			step("feed-low-nitrogen", calendar.StepToCome, days("2027-08-01", "2027-09-15"), days("2027-10-01", "2027-11-30")),
			noStep("defoliate"), noStep("prune"), noStep("flower-buds"),
			ready(calendar.ReadyWire, calendar.NotYet, "since 2026-02-20"),
			ready(calendar.ReadyPot, calendar.NotYet, "not in it"),
			ready(calendar.ReadySoil, calendar.Met, ""),
			ready(calendar.ReadyLook, calendar.Met, ""),
			restsUntil("2028-08-01", "2028-12-31"),
		},
	},
	{
		"the same maple, all done", "temperate", "2028-02-10", "Acer campestre",
		refined + "; 2026-02-20 did wire; 2026-09-15 did unwire; 2027-04-05 did pot-change; 2027-12-05 did show-prepare; 2028-01-20 did moss; 2028-02-08 did show-clean",
		"", "2028-02-12", calendar.WinterSilhouette,
		[]showExpectation{
			step("pot-change", calendar.StepDone, anyDay, anyDay),
			step("unwire", calendar.StepDone, anyDay, anyDay),
			step("moss", calendar.StepDone, anyDay, anyDay),
			step("show-clean", calendar.StepDone, anyDay, anyDay),
			step("show-travel", calendar.StepNow, anyDay, days("2028-02-11", "2028-02-11")),
			ready(calendar.ReadyStage, calendar.Met, ""), ready(calendar.ReadyPot, calendar.Met, "2027-04-05"),
			ready(calendar.ReadyWire, calendar.Met, "2026-09-15"), ready(calendar.ReadySurface, calendar.Met, "2028-01-20"),
			ready(calendar.ReadyRest, calendar.Met, ""),
		},
	},
	{
		"the same maple, too late for everything", "temperate", "2027-12-01", "Acer campestre", refined + "; 2026-02-20 did wire",
		"", "2028-02-12", calendar.WinterSilhouette,
		[]showExpectation{
			step("pot-change", calendar.StepOver, anyDay, days("2027-04-01", "2027-05-15")),
			step("unwire", calendar.StepOver, anyDay, days("2027-02-01", "2027-07-31")),
			ready(calendar.ReadyPot, calendar.OutOfReach, "to be done by 2027-"),
			ready(calendar.ReadyWire, calendar.OutOfReach, "since 2026-02-20"),
			step("moss", calendar.StepToCome, anyDay, days("2028-01-29", "2028-01-29")),
		},
	},
	{
		"wire that came off too late", "temperate", "2027-12-01", "Acer campestre", refined + "; 2026-02-20 did wire; 2027-11-20 did unwire",
		"", "2028-02-12", calendar.WinterSilhouette,
		[]showExpectation{ready(calendar.ReadyWire, calendar.OutOfReach, "marks may still show")},
	},
	{
		"a pot changed in the season of the show", "temperate", "2026-08-01", "Carpinus betulus", refined + "; 2026-04-02 did pot-change",
		"", "2026-11-28", calendar.WinterSilhouette,
		[]showExpectation{
			ready(calendar.ReadyPot, calendar.OutOfReach, "40 weeks"), ready(calendar.ReadyRest, calendar.OutOfReach, "would spoil the show"),
		},
	},
	{
		"asked for autumn colour in summer", "temperate", "2026-03-01", "Acer campestre", refined, "", "2027-09-20", calendar.AutumnColour,
		[]showExpectation{
			given(0, 0.1, "comes about", "weeks later here", "likeliest between 2027-1"), likeliest("2027-10-01", "2027-11-15"),
			ready(calendar.ReadyLook, calendar.OutOfReach, "later here"),
			step("show-colour", calendar.StepToCome, days("2027-07-01", "2027-08-31"), days("2027-08-01", "2027-09-20")),
			noStep("last-leaves"),
		},
	},
	{
		"asked for autumn colour in December", "temperate", "2026-03-01", "Acer campestre", refined, "", "2026-12-10", calendar.AutumnColour,
		[]showExpectation{given(0, 0.1, "is over here about", "before then"), likeliest("2026-10-01", "2026-11-20")},
	},
	{
		"asked for a bare tree at midsummer", "temperate", "2026-03-01", "Acer campestre", refined, "", "2027-06-20", calendar.WinterSilhouette,
		[]showExpectation{given(0, 0.05, "Winter silhouette is over here", "weeks before then", "2027-06-20"), likeliest("2026-11-01", "2027-04-15")},
	},
	{
		"a maple in leaf in late summer", "temperate", "2026-03-01", "Acer campestre", refined, "", "2027-09-04", calendar.InLeaf,
		[]showExpectation{
			given(0.9, 1, "In leaf"),
			step("defoliate", calendar.StepToCome, days("2027-05-20", "2027-06-30"), days("2027-06-10", "2027-07-11")),
			step("prune", calendar.StepToCome, days("2027-06-20", "2027-07-20"), days("2027-08-14", "2027-08-14")),
			noStep("last-leaves"),
		},
	},
	{
		"a maple in leaf too early for a new set of leaves", "temperate", "2026-03-01", "Acer campestre", refined, "", "2027-06-20", calendar.InLeaf,
		[]showExpectation{noStep("defoliate")},
	},
	{
		"a beech gives up some leaves only", "temperate", "2026-03-01", "Fagus sylvatica", refined, "", "2027-09-04", calendar.InLeaf,
		[]showExpectation{func(p *calendar.ShowPlan) string {
			for _, s := range stepsOf(p, "defoliate") {
				if s.Rule.ID == "show-defoliate-partial-leaf" {
					return ""
				}
			}
			return "no step to take off some leaves"
		}},
	},
	{
		"a Scots pine in autumn", "temperate", "2026-03-01", "Pinus sylvestris", refined + "; 2026-02-01 did wire", "", "2027-11-06", calendar.Evergreen,
		[]showExpectation{
			given(0.9, 1, "Foliage at its best"),
			step("pot-change", calendar.StepToCome, days("2026-03-10", "2026-05-01"), days("2026-04-01", "2026-06-15")),
			step("unwire", calendar.StepToCome, days("2027-05-01", "2027-07-31"), days("2027-10-01", "2027-10-31")),
			step("needle-thin", calendar.StepToCome, days("2027-07-01", "2027-09-30"), days("2027-09-15", "2027-10-31")),
			noStep("defoliate"), noStep("last-leaves"), noStep("candle-cut"),
			ready(calendar.ReadyWire, calendar.NotYet, "since 2026-02-01"),
		},
	},
	{
		"a pine in full flush", "temperate", "2026-03-01", "Pinus sylvestris", refined, "", "2027-06-05", calendar.Evergreen,
		[]showExpectation{given(0, 0.3, "Foliage at its best")},
	},
	{
		"a black pine's candles are counted back from the show", "temperate", "2026-03-01", "Pinus thunbergii", refined + "; 2025-04-01 did pot-change", "", "2026-10-20", calendar.Evergreen,
		[]showExpectation{
			step("candle-cut", calendar.StepToCome, days("2026-06-01", "2026-07-05"), days("2026-06-20", "2026-07-07")),
			step("pot-change", calendar.StepDone, anyDay, anyDay),
		},
	},
	{
		"a maple for winter in the south", "southern", "2026-08-01", "Acer campestre", refined, "", "2028-07-20", calendar.WinterSilhouette,
		[]showExpectation{
			given(0.9, 1, "Winter silhouette"),
			step("pot-change", calendar.StepToCome, days("2026-08-15", "2026-10-15"), days("2027-09-01", "2027-11-15")),
			lastChance("pot-change", "2027-08-15", "2027-10-15"),
			step("last-leaves", calendar.StepToCome, days("2028-04-01", "2028-06-15"), days("2028-07-01", "2028-07-19")),
			step("feed-low-nitrogen", calendar.StepToCome, days("2028-02-01", "2028-03-15"), days("2028-03-15", "2028-06-15")),
			step("moss", calendar.StepToCome, days("2028-06-22", "2028-06-22"), days("2028-07-06", "2028-07-06")),
		},
	},
	{
		"autumn colour in the southern autumn", "southern", "2026-08-01", "Acer campestre", refined, "", "2027-10-10", calendar.AutumnColour,
		[]showExpectation{given(0, 0.05, "utumn colour")},
	},
	{
		"a maple where winter never comes", "tropical", "2026-03-01", "Acer campestre", refined, "", "2027-02-12", calendar.WinterSilhouette,
		[]showExpectation{given(0, 0.1, "hardly any year here", "another look"), noStep("pot-change"), noStep("last-leaves")},
	},
	{
		"a fig where winter never comes", "tropical", "2026-03-01", "Ficus microcarpa", refined, "", "2027-02-12", calendar.Evergreen,
		[]showExpectation{
			given(0.95, 1, "Foliage at its best"), step("defoliate", calendar.StepToCome, days("2026-11-01", "2027-01-05"), days("2026-12-01", "2027-01-05")),
		},
	},
	{
		"a fig in the northern winter", "temperate", "2026-03-01", "Ficus microcarpa", refined, "", "2027-01-20", calendar.Evergreen,
		[]showExpectation{given(0, 0.05, "Foliage at its best"), noStep("defoliate")},
	},
	{
		"a fig in the southern summer, where nights are fresh", "southern", "2026-08-15", "Ficus microcarpa", refined, "", "2027-01-20", calendar.Evergreen,
		[]showExpectation{given(0.9, 1, "Foliage at its best")},
	},
	{
		"an azalea in flower", "temperate", "2026-03-01", "Rhododendron indicum", refined, "", "2028-05-27", calendar.Flowering,
		[]showExpectation{
			func(p *calendar.ShowPlan) string {
				if p.Look.Best < 0.4 {
					return p.Look.Says
				}
				return ""
			},
			step("pot-change", calendar.StepToCome, days("2026-05-01", "2026-08-01"), days("2027-06-01", "2027-08-31")),
			step("flower-buds", calendar.StepToCome, days("2028-04-22", "2028-04-22"), days("2028-05-17", "2028-05-17")),
		},
	},
	{
		"a hornbeam in ten years", "temperate", "2026-03-01", "Carpinus betulus", "2026-02-20 judged building strong", "", "2036-02-12", calendar.WinterSilhouette,
		[]showExpectation{
			given(0.9, 1, "Winter silhouette"),
			step("pot-change", calendar.StepToCome, days("2034-03-10", "2034-05-01"), days("2035-04-01", "2035-05-31")),
			ready(calendar.ReadyStage, calendar.NotYet, "building"),
		},
	},
	{
		"a tree dug last year, in ten years", "temperate", "2026-03-01", "Pinus sylvestris", "2025-04-10 did collected", "", "2036-02-12", calendar.Evergreen,
		[]showExpectation{
			ready(calendar.ReadyStage, calendar.NotYet, "recovering"), ready(calendar.ReadySoil, calendar.NotYet, "2 repots to go"),
			ready(calendar.ReadyStructure, calendar.NotYet, "second styling"), ready(calendar.ReadyStrength, calendar.NotYet, "recovers"),
		},
	},
	{
		"a tree dug last year, next winter", "temperate", "2026-03-01", "Carpinus betulus", "2025-03-20 did collected", "", "2027-02-12", calendar.WinterSilhouette,
		[]showExpectation{
			ready(calendar.ReadyStage, calendar.OutOfReach, "growing seasons at least"), ready(calendar.ReadySoil, calendar.NotYet, "100 %"),
			ready(calendar.ReadyStructure, calendar.OutOfReach, "second styling"),
			heldUp("pot-change", "stage"),
		},
	},
	{
		"a leap day's show", "maritime", "2027-06-01", "Acer campestre", refined, calendar.FinalPot, "2028-02-29", calendar.WinterSilhouette,
		[]showExpectation{
			step("moss", calendar.StepToCome, days("2028-02-01", "2028-02-01"), days("2028-02-15", "2028-02-15")),
			step("pot-change", calendar.StepSpared, anyDay, anyDay), ready(calendar.ReadyPot, calendar.Met, "does not say since when"),
		},
	},
	{
		"shown a few months ago", "temperate", "2026-12-01", "Carpinus betulus", "2024-01-01 judged exhibition strong; 2026-11-20 did show", calendar.FinalPot, "2027-02-20", calendar.WinterSilhouette,
		[]showExpectation{ready(calendar.ReadyShown, calendar.OutOfReach, "2026-11-20"), heldUp("moss", "show (done on 2026-11-20)")},
	},
}

func TestShowStories(t *testing.T) {
	planners := map[string]*calendar.Planner{}
	for _, s := range showStories {
		t.Run(s.name, func(t *testing.T) {
			key := s.place + s.on
			if planners[key] == nil {
				planners[key] = planner(t, s.place, s.on)
			}
			tree := calendar.Tree{ID: "t", Name: "the tree", Species: s.species, Origin: calendar.Nursery, Log: entries(t, s.log)}
			if strings.Contains(s.log, "collected") {
				tree.Origin = calendar.Collected
			}
			tree.Container.Kind = s.container
			p, err := planners[key].ShowPlan(calendar.Show{Name: "the show", On: d(t, s.show), Look: s.look}, tree)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range s.expect {
				if wrong := f(p); wrong != "" {
					t.Error(wrong)
				}
			}
		})
	}
}
