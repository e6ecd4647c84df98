package calendar_test

import (
	"strings"
	"testing"

	"budswell/calendar"
)

// Worked by hand. A pot of 40 by 30 by 10 cm holds 12 litres. Of pumice alone, with 35 % of it root ball and
// 15 % settling, 12 x 0.65 / 0.85 = 9.2 litres; with 65 % and 10 %, 12 x 0.35 / 0.9 = 4.7. From the bag
// that is a 0.85th, at 0.5 kg: 5.4 and 2.7 kg. Branches of 6 and 12 mm take a third of that in
// aluminium and a quarter in copper. A strong maple that is built marks after a 15th over 0.15 to 0.50 of a season.
func TestSumsForAWork(t *testing.T) {
	pot := calendar.Container{Length: 40, Width: 30, Depth: 10, Mix: "1 pumice"}
	for name, c := range map[string]struct {
		on, species, log, work string
		pot                    calendar.Container
		want, never            string
	}{
		"soil":                 {"2026-02-01", "Acer campestre", "2025-01-01 judged building strong", "repot", pot, "Soil for a pot of 12 litres: 4.7 to 9.2 litres of mix, 2.7 to 5.4 kg to carry, by how much of the root ball stays (1 pumice).", ""},
		"soil taken as usual":  {"2026-02-01", "Acer campestre", "2025-01-01 judged building strong", "repot", calendar.Container{Litres: 12}, "1 baked clay, taken as usual", ""},
		"no pot known":         {"2026-02-01", "Acer campestre", "2025-01-01 judged building strong", "repot", calendar.Container{}, "", "Soil"},
		"wire, maple":          {"2026-02-01", "Acer campestre", "2025-01-01 judged building strong", "wire", pot, "Wire: 2 mm of aluminium for a branch of 6 mm, 4 mm for one of 12 mm; it marks after 0.1 to 0.4 seasons of growth in 8 of 10 cases.", ""},
		"wire, pine":           {"2026-02-01", "Pinus sylvestris", "2025-01-01 judged building strong", "wire", pot, "Wire: 1.5 mm of copper for a branch of 6 mm, 3 mm for one of 12 mm", "aluminium"},
		"wire that is on":      {"2026-03-01", "Acer campestre", "2025-01-01 judged building strong; 2026-02-20 did wire", "unwire", pot, "Wire on since 2026-02-20: marks are likely between", "by today"},
		"roots":                {"2026-10-01", "Acer campestre", "2025-01-01 judged building strong", "winter-shelter", pot, "its page reckons the coming nights.", "by 2026"},
		"season after cutting": {"2026-06-01", "Pinus thunbergii", "2023-01-01 judged refining strong", "candle-cut", pot, "Season left for a second growth, from the likely day to the first frost: about", ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, plan := sumsAt(t, "temperate", c.on, c.species, c.pot, c.log)
			tree := &plan.Trees[0]
			found := false
			for i := range tree.Works {
				w := &tree.Works[i]
				if w.Work.ID != c.work || w.Done.Valid() {
					continue
				}
				got := strings.Join(tree.SumsFor(w), "\n")
				if c.never != "" && strings.Contains(got, c.never) {
					t.Fatalf("%s: %q says %q", w.Key, got, c.never)
				}
				found = found || strings.Contains(got, c.want)
				if c.want != "" && found {
					return
				}
			}
			if !found {
				var all []string
				for i := range tree.Works {
					all = append(all, tree.Works[i].Key+": "+strings.Join(tree.SumsFor(&tree.Works[i]), " "))
				}
				t.Fatalf("no %s says %q:\n%s", c.work, c.want, strings.Join(all, "\n"))
			}
		})
	}
}
