package climate

import (
	"math"
	"strings"
	"testing"
	"time"
)

func mustDay(t *testing.T, s string) MonthDay {
	t.Helper()
	d, err := ParseMonthDay(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestGeneratorKeepsTypedFrosts(t *testing.T) {
	for _, tt := range []struct {
		name, last, first string
		lat, mean, swing  float64
	}{
		{"middle Europe", "04-25", "10-15", 50, 9.5, 19},
		{"cool maritime", "04-20", "11-01", 55, 9, 12},
		{"continental", "05-12", "09-28", 45, 6.5, 32},
		{"mountain", "06-12", "09-05", 46, 3.5, 18},
		{"mild", "02-20", "12-05", 37, 15, 17},
		{"southern", "09-20", "05-20", -35, 13.5, 13},
		{"southern highland", "11-10", "04-05", -42, 8.5, 12},
	} {
		t.Run(tt.name, func(t *testing.T) {
			site := north(tt.lat)
			f := &FrostNormal{Last: mustDay(t, tt.last), First: mustDay(t, tt.first), Mean: tt.mean, Range: tt.swing}
			n, err := f.Normals(site)
			if err != nil {
				t.Fatal(err)
			}
			lo, hi, mean := math.Inf(1), math.Inf(-1), 0.0
			for m := range 12 {
				v := (n.Tmin[m] + n.Tmax[m]) / 2
				lo, hi, mean = min(lo, v), max(hi, v), mean+v/12
			}
			if math.Abs(mean-tt.mean) > 0.1 || math.Abs(hi-lo-tt.swing) > 0.1 {
				t.Errorf("mean %.2f and range %.2f, typed %v and %v", mean, hi-lo, tt.mean, tt.swing)
			}
			c, err := n.Cycle(site)
			if err != nil {
				t.Fatal(err)
			}
			const season = 2001
			first := site.SeasonStart(season)
			o := &Outlook{Site: site, First: first, Members: c.generate(99, first, 365, 400)}
			for _, x := range []struct {
				name  string
				s     Sample
				typed MonthDay
			}{{"last", o.LastFrost(season, 0), f.Last}, {"first", o.FirstFrost(season, 0), f.First}} {
				got, _ := x.s.Quantile(0.5)
				want := x.typed.In(season)
				if want < first {
					want = x.typed.In(season + 1)
				}
				// Where dates of single years spread over two months, the median of 400
				// is good to two days.
				if d := int(got - want); d < -3 || d > 3 {
					t.Errorf("median %s frost %v, typed %v; daily range %.1f", x.name, got, x.typed, n.Tmax[0]-n.Tmin[0])
				}
			}
		})
	}
}

func TestFrostDatesThatContradict(t *testing.T) {
	for _, tt := range []struct {
		name string
		lat  float64
		f    FrostNormal
		want string
	}{
		{"too warm", 50, FrostNormal{MonthDay{time.April, 25}, MonthDay{time.October, 15}, 22, 15}, "with this range want a mean near"},
		{"too cold", 50, FrostNormal{MonthDay{time.April, 25}, MonthDay{time.October, 15}, -5, 15}, "with this range want a mean near"},
		{"other hemisphere", -35, FrostNormal{MonthDay{time.April, 25}, MonthDay{time.October, 15}, 12, 15}, "last 04-25: want a day of spring, 07-01 to 12-31"},
		{"lopsided", 50, FrostNormal{MonthDay{time.January, 5}, MonthDay{time.July, 20}, 12, 15}, "want it between 05-31 and 09-08"},
		{"mean", 50, FrostNormal{MonthDay{time.April, 25}, MonthDay{time.October, 15}, 99, 15}, "frost: mean 99: want"},
		{"day", 50, FrostNormal{MonthDay{time.April, 31}, MonthDay{time.October, 15}, 9, 15}, "frost: last 04-31: want"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.f.Normals(north(tt.lat))
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("error %v, want one that says %q", err, tt.want)
			}
		})
	}
}
