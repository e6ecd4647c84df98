package calendar_test

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/phenology"
)

// storyPlace is where a story plays.
type storyPlace struct {
	site    climate.Site
	normals climate.Normals
}

// The places of the stories: monthly normals, rounded, of no station in
// particular; the stories only need their kind of climate.
var places = map[string]storyPlace{
	"temperate": {climate.Site{Name: "river bench", Lat: 50.1, Lon: 8.7, Elevation: 120, Zone: "Europe/Berlin"}, climate.Normals{
		Tmin: [12]float64{-1.5, -1.3, 1.4, 4.3, 8.6, 11.8, 13.7, 13.2, 9.8, 6.2, 2.3, -0.4},
		Tmax: [12]float64{4.2, 6.1, 10.9, 15.9, 20.3, 23.5, 25.6, 25.2, 20.4, 14.4, 8.2, 4.8},
	}},
	"maritime": {climate.Site{Name: "sea bench", Lat: 55.5, Lon: -4.5, Elevation: 30, Zone: "Europe/London"}, climate.Normals{
		Tmin: [12]float64{2, 2, 3, 4.5, 7, 9.7, 11.7, 11.6, 9.8, 7.2, 4.2, 2.2},
		Tmax: [12]float64{7, 7.4, 9.2, 12, 15, 17.2, 18.8, 18.7, 16.6, 13.2, 9.7, 7.3},
	}},
	"continental": {climate.Site{Name: "plains bench", Lat: 45, Lon: -93.2, Elevation: 260, Zone: "America/Chicago"}, climate.Normals{
		Tmin: [12]float64{-14, -12, -5, 2, 9, 15, 18, 16, 11, 4, -3, -10},
		Tmax: [12]float64{-4, -2, 5, 14, 21, 26, 29, 27, 22, 14, 5, -2},
	}},
	"boreal": {climate.Site{Name: "north bench", Lat: 65, Lon: 25.5, Elevation: 20, Zone: "Europe/Helsinki"}, climate.Normals{
		Tmin: [12]float64{-13.5, -13, -9, -3, 3, 8.5, 11.7, 10, 5.5, 0.3, -5, -10},
		Tmax: [12]float64{-6, -5.6, -1, 5, 11.6, 17, 20.3, 18, 12.5, 5.6, 0, -4},
	}},
	"southern": {climate.Site{Name: "range bench", Lat: -35.3, Lon: 149.1, Elevation: 580, Zone: "Australia/Sydney"}, climate.Normals{
		Tmin: [12]float64{13.2, 13.1, 10.7, 6.7, 3.2, 1, -0.1, 1, 3.3, 6.1, 8.8, 11.4},
		Tmax: [12]float64{28, 27.1, 24.5, 20, 15.6, 12.3, 11.4, 13, 16.2, 19.4, 22.7, 26.1},
	}},
	"tropical": {climate.Site{Name: "island bench", Lat: 1.3, Lon: 103.8, Elevation: 15, Zone: "Asia/Singapore"}, climate.Normals{
		Tmin: [12]float64{24, 24.3, 24.6, 25, 25.4, 25.4, 25, 25, 24.8, 24.7, 24.3, 24},
		Tmax: [12]float64{30.5, 31.4, 32, 32.2, 32, 31.6, 31.2, 31.2, 31.3, 31.6, 31, 30.3},
	}},
}

var loadLore = sync.OnceValues(func() (*calendar.Lore, error) { return lore.Load() })

