package intake

import (
	"context"
	"sync"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// Instances that ask at the same instant keep what one would have kept, and what is
// had twice changes nothing: no plan is made anew for it.
func TestSeveralInstancesKeepWhatOneWould(t *testing.T) {
	const instances = 4
	r := newRig(t, calendar.SourceOpenMeteo)
	before := r.changes()
	var asked sync.WaitGroup // all have asked before any of them keeps something
	asked.Add(instances)
	var wait sync.WaitGroup
	for range instances {
		in := *r.Intake
		in.Provider = func(calendar.WeatherSource) (climate.Provider, error) {
			return &fake{back: 1, fetch: func(a climate.Ask) (*climate.Answer, error) {
				asked.Done()
				asked.Wait()
				return &climate.Answer{Series: days(climate.Analysis, a.First, a.Last)}, nil
			}}, nil
		}
		wait.Go(func() {
			if err := in.Refresh(context.Background(), r.now); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	series, err := r.Store.Readings(context.Background(), "g", "p")
	r.must(err)
	if len(series) != 1 || len(series[0].Readings) < 300 {
		t.Fatalf("%d series", len(series))
	}
	if n := r.changes() - before; n != 1 {
		t.Errorf("%d changes of what plans are made from, want 1", n)
	}
	if s := r.state(calendar.SourceOpenMeteo); s.Failed != 0 || !s.Got.Equal(r.now) {
		t.Errorf("remembered as %+v", s)
	}
}
