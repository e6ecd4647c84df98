package climate

import (
	"math"
	"testing"
)

// TestJoinComesNearer measures on a real record, over issues every 23 days of
// ten years, how far the mean of the members lies from what came, for members that
// take over smoothly and for seasons cut off and glued on plainly.
func TestJoinComesNearer(t *testing.T) {
	site, r := harvard(t)
	var smooth, plain [8]float64
	n := 0.0
	filled := r.Fill(mustCycle(t, r))
	for issue := NewDate(1975, 1, 10); issue < NewDate(1985, 1, 1); issue += 23 {
		o := mustOutlook(t, &Weather{Record: r}, site, issue)
		n++
		for k := range smooth {
			d := issue + 1 + Date(k)
			var a, b, c float64
			for _, m := range o.Members {
				a += (m.Tmin[d-o.First] + m.Tmax[d-o.First]) / 2
				day := filled.At(align(d, m.Year-site.Season(issue)))
				b += (day.Tmin + day.Tmax) / 2
				c++
			}
			truth := (filled.At(d).Tmin + filled.At(d).Tmax) / 2
			smooth[k] += square(a/c - truth)
			plain[k] += square(b/c - truth)
		}
	}
	for k := range smooth {
		s, p := math.Sqrt(smooth[k]/n), math.Sqrt(plain[k]/n)
		t.Logf("day %d: root mean square error of the mean %.2f C, plainly glued %.2f C", k+1, s, p)
		if k == 0 && s > 0.9*p || s > 1.05*p {
			t.Errorf("day %d: no better than plain: %.2f against %.2f C", k+1, s, p)
		}
	}
}

func mustCycle(t *testing.T, r *Record) *Cycle {
	t.Helper()
	c, err := r.Cycle()
	if err != nil {
		t.Fatal(err)
	}
	return c
}
