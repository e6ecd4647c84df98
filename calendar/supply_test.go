package calendar

import (
	"slices"
	"testing"

	"budswell/climate"
)

func TestSupplyText(t *testing.T) {
	on := date(2026, 4, 10)
	share := climate.Share{Source: "model", Kind: climate.Analysis, Days: 300, Last: on - 5}
	bench := climate.Share{Source: "bench", Kind: climate.OwnReading, Days: 1, Last: on - 1}
	for _, c := range []struct {
		supply climate.Supply
		want   []string
	}{
		{climate.Supply{Until: climate.NoDate}, []string{"No weather of this place is known: dates rest on typical years."}},
		{
			climate.Supply{Until: climate.NoDate, From: []climate.Share{{Source: "MET Norway", Kind: climate.Foretold, Days: 3, Last: on}}},
			[]string{"Weather only as foretold: of the last year 3 days from MET Norway (forecast)."},
		},
		{
			climate.Supply{Until: on - 1, From: []climate.Share{share, bench}, Notes: []string{"", "shifted by 1 C"}},
			[]string{"Weather until 2026-04-09: of the last year 300 days from model (analysis), one day from bench (own reading).", "Shifted by 1 C."},
		},
		{climate.Supply{Until: on - 5, From: []climate.Share{share}}, []string{"Weather until 2026-04-05, 5 days ago: of the last year 300 days from model (analysis)."}},
		{climate.Supply{Until: on - 900}, []string{"Weather until 2023-10-23, 900 days ago."}},
	} {
		if got := SupplyText(c.supply, on); !slices.Equal(got, c.want) {
			t.Errorf("%+v:\n%q\nwant\n%q", c.supply, got, c.want)
		}
	}
}
