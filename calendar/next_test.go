package calendar

import (
	"strings"
	"testing"

	"budswell/climate/phenology"
)

func TestNext(t *testing.T) {
	for _, test := range []struct {
		name, on string
		tree     Tree
		want     []string
	}{
		{"ahead", "2026-02-10", Tree{Origin: Nursery}, []string{"Leave it alone until about 2026-04-01 (10-90 %: 2026-03-24 to 2026-04-09): Repot."}},
		{"now", "2026-04-04", Tree{Origin: Nursery}, []string{"Now: Repot, until about 2026-04-23 (10-90 %: 2026-04-15 to 2026-05-01; open today: ", "% sure)."}},
		{"done: the next thing", "2026-04-04", Tree{Origin: Nursery, Log: []Entry{did(t, "2026-04-01", WorkRepot)}}, []string{"Leave it alone until 2026-05-13, a day counted from what was done: Feed."}},
	} {
		t.Run(test.name, func(t *testing.T) {
			p := smallPlanner(t, temperate, test.on)
			got := planOne(t, p, test.tree).Next
			for _, w := range test.want {
				if !strings.Contains(got, w) {
					t.Errorf("next %q does not say %q", got, w)
				}
			}
		})
	}
	p := smallPlanner(t, temperate, "2026-02-10")
	p.lore.Rules = p.lore.Rules[:1] // repot
	got := planOne(t, p, Tree{Origin: Nursery, Log: []Entry{judged(t, "2026-01-01", "", Weak)}}).Next
	if !strings.HasPrefix(got, "Leave it alone for the next eighteen months. Repot: ") || !strings.Contains(got, "weak") {
		t.Errorf("next of a weak tree: %q", got)
	}
	p.lore.Rules = nil
	if got := planOne(t, p, Tree{Origin: Nursery}).Next; got != "Leave it alone for the next eighteen months: no rule asks for work on it." {
		t.Errorf("next without rules: %q", got)
	}
}

// A window that is likelier shut than open is not called the work of now.
func TestNextSaysWhenItIsNotSure(t *testing.T) {
	p := smallPlanner(t, temperate, "2026-04-01")
	p.lore.Rules = p.lore.Rules[:1]
	r := &p.lore.Rules[0]
	r.Closes = r.Opens
	r.Closes.Days = 3 // in each draw four days, spread over 23
	got := planOne(t, p, Tree{Origin: Nursery})
	w := workOf(t, got, "repot", 2026)
	if want := "It may be time (20 % sure today), look for bud swell first: Repot, until about " + w.Window.Closes.P50.String(); !strings.HasPrefix(got.Next, want) {
		t.Errorf("next %q, want %q", got.Next, want)
	}
}

// To look for pests and to spray is no headline as long as other work comes.
func TestNextPutsHealthLast(t *testing.T) {
	always := Rule{
		ID: "pests", Work: "pests", Title: "Look for pests", Opens: Anchor{At: AtSeasonStart}, Closes: Anchor{At: AtMidwinter}, Every: 14,
	}
	p := smallPlanner(t, temperate, "2026-02-10")
	p.lore.Works = append(p.lore.Works, Work{ID: "pests", Title: "Look for pests", Class: Health})
	p.lore.Rules = []Rule{p.lore.Rules[0], always}
	if got := planOne(t, p, Tree{Origin: Nursery}).Next; !strings.HasPrefix(got, "Leave it alone until about 2026-04-01 (") || !strings.HasSuffix(got, ": Repot. Meanwhile: look for pests.") {
		t.Errorf("before the repot: %q", got)
	}
	soon := always
	soon.Opens, soon.Every = Anchor{At: AtPhase, Phase: phenology.BudSwell, Days: -30}, 0
	p.lore.Rules = []Rule{p.lore.Rules[0], soon}
	p = smallPlannerOf(t, p.lore, "2026-02-10")
	if got := planOne(t, p, Tree{Origin: Nursery}).Next; !strings.HasPrefix(got, "Leave it alone until about 2026-04-01 (") {
		t.Errorf("the headline is health: %q", got)
	}
	p.lore.Rules = []Rule{soon}
	p = smallPlannerOf(t, p.lore, "2026-02-10")
	if got := planOne(t, p, Tree{Origin: Nursery}).Next; !strings.HasSuffix(got, ": Look for pests.") {
		t.Errorf("nothing else comes: %q", got)
	}
}
