package store

import (
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
)

// TestRegionFromBeforeBands: a region that was kept with one site, and no band, has that as its one
// band, which may be changed as any other.
func TestRegionFromBeforeBands(t *testing.T) {
	s := fresh(t, "sqlite:"+filepath.Join(t.TempDir(), "a.db"))
	ctx := t.Context()
	p := storetest.Place("", "", 400)
	p.Site.Name = "Old mill"
	err := s.write(ctx, "a region as it was", func(x tx) error {
		site, err := x.putSite(0, p.Site, p.Weather)
		if err != nil {
			return err
		}
		_, err = x.exec("insert into regions (id, name, groups, site) values ('r', 'R', '[\"deciduous\"]', $1)", site)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	want := calendar.Region{ID: "r", Name: "R", Groups: []string{"deciduous"}, Bands: []calendar.Band{{ID: "old-mill", Name: "Old mill", Site: p.Site, Weather: p.Weather}}}
	for range 2 {
		got, err := s.Region(ctx, "r")
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Error(diff)
		}
		upper := storetest.Band("upper", 0)
		want.Bands = append(got.Bands, upper)
		if err := s.PutRegion(ctx, want); err != nil {
			t.Fatal(err)
		}
		if err := s.EndRegion(ctx, "nosuch"); err == nil {
			t.Error("a region that is not there was ended")
		}
		want.Bands = want.Bands[:1]
		if err := s.PutRegion(ctx, want); err != nil {
			t.Fatal(err)
		}
	}
	sites := 0
	err = s.read(ctx, "sites", func(x tx) error {
		return x.QueryRowContext(ctx, "select count(*) from sites").Scan(&sites)
	})
	if err != nil || sites != 1 {
		t.Errorf("%d sites are left, %v; want that of the one band", sites, err)
	}
}
