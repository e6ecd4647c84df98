package phenology

import "testing"

func TestHarvard(t *testing.T) {
	r, err := Backtest(readHarvard(t).trial(60, 30, 15, 7))
	if err != nil {
		t.Fatal(err)
	}
	show := func(name string, s Score) {
		t.Logf("%-12s n %d RMSE %.2f bias %+.2f CRPS %.3f cover %.1f", name, s.N, s.RMSE, s.Bias, s.CRPS, 100*s.Coverage80)
	}
	show("hindcast", r.Hindcast)
	show("mean", r.Baseline)
	for _, l := range r.Leads {
		show("lead", l.Score)
		show("closed", l.Closed)
	}
}
