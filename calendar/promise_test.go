package calendar

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/climate"
)

// A promise is kept unless moving is worth it; that of the next three days unless
// the window moved; one that was missed is made anew.
func TestFitKeepsPromises(t *testing.T) {
	for _, test := range []struct {
		name     string
		on       climate.Date
		best     climate.Date
		promised climate.Date
		chance   float64
		want     climate.Date
		missed   bool
	}{
		{"nothing promised", saturday - 30, saturday, climate.NoDate, 0, saturday, false},
		{"little to gain", saturday - 30, saturday, saturday - 1, 0.9, saturday - 1, false},
		{"much to gain", saturday - 30, saturday, saturday - 10, 0.9, saturday, false},
		{"much to gain, but the day is near", saturday - 10, saturday, saturday - 7, 0.5, saturday - 7, false},
		{"the day is near, and the window moved", saturday - 10, saturday, saturday - 7, 0.9, saturday, false},
		{"the day is today", saturday - 7, saturday, saturday - 7, 0.5, saturday - 7, false},
		{"four days are not near", saturday - 11, saturday, saturday - 7, 0.5, saturday, false},
		{"missed", saturday - 6, saturday, saturday - 7, 0.9, saturday, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			w := planned(repotRule, repotWork, test.best, 5, 0.9)
			var promise Promise
			if test.promised.Valid() {
				promise = Promise{{"tree-1", w.Key, test.promised, test.chance}}
			}
			h := &Hours{Weekdays: [7]int{100, 100, 100, 100, 100, 100, 100}}
			a := handPlan(test.on, []Planned{w}).Fit(h, promise)
			if len(a.Days) != 1 {
				t.Fatalf("%+v", a)
			}
			c := a.Days[0].Works[0]
			if c.Day != test.want || c.Missed != test.missed || c.Moved() != (promise != nil && test.want != test.promised) {
				t.Errorf("on %v (missed %v, moved %v), want %v", c.Day, c.Missed, c.Moved(), test.want)
			}
		})
	}
}

// A promised day without hours any more cannot be kept.
func TestFitMovesWhatHasNoHours(t *testing.T) {
	w := planned(repotRule, repotWork, saturday, 10, 0.9)
	h := saturdays(200)
	h.Away = []Absence{{saturday, saturday}}
	a := handPlan(saturday-1, []Planned{w}).Fit(h, Promise{{"tree-1", w.Key, saturday, 0.9}})
	if got, ok := dayOf(a, "tree-1", w.Key); !ok || got != saturday+7 || !a.Days[0].Works[0].Moved() {
		t.Errorf("on %v, %v", got, ok)
	}
}

// From day to day, as the windows shift a little, few works move, and none of the
// next three days whose window did not.
func TestAgendasFromMorningToMorning(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	h := &Hours{Weekdays: [7]int{180, 0, 0, 60, 0, 0, 240}, SetUp: WorkMinutes{WorkRepot: 30}}
	var promise Promise
	moved, kept := 0, 0
	drift := make([]climate.Date, 20)
	for on := date(2027, 3, 10); on < date(2027, 4, 20); on++ {
		var works [][]Planned
		for i := range drift {
			if rng.IntN(5) == 0 {
				drift[i] += climate.Date(rng.IntN(3) - 1)
			}
			works = append(works, []Planned{planned(repotRule, repotWork, saturday+climate.Date(i%10)-5+drift[i], 8, 0.9)})
		}
		plan := handPlan(on, works...)
		a := plan.Fit(h, promise)
		for _, p := range promise {
			now, ok := dayOf(a, p.Tree, p.Key)
			if p.Day < on {
				continue
			}
			if ok && now == p.Day {
				kept++
			} else {
				moved++
				w := &plan.Trees[0].Works[0]
				for i := range plan.Trees {
					if plan.Trees[i].Tree.ID == p.Tree {
						w = &plan.Trees[i].Works[0]
					}
				}
				if p.stands(on, w.Open.On(p.Day)) {
					t.Errorf("%v: %s moved from %v, in %d days", on, p.Tree, p.Day, p.Day-on)
				}
			}
		}
		promise = a.Promise()
	}
	t.Logf("%d promises kept and %d moved", kept, moved)
	if moved*20 > kept {
		t.Errorf("days jump about: %d kept, %d moved", kept, moved)
	}
}

func TestPromiseAsJSON(t *testing.T) {
	p := Promise{{"ridge", "repot/2027", saturday, 0.86}}
	text, err := json.Marshal(p)
	if want := `{"version":1,"works":[{"tree":"ridge","key":"repot/2027","day":"2027-04-10","chance":0.86}]}`; err != nil || string(text) != want {
		t.Errorf("%s, %v", text, err)
	}
	var back Promise
	if err := json.Unmarshal(text, &back); err != nil || !cmp.Equal(p, back) {
		t.Errorf("%v, %v", back, err)
	}
	for _, bad := range []string{
		`{"version":2,"works":[]}`, `{"version":1,"works":[{"tree":"","key":"k","day":"2027-04-10"}]}`,
		`{"version":1,"works":[{"tree":"t","key":"k","day":""}]}`, `{"version":1,"works":[{"tree":"t","key":"k","day":"2027-02-29"}]}`,
		`{"version":1,"works":[{"tree":"t","key":"k","day":"2027-04-10","chance":1.5}]}`, `{"works":3}`,
	} {
		if err := json.Unmarshal([]byte(bad), &back); !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: %v", bad, err)
		}
	}
}

func FuzzPromise(f *testing.F) {
	f.Add([]byte(`{"version":1,"works":[{"tree":"ridge","key":"repot/2027","day":"2027-04-10","chance":0.86}]}`))
	f.Add([]byte(`{"version":1,"works":[null]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var p Promise
		if json.Unmarshal(text, &p) != nil {
			return
		}
		out, err := json.Marshal(p)
		var back Promise
		if err != nil || json.Unmarshal(out, &back) != nil || len(p) != len(back) {
			t.Fatalf("%s is not read back: %v", out, err)
		}
	})
}
