package calendar

import (
	"strings"
	"testing"

	"budswell/climate/phenology"
)

// What a winter gives, and what each group makes of it.
func TestWinterDoubt(t *testing.T) {
	maple := &Species{Name: "Acer palmatum", Group: phenology.Deciduous}
	pine := &Species{Name: "Pinus thunbergii", Group: phenology.MultiFlushPine}
	juniper := &Species{Name: "Juniperus chinensis", Group: phenology.JuniperCypress}
	for _, tt := range []struct {
		name    string
		place   place
		species *Species
		doubt   string // part of it; empty: none
		no      bool   // no day is told
	}{
		{"middle latitudes", place{lat: 48, mean: 9, half: 10, members: 4, step: 0.5}, maple, "", false},
		{"the same in the south", place{lat: -48, mean: 9, half: 10, members: 4, step: 0.5}, maple, "", false},
		{"mild winters", place{lat: 40, mean: 17, half: 8, members: 4, step: 0.5}, maple, "", false},
		{"equator, hot", place{lat: 1, mean: 27, half: 0.5, members: 4, step: 0.1}, maple, "nothing tells Acer palmatum when to rest", true},
		{"equator, cool: chill and no season", place{lat: 0, mean: 12, half: 0.7, members: 4, step: 0.1}, maple, "nothing tells", true},
		{"equator, cool, pine", place{lat: 0, mean: 12, half: 0.7, members: 4, step: 0.1}, pine, "nothing tells", true},
		{"equator, juniper", place{lat: 0, mean: 12, half: 0.7, members: 4, step: 0.1}, juniper, "", false},
		{"seasons without chill", place{lat: 22, mean: 24, half: 6, members: 4, step: 0.1}, maple, "wants some 20 to rest and wake well. No day", true},
		{"seasons without chill, pine of warm coasts", place{lat: 22, mean: 24, half: 6, members: 4, step: 0.1}, pine, "come in 0 of 100 winters", false},
		{"chill in some winters", place{lat: 30, mean: 19, half: 8, members: 10, step: 0.5}, maple, "of 100 winters", false},
	} {
		w := winterOf(tt.place.outlook(t, "2026-05-10"))
		got := w.doubt(tt.species)
		if (got == "") != (tt.doubt == "") || !strings.Contains(got, tt.doubt) {
			share, mean := w.chilled(restPortions)
			t.Errorf("%s: doubt %q, want %q (swing %.1f C, %.1f portions, enough in %.2f)", tt.name, got, tt.doubt, w.swing, mean, share)
		}
		if no := w.winterless(tt.species.Group); no != tt.no {
			t.Errorf("%s: winterless %v, want %v", tt.name, no, tt.no)
		}
	}
	// An outlook that does not hold the next winter leaves it open.
	o := place{lat: 1, mean: 27, members: 1}.outlook(t, "2026-05-10")
	for i := range o.Members {
		o.Members[i].Tmin, o.Members[i].Tmax = o.Members[i].Tmin[:300], o.Members[i].Tmax[:300]
	}
	if w := winterOf(o); w.doubt(maple) != "" || w.winterless(maple.Group) {
		t.Errorf("a winter that is not known: %+v", w)
	}
}
