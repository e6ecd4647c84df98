package feeds

import (
	"net/http"
	"slices"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// TestLookAtRegionsAsPublished: a look at what a rule would change plans a club's regions
// from what their pages are planned from: what members share, and the cautions of each.
func TestLookAtRegionsAsPublished(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	b.open()
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	b.clubToLookAt(g.ID)
	low, err := b.store.Region(b.ctx(), "quernthal")
	b.must(err)
	low.ID, low.Name = "lowland", "Lowland"
	b.must(b.store.PutRegion(b.ctx(), low))
	desk := deskOfClub("ridge")
	b.keepText(desk, "cautions: [{id: low-digging, works: [repot], region: Lowland, text: Ask at the forest office.}]", "a law")
	type from struct {
		pool int
		told bool
	}
	seen := map[string][]from{}
	plan := b.server.planner.groups
	b.server.planner.groups = func(l *calendar.Lore, r *calendar.Region, on climate.Date) (*calendar.RegionPlan, error) {
		told := slices.ContainsFunc(l.Cautions, func(c calendar.Caution) bool { return c.Region == "Lowland" })
		seen[r.ID] = append(seen[r.ID], from{len(r.Pool), told})
		return plan(l, r, on)
	}
	b.get("/r/quernthal")
	b.get("/r/lowland")
	form := typedIn(t, b.page(desk+"/add?what=rule"), desk+"/look")
	form.Set("text", "rules: [{id: repot-deciduous, amends: true, rest: 2}]")
	form.Set("why", "to try it")
	if a := b.sends(desk+"/look", form); a.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	for region, told := range map[string]bool{"quernthal": false, "lowland": true} {
		all := seen[region]
		if len(all) != 3 || all[0].pool == 0 || all[0].told != told || all[1] != all[0] || all[2] != all[0] {
			t.Errorf("%s: published, before and after: %+v", region, all)
		}
	}
}
