package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"budswell/calendar"
)

func TestChangingATree(t *testing.T) {
	b := newcomer(t)
	b.form(b.client, "/places", "name", "shed", "lat", "50.1", "lon", "8.7")
	b.form(b.client, "/places", "name", "hill", "lat", "50.2", "lon", "8.5")
	b.form(b.client, "/places/shed/trees", "name", "東の楓", "species", "field maple", "origin", "collected")
	if a := b.form(b.client, "/places/shed/benches", "id", "", "name", "Wall", "exposure", "sheltered"); !strings.Contains(a.text, "The benches are kept") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	path := "/trees/" + url.PathEscape("東の楓") + "/edit"
	lower := strings.ToLower(path)
	tree := func() calendar.Kept {
		trees, err := b.store.Trees(b.ctx(), "new")
		b.must(err)
		return trees[0]
	}
	a := b.fill(b.sees(path), lower, "name", "east", "container", "box", "litres", "30", "bench", "wall", "note", "x")
	if got := tree(); a.StatusCode != http.StatusOK || got.ID != "東の楓" || got.Name != "east" || got.Container.Litres != 30 || got.BenchOn(b.day()) != "wall" {
		t.Fatalf("%s %+v\n%s", a.Status, got, a.text)
	}
	refused(t, "species", b.fill(b.sees(path), lower, "species", "no such"), "Want the botanical", "no such")
	refused(t, "bench in use", b.form(b.client, "/places/shed/benches", "id", "wall", "name", "", "exposure", "open"), "stands on a bench")
	refused(t, "twin benches", b.form(b.client, "/places/shed/benches", "id", "wall", "name", "Wall", "exposure", "open", "id", "", "name", "wall", "exposure", "open"), "two benches")
	refused(t, "no exposure", b.form(b.client, "/places/shed/benches", "id", "wall", "name", "Wall", "exposure", "balcony"), "balcony")
	b.fill(b.sees(path), lower, "place", "hill")
	if got := tree(); got.Place != "hill" {
		t.Errorf("not moved: %+v", got)
	}
	refused(t, "gone tomorrow", b.form(b.client, strings.Replace(path, "/edit", "/gone", 1), "on", "2027-03-02", "note", "sold"), "up to today", "sold")
	a = b.form(b.client, strings.Replace(path, "/edit", "/gone", 1), "on", "2027-03-01", "note", "sold")
	if got := tree(); !got.GoneBy(b.day()) || !strings.Contains(a.text, "It is here after all") {
		t.Errorf("%s %+v", a.Status, got)
	}
	if home := b.sees("/trees"); strings.Contains(home.text, ">east</a> <span") {
		t.Error("a tree that is gone is in the plan")
	}
	b.form(b.client, strings.Replace(path, "/edit", "/here", 1))
	if home := b.sees("/trees"); !strings.Contains(home.text, ">east</a> <span") {
		t.Error("it does not come back")
	}
	if a := b.sees("/trees/ridge-maple/edit"); a.StatusCode != http.StatusNotFound {
		t.Errorf("another's tree: %s", a.Status)
	}
}

func TestChangingAPlace(t *testing.T) {
	b := newcomer(t)
	b.form(b.client, "/places", "name", "shed", "lat", "50.1", "lon", "8.7")
	was, err := b.store.Place(b.ctx(), "new", "shed")
	b.must(err)
	b.fill(b.sees("/places/shed"), "/places/shed", "name", "hut")
	is, err := b.store.Place(b.ctx(), "new", "shed")
	b.must(err)
	if is.Site.Name != "hut" || is.Weather.Normals.Error != was.Weather.Normals.Error {
		t.Errorf("another name makes the climate more sure: %v, was %v", is.Weather.Normals.Error, was.Weather.Normals.Error)
	}
	b.fill(b.sees("/places/shed"), "/places/shed", "name", "lodge", "elevation", "900")
	is, err = b.store.Place(b.ctx(), "new", "shed")
	b.must(err)
	if is.Weather.Normals.Error >= was.Weather.Normals.Error {
		t.Errorf("an elevation that is given makes the climate no surer: %v, was %v", is.Weather.Normals.Error, was.Weather.Normals.Error)
	}
	if is.Site.Name != "lodge" || is.Site.Elevation != 900 || is.Weather.Normals.Tmax[6] > was.Weather.Normals.Tmax[6]-2 {
		t.Errorf("higher up it is no cooler: %+v %+v", is.Site, is.Weather.Normals)
	}
	refused(t, "into the sea", b.fill(b.sees("/places/shed"), "/places/shed", "lon", "-40"), "knows no land there", "-40")
	refused(t, "nameless", b.fill(b.sees("/places/shed"), "/places/shed", "name", ""), "1 to 100 letters")
}
