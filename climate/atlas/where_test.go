package atlas

import (
	"math"
	"strings"
	"testing"
)

func TestParseWhere(t *testing.T) {
	for _, tt := range []struct {
		text          string
		lat, lon, elv float64 // NaN: not given
		name          string
	}{
		{"50.1,8.7", 50.1, 8.7, math.NaN(), "50.1,8.7"},
		{" -35.3 , 149.1 , 580 ", -35.3, 149.1, 580, "-35.3 , 149.1 , 580"},
		{"0,-180,-430", 0, -180, -430, "0,-180,-430"},
		{"Zurich", 47.37, 8.55, math.NaN(), "Zürich, Zurich, CH"},
		{"Springfield, Oregon", 44.05, -123.02, math.NaN(), "Springfield, Oregon, US"},
	} {
		w, err := ParseWhere(tt.text)
		if err != nil || w.Lat != tt.lat || w.Lon != tt.lon || w.Name != tt.name {
			t.Errorf("%q: %+v, %v", tt.text, w, err)
		}
		if (w.Elevation == nil) != math.IsNaN(tt.elv) || w.Elevation != nil && *w.Elevation != tt.elv {
			t.Errorf("%q: elevation %v, want %v", tt.text, w.Elevation, tt.elv)
		}
	}
	for _, tt := range []struct{ text, want string }{
		{"50.1", `place "50.1": want two numbers or three`},
		{"50.1,8.7,1,2", "want two numbers or three"},
		{"95,8.7", `lat "95": want degrees north from -90 to 90`},
		{"50,181", `lon "181": want degrees east`},
		{"50,east", `lon "east": want degrees east`},
		{"50,8,high", `elevation "high": want metres from -430 to 6000`},
		{"50,8,9000", `elevation "9000"`},
		{"50,NaN", `lon "NaN"`},
		{"50,0x10", `lon "0x10"`},
		{"1e400,3", `lat "1e400"`},
		{"", `place "": no such place`},
		{"nowhere at all", `place "nowhere at all": no such place known`},
	} {
		if _, err := ParseWhere(tt.text); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: error %v, want %q", tt.text, err, tt.want)
		}
	}
}

func FuzzParseWhere(f *testing.F) {
	for _, s := range []string{"50.1,8.7", "-35,149,580", "Zurich", "Paris, us", "1,2,3,4", "", "1e5,2", "+1,-2", "٣,4"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		w, err := ParseWhere(s)
		if err != nil {
			return
		}
		if !(math.Abs(w.Lat) <= 90 && math.Abs(w.Lon) <= 180) || w.Name == "" {
			t.Errorf("%q: %+v", s, w)
		}
		if h := w.Elevation; h != nil && !(*h >= lowest && *h <= highest) {
			t.Errorf("%q: elevation %v", s, *h)
		}
	})
}
