package pages

import (
	"fmt"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

func TestCard(t *testing.T) {
	p := monthPlan(1, func(int) []calendar.Planned {
		repot := workOn("Repot", april(6), april(10), april(20))
		repot.Cautions = []string{"Sharp tools. They cut."}
		prune := workOn("Prune", april(1), april(3), april(25))
		prune.Blocked = []calendar.Block{{Reason: "roots rest", Until: april(30) + 30}}
		gone := workOn("Spray", april(1)-40, april(1)-30, april(1)-20)
		out := []calendar.Planned{gone, repot, prune}
		for i := range cardNext {
			out = append(out, workOn(fmt.Sprint("Later ", i), april(30), april(30)+5, april(30)+9))
		}
		return out
	})
	tree := &p.Trees[0]
	tree.Tree.Origin, tree.Tree.Container = calendar.Collected, calendar.Container{Kind: calendar.TrainingPot, Litres: 4.5}
	tree.State.Last = map[string]climate.Date{"wire": april(1) - 300, "repot": april(1) - 700}
	c, err := CardOf(wording.English, tree, p, []calendar.Work{{ID: "wire", Title: "Wire"}}, "https://trees.example/trees/t0")
	if err != nil {
		t.Fatal(err)
	}
	if c.Origin != "Collected" || c.Pot != "Training pot, 4.5 litres" {
		t.Errorf("origin %q, pot %q", c.Origin, c.Pot)
	}
	if len(c.Last) != 2 || c.Last[0] != "Wire, 5 June 2026" || !strings.HasPrefix(c.Last[1], "Repot, ") {
		t.Errorf("done last: %q", c.Last)
	}
	if len(c.Next) != cardNext || c.Next[0] != (CardWork{"Repot", "6 Apr to 20 April 2027", "best 10 Apr, 70\u00a0%"}) || c.More != 1 {
		t.Errorf("next %+v, and %d more", c.Next, c.More)
	}
	if len(c.Not) != 1 || c.Not[0] != (CardNot{"Prune", "roots rest (until 30 May 2027)."}) {
		t.Errorf("not now: %q", c.Not)
	}
	if len(c.Care) != 1 || c.Care[0] != "Sharp tools." || c.Code.Size == 0 {
		t.Errorf("care %q, code of %d modules", c.Care, c.Code.Size)
	}
}

// TestCardHasRoom gives a card more than it has room for: what it leaves out it counts.
func TestCardHasRoom(t *testing.T) {
	long := strings.Repeat("beware of it all ", 8)
	p := monthPlan(1, func(int) (out []calendar.Planned) {
		for i := range 5 {
			w := workOn(fmt.Sprint("Repot ", i), april(6), april(10), april(20))
			w.Cautions = []string{fmt.Sprint(i, " ", long), fmt.Sprint(i, " once more ", long)}
			b := workOn(fmt.Sprint("Prune ", i), april(6), april(10), april(20))
			b.Blocked = []calendar.Block{{Reason: long, Until: climate.NoDate}}
			out = append(out, w, b)
		}
		return out
	})
	c, err := CardOf(wording.English, &p.Trees[0], p, nil, "https://trees.example/trees/t0")
	if err != nil {
		t.Fatal(err)
	}
	lines := len(c.Next)
	for _, s := range c.Care {
		lines += linesOf(s, cardLetters)
	}
	for _, n := range c.Not {
		lines += linesOf(n.Title+": "+n.Words, cardLetters)
	}
	if lines > cardLines || len(c.Not) == 0 || len(c.Care) == 0 || len(c.Not)+len(c.Care)+c.More != 15 {
		t.Errorf("%d lines with %d against, %d cautions and %d more of 15", lines, len(c.Not), len(c.Care), c.More)
	}
}
