package calendar

import (
	"strings"
	"testing"

	"budswell/climate"
)

// TestDiffer: each way in which a work can change is told, and what stays is not.
func TestDiffer(t *testing.T) {
	on := day(t, "2027-02-01")
	about := func(s string) climate.Spread {
		d := day(t, s)
		return climate.Spread{P10: d - 5, P50: d, P90: d + 5}
	}
	work := func(change func(*Planned)) Planned {
		p := Planned{
			Key: "repot/2027", Season: 2027, Title: "Repot", Rule: &Rule{ID: "repot", Minutes: 60}, Work: &Work{ID: "repot"}, Due: climate.NoDate, Done: climate.NoDate,
			Window: Window{Opens: about("2027-03-20"), Closes: about("2027-04-10"), Likely: day(t, "2027-03-30"), Certainty: 0.9, Chance: 1}, Cautions: []string{"Look."},
		}
		change(&p)
		return p
	}
	same := func(*Planned) {}
	none := func(p *Planned) { p.Window.Chance = 0.05 }
	waits := func(p *Planned) { p.Blocked = []Block{{Reason: "roots rest", Until: climate.NoDate}} }
	for name, c := range map[string]struct {
		before, after func(*Planned)
		want          string // of the text, without the tree; empty: nothing changes
	}{
		"nothing":         {same, same, ""},
		"goes":            {same, none, "Goes: Repot, season 2027 rule repot from opens 2027-03-20 (2027-03-15 to 2027-03-25) closes 2027-04-10 (2027-04-05 to 2027-04-15) likely 2027-03-30"},
		"comes":           {none, same, "Comes: Repot, season 2027 rule repot to opens 2027-03-20"},
		"never was":       {none, none, ""},
		"moves":           {same, func(p *Planned) { p.Window.Opens = about("2027-03-25") }, "Moves: Repot, season 2027 rule repot from opens 2027-03-20 (2027-03-15 to 2027-03-25) closes 2027-04-10 (2027-04-05 to 2027-04-15) likely 2027-03-30 to opens 2027-03-25 (2027-03-20"},
		"waits":           {same, waits, "Stays on its days: Repot, season 2027 rule repot Waits from now on: roots rest."},
		"frees":           {waits, same, "Stays on its days: Repot, season 2027 rule repot No longer waits: roots rest."},
		"warns":           {same, func(p *Planned) { p.Cautions = []string{"Look.", "Gloves."} }, "Caution from now on: Gloves."},
		"unwarns":         {same, func(p *Planned) { p.Cautions = nil }, "No longer said: Look."},
		"says":            {same, func(p *Planned) { p.Rule = &Rule{ID: "repot", Minutes: 90} }, "What is said of it changes: Repot, 90 minutes."},
		"done":            {func(p *Planned) { p.Done = on }, func(p *Planned) { p.Done = on; p.Window.Likely = on }, ""},
		"comes and waits": {none, waits, "It waits: roots rest."},
	} {
		plan := func(change func(*Planned)) *Plan {
			return &Plan{On: on, Trees: []TreePlan{{Tree: &Tree{ID: "t", Name: "ridge maple"}, Species: &Species{Name: "Acer campestre"}, Works: []Planned{work(change)}}}}
		}
		d := Differ(plan(c.before), plan(c.after))
		var b strings.Builder
		if err := d.WriteText(&b); err != nil {
			t.Fatal(err)
		}
		got := strings.Join(strings.Fields(b.String()), " ")
		switch {
		case c.want == "" && (len(d.Trees) > 0 || got != "Nothing changes for these trees."):
			t.Errorf("%s: %s", name, got)
		case !strings.Contains(got, c.want):
			t.Errorf("%s:\ngot  %s\nwant %s", name, got, c.want)
		}
	}
	gone := Differ(&Plan{On: on, Trees: []TreePlan{{Tree: &Tree{ID: "t"}, Species: &Species{}, Works: []Planned{work(same)}}}}, &Plan{On: on})
	if len(gone.Trees) != 1 || gone.Trees[0].After != nil || gone.Trees[0].Works[0].After != nil {
		t.Errorf("a tree that is gone: %+v", gone)
	}
}
