package climate

import "testing"

func TestOutlookFromTypedNormals(t *testing.T) {
	w := &Weather{Normals: &Normals{
		Tmin: [12]float64{-3, -2, 1, 4, 8, 11, 13, 13, 9, 6, 1, -2},
		Tmax: [12]float64{3, 5, 10, 15, 19, 22, 25, 24, 20, 14, 7, 4},
	}, Seed: 1}
	site := Site{Name: "bench", Lat: 50, Lon: 8, Zone: "Europe/Berlin"}
	issue := NewDate(2026, 3, 1)
	o, err := w.Outlook(site, issue)
	if err != nil {
		t.Fatal(err)
	}
	if o.First != NewDate(2024, 9, 1) || o.Last() != issue+daysAfter || len(o.Members) != typedMembers {
		t.Errorf("outlook from %v to %v with %d members", o.First, o.Last(), len(o.Members))
	}
	if f, ok := o.LastFrost(2026, 0).Quantile(0.5); !ok || f < NewDate(2026, 3, 15) || f > NewDate(2026, 6, 1) {
		t.Errorf("last frost %v", f)
	}
}
