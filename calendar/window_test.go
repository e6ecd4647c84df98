package calendar

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"budswell/climate"
)

// The counting in summary agrees with what a sample says of itself, and with
// counting draws one by one.
func TestSummaryAgreesWithTheDraws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "draws")
		none := rapid.IntRange(0, 20).Draw(t, "draws in which it does not come")
		p := &Planner{outlook: &climate.Outlook{Issue: 100}, draws: n + none}
		var opens, closes climate.Sample
		for range n {
			o := climate.Date(rapid.IntRange(-40, 300).Draw(t, "opens"))
			c := o + climate.Date(rapid.IntRange(0, 90).Draw(t, "days"))
			p.open, p.close = append(p.open, o), append(p.close, c)
			opens, closes = append(opens, o), append(closes, c)
		}
		best := rapid.SampledFrom([]Best{"", BestEarly, BestMiddle, BestLate}).Draw(t, "best")
		w, open := p.summary(best)
		today := open.On(100)
		if want, _ := opens.Spread(); w.Opens != want {
			t.Fatalf("opens %v, want %v", w.Opens, want)
		}
		if want, _ := closes.Spread(); w.Closes != want {
			t.Fatalf("closes %v, want %v", w.Closes, want)
		}
		share := func(d climate.Date) float64 {
			k := 0
			for i := range opens {
				if opens[i] <= d && d <= closes[i] {
					k++
				}
			}
			return float64(k) / float64(n+none)
		}
		if w.Certainty != share(w.Likely) || today != share(100) || w.Chance != float64(n)/float64(n+none) {
			t.Fatalf("certainty %v, today %v, chance %v; want %v, %v", w.Certainty, today, w.Chance, share(w.Likely), share(100))
		}
		for d := climate.Date(-60); d < 420; d++ {
			if open.On(d) != share(d) {
				t.Fatalf("open on %v with %v, want %v", d, open.On(d), share(d))
			}
		}
		most, first := 0.0, climate.NoDate
		from, to := slices.Min(opens), slices.Max(closes)
		if w.Opens.P50 <= w.Closes.P50 {
			from, to = w.Opens.P50, w.Closes.P50
		}
		if w.Likely < from || w.Likely > to {
			t.Fatalf("likely %v, outside %v to %v", w.Likely, from, to)
		}
		for d := from; d <= to; d++ {
			most = max(most, share(d))
		}
		for d := from; d <= to && !first.Valid(); d++ {
			if share(d) >= most*(1-nearTie) {
				first = d
			}
		}
		if best == BestEarly && w.Likely != first {
			t.Fatalf("early: %v, want %v, the first good day", w.Likely, first)
		}
		if w.Certainty < most*(1-nearTie)-1e-9 {
			t.Fatalf("%q: likely day is open in %v, another in %v", best, w.Certainty, most)
		}
	})
}

func TestLikelyDayOfALongWindow(t *testing.T) {
	p := &Planner{outlook: &climate.Outlook{}, draws: 10}
	for i := range 10 {
		p.open, p.close = append(p.open, climate.Date(100+i)), append(p.close, climate.Date(200+i))
	}
	for best, want := range map[Best]climate.Date{BestEarly: 109, "": 109, BestMiddle: 154, BestLate: 200} {
		if w, _ := p.summary(best); w.Likely != want || w.Certainty != 1 {
			t.Errorf("%q: day %d, open in %v, want %d", best, w.Likely, w.Certainty, want)
		}
	}
}
