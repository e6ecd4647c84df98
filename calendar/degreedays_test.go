package calendar

import (
	"math"
	"strings"
	"testing"

	"budswell/climate"
)

// TestDegreeDays checks the anchor against a sum of its own, day by day, in both
// halves of the earth, by each method.
func TestDegreeDays(t *testing.T) {
	march := climate.MonthDay{Month: 3, Day: 1}
	for _, p := range []place{temperate, southern} {
		pl, tm := resolver(t, p, "2026-09-05", maple, nil)
		o, season := pl.outlook, 2026
		start, end := o.Site.SeasonStart(season), o.Site.SeasonStart(season+1)-1
		for _, method := range append(WarmthMethods(), "") {
			for _, from := range []*climate.MonthDay{nil, &march} {
				a := Anchor{At: AtDegreeDays, C: temp(10), Sum: 200, Method: method, Date: from}
				got := tm.days(&a, season)
				for i := range o.Members {
					m, sum, want := &o.Members[i], 0.0, climate.NoDate
					first := start
					if from != nil {
						first = o.Site.Turn(*from, season)
					}
					for d := first; d <= end && want == climate.NoDate; d++ {
						lo, hi := m.Tmin[d-o.First], m.Tmax[d-o.First]
						switch {
						case method == ByTriangle && lo < 10 && hi > 10: // a triangle's area
							sum += (hi - 10) * (hi - 10) / (2 * (hi - lo))
						case method == BySine && lo < 10 && hi > 10: // every minute of a sine
							for k := range 1440 {
								sum += max(0, (lo+hi)/2+(hi-lo)/2*sineOf(k)-10) / 1440
							}
						default:
							sum += max(0, (lo+hi)/2-10)
						}
						if sum >= 200 {
							want = d
						}
					}
					if got[i] != want || !want.Valid() {
						t.Errorf("lat %v, method %q, from %v, member %d: %v, want %v", p.lat, method, from, i, got[i], want)
					}
				}
			}
		}
	}
}

// A sum that does not come opens nothing. What it should close is over when the warmth
// is, and where that stays with the season.
func TestDegreeDaysThatDoNotCome(t *testing.T) {
	for _, c := range []struct {
		place place
		sum   float64
		from  climate.Date
		to    climate.Date
	}{
		{icy, 300, date(2026, 7, 1), date(2026, 7, 1)},
		{temperate, 5000, date(2026, 9, 1), date(2026, 10, 31)},
		{tropical, 9000, date(2026, 12, 31), date(2026, 12, 31)},
	} {
		pl, tm := resolver(t, c.place, "2026-04-05", maple, nil)
		never := Anchor{At: AtDegreeDays, C: temp(10), Sum: c.sum, Days: 7}
		if w, _ := pl.window(&Rule{Opens: never, Closes: Anchor{At: AtMidwinter}}, tm, 2026); w.Chance != 0 {
			t.Errorf("lat %v: opens with a chance of %v", c.place.lat, w.Chance)
		}
		if w, _ := pl.window(&Rule{Opens: Anchor{At: AtMidsummer}, Closes: never}, tm, 2026); w.Closes.P50 < c.from || w.Closes.P50 > c.to {
			t.Errorf("lat %v: closes %v, want %v to %v", c.place.lat, w.Closes.P50, c.from, c.to)
		}
		if why := tm.reason(&never, 2026); !strings.Contains(why, "do not come") {
			t.Errorf("why: %q", why)
		}
	}
}

func TestDegreeDaysInWords(t *testing.T) {
	january := climate.MonthDay{Month: 1, Day: 1}
	for want, a := range map[string]Anchor{
		"100 degree-days above 10 °C since the start of the season":                                        {At: AtDegreeDays, C: temp(10), Sum: 100, Method: ByAverage},
		"7 days before 55.5 degree-days above 5 °C since 01-01 (of the northern year), by the single sine": {At: AtDegreeDays, C: temp(5), Sum: 55.5, Method: BySine, Date: &january, Days: -7},
	} {
		if got := a.Words(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// sineOf is the sine at the middle of a minute of the day.
func sineOf(minute int) float64 { return math.Sin(2 * math.Pi * (float64(minute) + 0.5) / 1440) }
