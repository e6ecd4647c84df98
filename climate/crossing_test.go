package climate

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestCrossings(t *testing.T) {
	first := NewDate(2026, 3, 1)
	o := &Outlook{Site: north(50), First: first, Members: []Member{
		{Tmin: []float64{-1, 2, 6, 0, 7, 8, 9}, Tmax: []float64{5, 9, 14, 12, 16, 20, 31}},
		{Tmin: []float64{6, 6, 6, 6, 6, 6, 6}, Tmax: []float64{9, 9, 9, 9, 9, 9, 9}},
		{Tmin: []float64{1, 1, 1, 1, 1, 1, 1}, Tmax: []float64{2, 2, 2, 2, 2, 2, 2}},
	}}
	last := first + 6
	none := NoDate
	for _, tt := range []struct {
		name string
		got  Sample
		want Sample
	}{
		{"first frost", o.FirstDay(Condition{Of: DailyMin}, first, last), Sample{first, none, none}},
		{"last frost", o.LastDay(Condition{Of: DailyMin}, first, last), Sample{first + 3, none, none}},
		{"nights above 5", o.Settles(Condition{Of: DailyMin, Above: true, Level: 5}, first, last), Sample{first + 4, first, none}},
		{"nights above 5 over two days", o.Settles(Condition{Of: DailyMin, Days: 2, Above: true, Level: 5}, first, last), Sample{first + 5, first, none}},
		{"heat", o.FirstDay(Condition{Of: DailyMax, Above: true, Level: 30}, first, last), Sample{first + 6, none, none}},
		{"mean above 7", o.FirstDay(Condition{Of: DailyMean, Above: true, Level: 7}, first, last), Sample{first + 2, first, none}},
		{"mean at or below 7", o.LastDay(Condition{Of: DailyMean, Level: 7}, first, last), Sample{first + 3, none, last}},
		{"an earlier window", o.FirstDay(Condition{Of: DailyMin, Above: true, Level: 5}, first-30, first+1), Sample{none, first, none}},
		{"beyond what is covered", o.LastDay(Condition{Of: DailyMin, Level: 8}, first, first+300), Sample{first + 5, last, last}},
		{"outside", o.Settles(Condition{Of: DailyMin, Level: 8}, last+1, last+9), Sample{none, none, none}},
	} {
		if d := cmp.Diff(tt.want, tt.got); d != "" {
			t.Errorf("%s: %s", tt.name, d)
		}
	}
}
