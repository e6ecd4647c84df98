package climate

import (
	"math"
	"testing"
)

// frostDay tells from the mean number of days with frost in each month by which day of
// the half-year only so many of them are left (of the last half of winter), or have come
// (of the first): by straight lines of their logarithm between ends of months. One day left is
// about the median last frost, 3.2 and 0.15 the 10 and 90 % days, if frosts come in
// spells of some 1.4 (exp(-left/1.4) is then the chance of none). It is counted in days from
// midsummer, back or on; NaN where the half-year never had so many, or has as many
// at midsummer.
func frostDay(frosts *[12]float64, southern, spring bool, left float64) float64 {
	// Months from midsummer on: July in the north; backwards for spring.
	months := monthOf365()
	days, sum := 0.0, 0.0
	for k := range 6 {
		m := 6 + k
		if spring {
			m = 5 - k
		}
		if southern {
			m += 6
		}
		m = mod(m, 12)
		length := float64(len(months[m]))
		if k == 0 && frosts[m] >= left || math.IsNaN(frosts[m]) {
			return math.NaN()
		}
		if sum+frosts[m] >= left {
			const least = 0.02 // the first of them comes no earlier than the counts can tell
			lo, hi := math.Log(max(sum, least)), math.Log(sum+frosts[m])
			return days + length*(math.Log(left)-lo)/(hi-lo)
		}
		sum += frosts[m]
		days += length
	}
	return math.NaN()
}

// frostsLeft are frosts left or come at about the 10, 50 and 90 % days of the last and
// first frost.
var frostsLeft = [3]float64{3.2, 1, 0.15}

func TestFrostDay(t *testing.T) {
	frosts := [12]float64{31, 25, 15, 4, 0.25, 0, 0, 0, 0.2, 3, 12, 25}
	if d := frostDay(&frosts, false, true, 1); d < 61+5 || d > 61+25 {
		t.Errorf("last frost %v days before the end of June: want in the middle of April", d)
	}
	if d := frostDay(&frosts, false, false, 1); d < 92 || d > 92+31 {
		t.Errorf("first frost %v days after June: want in October", d)
	}
	var south [12]float64
	for m := range south {
		south[m] = frosts[(m+6)%12]
	}
	if a, b := frostDay(&frosts, false, true, 1), frostDay(&south, true, true, 1); math.Abs(a-b) > 4 {
		t.Errorf("last frost %v days before midsummer in the north, %v in the south", a, b)
	}
	if d := frostDay(&[12]float64{}, false, true, 1); !math.IsNaN(d) {
		t.Errorf("without frost: %v", d)
	}
	// Generated years agree with what their own counts say, to a few days.
	{
		n, site := &continental, north(45)
		c, err := n.Cycle(site)
		if err != nil {
			t.Fatal(err)
		}
		const season, years = 2001, 400
		first := site.SeasonStart(season)
		o := &Outlook{Site: site, First: first, Members: c.generate(1, first, 365, years)}
		var counts [12]float64
		for i := range o.Members {
			for k, v := range o.Members[i].Tmin {
				if v < 0 {
					counts[(first+Date(k)).Month()-1] += 1.0 / years
				}
			}
		}
		f := o.Frost(season, 0)
		mid := site.Midsummer(season)
		for k, want := range []*MonthDay{f.Spring.P10, f.Spring.P50, f.Spring.P90} {
			if got, want := frostDay(&counts, false, true, frostsLeft[k]), float64(mid-want.In(season)); math.Abs(got-want) > 6 {
				t.Errorf("spring, %v left: %.0f days before midsummer, generated years say %.0f", frostsLeft[k], got, want)
			}
		}
		for k, want := range []*MonthDay{f.Autumn.P90, f.Autumn.P50, f.Autumn.P10} {
			if got, want := frostDay(&counts, false, false, frostsLeft[k]), float64(want.In(season)-mid); math.Abs(got-want) > 6 {
				t.Errorf("autumn, %v come: %.0f days after midsummer, generated years say %.0f", frostsLeft[k], got, want)
			}
		}
	}
}
