package climate

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"
)

// seasonsOf makes a record of whole seasons at site whose minima are 10 C but
// for the frosts given by season: one degree below nought.
func seasonsOf(site Site, first, last int, frosts ...Date) *Record {
	r := &Record{First: site.SeasonStart(first)}
	for d := r.First; d < site.SeasonStart(last+1); d++ {
		r.Days = append(r.Days, Day{Tmin: 10, Tmax: 15, TminOrigin: Measured, TmaxOrigin: Measured})
	}
	for _, d := range frosts {
		r.Days[d-r.First].Tmin = -1
	}
	return r
}

func TestFrostOfRecord(t *testing.T) {
	// Last frosts on 10, 20 and 30 April: normal with mean 20 April, SD 10 days.
	// Its 10 and 90 % points lie 1.2816 SD = 12.8 days away.
	days := func(year int, md ...string) (out []Date) {
		for _, s := range md {
			out = append(out, mustDay(t, s).In(year))
		}
		return out
	}
	var northern, southern []Date
	for i, s := range []string{"04-10", "04-20", "04-30"} {
		northern = append(northern, days(2001+i, "02-01", s, "10-15")...)
	}
	for i, s := range []string{"10-10", "10-20", "10-30"} {
		southern = append(southern, days(2001+i, "08-01", s)...)
		southern = append(southern, days(2002+i, "04-16")...)
	}
	for _, tt := range []struct {
		name                string
		site                Site
		frosts              []Date
		p10, p50, p90, fall string
	}{
		{"north", north(50), northern, "04-07", "04-20", "05-03", "10-15"},
		{"south", north(-35), southern, "10-07", "10-20", "11-02", "04-16"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := seasonsOf(tt.site, 2001, 2003, tt.frosts...).Frost(tt.site, 0)
			if f.Spring.Seasons != 3 || f.Spring.Frosts != 3 || f.Autumn.Frosts != 3 {
				t.Errorf("counts %+v", f)
			}
			got := fmt.Sprintf("%v %v %v %v", *f.Spring.P10, *f.Spring.P50, *f.Spring.P90, *f.Autumn.P50)
			if want := fmt.Sprintf("%s %s %s %s", tt.p10, tt.p50, tt.p90, tt.fall); got != want {
				t.Errorf("got %s, want %s", got, want)
			}
			if f := seasonsOf(tt.site, 2001, 2003, tt.frosts...).Frost(tt.site, -2); f.Spring.Frosts != 0 || f.Spring.P90 != nil {
				t.Errorf("frosts of -2 C: %+v", f.Spring)
			}
		})
	}
}

func TestFrostInSomeSeasonsOnly(t *testing.T) {
	// Frost in two springs of five: three of five have none, so that the 50 %
	// day does not exist, and the 90 % day is the 75 % day of the two, by
	// 1 - (1-0.9)/0.4 = 0.75.
	site := north(30)
	r := seasonsOf(site, 2001, 2005, NewDate(2002, 1, 10), NewDate(2005, 1, 20))
	f := r.Frost(site, 0).Spring
	if f.Seasons != 5 || f.Frosts != 2 || f.P10 != nil || f.P50 != nil || f.P90 == nil {
		t.Fatalf("got %+v", f)
	}
	sd := math.Sqrt(2) * 5 // of 10 and 20 January about the 15th
	if want := NewDate(2001, 1, 15) + Date(math.Round(0.6745*sd)); f.P90.In(2001) != want {
		t.Errorf("90 %% day %v, want %v", f.P90, want)
	}
}

func TestFrostFreeAndFrozen(t *testing.T) {
	site := north(5)
	free := seasonsOf(site, 2001, 2010).Frost(site, 0)
	for _, h := range []FrostHalf{free.Spring, free.Autumn} {
		if h.Seasons != 10 || h.Frosts != 0 || h.P10 != nil || h.P50 != nil || h.P90 != nil {
			t.Errorf("frost-free: %+v", h)
		}
	}
	if b, err := json.Marshal(free.Spring); err != nil || string(b) != `{"seasons":10,"frosts":0}` {
		t.Errorf("frost-free in JSON: %s, %v", b, err)
	}
	r := seasonsOf(site, 2001, 2010)
	for i := range r.Days {
		r.Days[i].Tmin, r.Days[i].Tmax = -20, -10
	}
	frozen := r.Frost(site, 0)
	if s := frozen.Spring; s.Frosts != 10 || *s.P10 != (MonthDay{time.June, 30}) || *s.P90 != (MonthDay{time.June, 30}) {
		t.Errorf("never thawed: spring %+v", s)
	}
	if a := frozen.Autumn; a.Frosts != 10 || *a.P10 != (MonthDay{time.July, 1}) || *a.P90 != (MonthDay{time.July, 1}) {
		t.Errorf("never thawed: autumn %+v", a)
	}
}

func TestFrostLeavesOutSeasonsHalfRead(t *testing.T) {
	site := north(50)
	r := seasonsOf(site, 2001, 2002, NewDate(2001, 4, 10), NewDate(2002, 4, 20))
	for k := range 10 {
		r.Days[k+100].TminOrigin = Missing
	}
	if f := r.Frost(site, 0); f.Spring.Seasons != 2 {
		t.Errorf("ten days unread: %+v", f.Spring)
	}
	r.Days[5].TminOrigin = Interpolated
	if f := r.Frost(site, 0); f.Spring.Seasons != 1 || *f.Spring.P50 != (MonthDay{time.April, 20}) || f.Autumn.Seasons != 2 {
		t.Errorf("eleven days unread: %+v", f)
	}
}

func TestFrostOfOutlook(t *testing.T) {
	w := &Weather{Frost: &FrostNormal{Last: mustDay(t, "04-25"), First: mustDay(t, "10-15"), Mean: 9.5, Range: 19}, Seed: 4}
	o, err := w.Outlook(north(50), NewDate(2026, 1, 10))
	if err != nil {
		t.Fatal(err)
	}
	f := o.Frost(2027, 0)
	if f.Spring.Seasons != typedMembers || f.Spring.Frosts != typedMembers {
		t.Errorf("counts %+v", f.Spring)
	}
	for _, tt := range []struct {
		got  *MonthDay
		want string
	}{{f.Spring.P50, "04-25"}, {f.Autumn.P50, "10-15"}} {
		if d := tt.got.In(2027) - mustDay(t, tt.want).In(2027); d < -5 || d > 5 {
			t.Errorf("median %v of forty members, typed %s", tt.got, tt.want)
		}
	}
}