func d(t testing.TB, s string) climate.Date {
	t.Helper()
	v, err := climate.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// planner makes the planner of a place on a day.
func planner(t testing.TB, place, on string, seen ...phenology.Sighting) *calendar.Planner {
	t.Helper()
	p, ok := places[place]
	if !ok {
		p = storyPlaces[place]
	}
	l, err := loadLore()
	if err != nil {
		t.Fatal(err)
	}
	w := &climate.Weather{Normals: &p.normals, Seed: 1}
	if spells := spells[place]; spells != nil {
		w.Record = spelled(t, p.site, &p.normals, spells, d(t, on))
	}
	o, err := w.Outlook(p.site, d(t, on))
	if err != nil {
		t.Fatal(err)
	}
	f, err := phenology.NewForecaster(o, seen)
	if err != nil {
		t.Fatal(err)
	}
	return calendar.NewPlanner(l, o, f)
}

// story is one tree at one place on one day, and what its plan must say.
type story struct {
	name, place, on, species string
	origin                   calendar.Origin
	log                      string // such as "2026-03-20 did collected; 2026-05-01 saw leaf-out"
	expect                   []expectation
}

// expectation is one thing that a plan must say; it returns what is wrong.
type expectation func(p *calendar.TreePlan) string

// works returns the works of a kind whose likely day lies in a span, or in all
// of the plan.
func works(p *calendar.TreePlan, kind, from, to string) []calendar.Planned {
	var out []calendar.Planned
	for _, w := range p.Works {
		likely := w.Window.Likely.String()
		if w.Due.Valid() {
			likely = w.Due.String()
		}
		if w.Work.ID == kind && likely >= from && likely <= to {
			out = append(out, w)
		}
	}
	return out
}

func free(ws []calendar.Planned) []calendar.Planned {
	var out []calendar.Planned
	for _, w := range ws {
		over := w.Due.Valid() // whatever stands against it ends before it is due
		for _, b := range w.Blocked {
			over = over && b.Until.Valid() && b.Until <= w.Due
		}
		if (len(w.Blocked) == 0 || over) && !w.Done.Valid() {
			out = append(out, w)
		}
	}
	return out
}

// comes: a work of the kind is planned in the span and nothing stands against it.
func comes(kind, from, to string) expectation {
	return func(p *calendar.TreePlan) string {
		if len(free(works(p, kind, from, to))) == 0 {
			return fmt.Sprintf("%s is not free to do from %s to %s: %s", kind, from, to, list(works(p, kind, "", "9")))
		}
		return ""
	}
}

// never: no work of the kind is free to do in the span.
func never(kind, from, to string) expectation {
	return func(p *calendar.TreePlan) string {
		if ws := free(works(p, kind, from, to)); len(ws) > 0 {
			return fmt.Sprintf("%s is free to do: %s", kind, list(ws))
		}
		return ""
	}
}

// absent: the kind of work is not in the plan at all.
func absent(kind string) expectation {
	return func(p *calendar.TreePlan) string {
		if ws := works(p, kind, "", "9"); len(ws) > 0 {
			return fmt.Sprintf("%s is in the plan: %s", kind, list(ws))
		}
		return ""
	}
}

// blocked: a work of the kind is shown in the span, with this reason.
func blocked(kind, from, to, reason string) expectation {
	return func(p *calendar.TreePlan) string {
		for _, w := range works(p, kind, from, to) {
			for _, b := range w.Blocked {
				if strings.Contains(b.Reason, reason) {
					return ""
				}
			}
		}
		return fmt.Sprintf("%s is not blocked with %q: %s", kind, reason, list(works(p, kind, "", "9")))
	}
}

func done(kind, on string) expectation {
	return func(p *calendar.TreePlan) string {
		for _, w := range works(p, kind, "", "9") {
			if w.Done.String() == on {
				return ""
			}
		}
		return fmt.Sprintf("%s is not marked done on %s: %s", kind, on, list(works(p, kind, "", "9")))
	}
}

func state(stage calendar.Stage, strength calendar.Strength) expectation {
	return func(p *calendar.TreePlan) string {
		if p.State.Stage != stage || p.State.Strength != strength {
			return fmt.Sprintf("stage %s, %s; want %s, %s", p.State.Stage, p.State.Strength, stage, strength)
		}
		return ""
	}
}

func next(words ...string) expectation {
	return func(p *calendar.TreePlan) string {
		for _, w := range words {
			if !strings.Contains(p.Next, w) {
				return fmt.Sprintf("next %q does not say %q", p.Next, w)
			}
		}
		return ""
	}
}

// closes: the window of the first such work closes, by its median, in the span.
func closes(kind, from, to string) expectation {
	return func(p *calendar.TreePlan) string {
		ws := works(p, kind, "", "9")
		if len(ws) == 0 {
			return kind + " is not in the plan"
		}
		if c := ws[0].Window.Closes.P50.String(); c < from || c > to {
			return fmt.Sprintf("%s closes %s, want %s to %s", kind, c, from, to)
		}
		return ""
	}
}

// cautions: the cautions of a kind of work say all of these.
func cautions(kind string, words ...string) expectation {
	return func(p *calendar.TreePlan) string {
		ws := works(p, kind, "", "9")
		if len(ws) == 0 {
			return kind + " is not in the plan"
		}
		all := strings.Join(ws[0].Cautions, " ")
		for _, w := range words {
			if !strings.Contains(all, w) {
				return fmt.Sprintf("%s does not warn %q: %s", kind, w, all)
			}
		}
		return ""
	}
}

// titled: the first work of a kind that is not done bears this title.
func titled(kind, title string) expectation {
	return func(p *calendar.TreePlan) string {
		for _, w := range works(p, kind, "", "9") {
			if !w.Done.Valid() {
				if w.Title != title {
					return fmt.Sprintf("%s is titled %q, want %q", kind, w.Title, title)
				}
				return ""
			}
		}
		return kind + " is not in the plan"
	}
}

// flagged: something in the log was done against the rules, in this way.
func flagged(kind calendar.FlagKind) expectation {
	return func(p *calendar.TreePlan) string {
		for _, f := range p.Flags {
			if f.Kind == kind {
				return ""
			}
		}
		return fmt.Sprintf("no flag %s: %+v", kind, p.Flags)
	}
}

// hardIn: so many hard works are free to do in the span.
func hardIn(n int, from, to string) expectation {
	return func(p *calendar.TreePlan) string {
		var hard []calendar.Planned
		for _, w := range free(p.Works) {
			if l := w.Window.Likely.String(); w.Work.Hard != "" && l >= from && l <= to {
				hard = append(hard, w)
			}
		}
		if len(hard) != n {
			return fmt.Sprintf("%d hard works from %s to %s, want %d: %s", len(hard), from, to, n, list(hard))
		}
		return ""
	}
}

func list(ws []calendar.Planned) string {
	var b strings.Builder
	for _, w := range ws {
		fmt.Fprintf(&b, "\n\t%s %v..%v likely %v due %v done %v chance %.2f", w.Key, w.Window.Opens.P50, w.Window.Closes.P50, w.Window.Likely, w.Due, w.Done, w.Window.Chance)
		for _, bl := range w.Blocked {
			fmt.Fprintf(&b, "\n\t\t%s (until %v)", bl.Reason, bl.Until)
		}
	}
	if b.Len() == 0 {
		return "none"
	}
	return b.String()
}

// entries reads a log written in one line.
func entries(t testing.TB, log string) []calendar.Entry {
	t.Helper()
	var out []calendar.Entry
	for _, line := range strings.Split(log, ";") {
		f := strings.Fields(line)
		if len(f) == 0 {
			continue
		}
		e := calendar.Entry{On: d(t, f[0])}
		switch f[1] {
		case "did":
			e.Did = f[2]
		case "saw":
			e.Saw = phenology.Phase(f[2])
		case "judged":
			e.Judged = &calendar.Judgement{Stage: calendar.Stage(f[2])}
			if f[2] == "-" {
				e.Judged.Stage = ""
			}
			if len(f) > 3 {
				e.Judged.Strength = calendar.Strength(f[3])
			}
		default:
			t.Fatalf("log %q", line)
		}
		out = append(out, e)
	}
	return out
}

func TestStories(t *testing.T) {
	planners := map[string]*calendar.Planner{}
	for _, s := range slices.Concat(stories, broadleafStories, coniferStories, mishapStories) {
		t.Run(s.name, func(t *testing.T) {
			tree := calendar.Tree{ID: "t", Name: "the tree", Species: s.species, Origin: s.origin, Log: entries(t, s.log)}
			seen := tree.Sightings(s.species)
			key := s.place + s.on
			if len(seen) > 0 {
				key += s.name
			}
			if planners[key] == nil {
				planners[key] = planner(t, s.place, s.on, seen...)
			}
			plan, err := planners[key].Plan([]calendar.Tree{tree})
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range s.expect {
				if wrong := e(&plan.Trees[0]); wrong != "" {
					t.Error(wrong)
				}
			}
			if t.Failed() {
				t.Logf("next: %s", plan.Trees[0].Next)
			}
		})
	}
}
