package store

import (
	"bytes"
	"math"
	"testing"
	"time"

	"budswell/climate"
)

// FuzzUnpackReadings wants that a packed year of readings either is refused or is
// what its days pack to.
func FuzzUnpackReadings(f *testing.F) {
	leap := climate.NewDate(2024, 12, 31)
	f.Add(packReadings([]climate.Reading{
		{On: leap - 365, Tmin: math.NaN(), Tmax: 1, Prcp: math.Copysign(0, -1), Got: time.Unix(-5, 0)}, {On: leap, Tmin: -1e300},
	}))
	f.Add([]byte{readingForm})
	f.Add([]byte{1, 2, 3})
	f.Fuzz(func(t *testing.T, b []byte) {
		rs, err := unpackReadings(nil, 2024, b)
		if err != nil {
			return
		}
		if again := packReadings(rs); !bytes.Equal(again, b) {
			t.Fatalf("%x became %x", b, again)
		}
	})
}

// BenchmarkPutReadings keeps 38 years of readings of which one day changed.
func BenchmarkPutReadings(b *testing.B) {
	s, p := benchStore(b)
	if err := s.PutPlace(b.Context(), p); err != nil {
		b.Fatal(err)
	}
	series := climate.Series{Source: "model", Kind: climate.Analysis}
	for d := climate.NewDate(1990, 1, 1); d < climate.NewDate(2028, 1, 1); d++ {
		series.Readings = append(series.Readings, climate.Reading{On: d, Tmin: 1, Tmax: 2, Prcp: 3})
	}
	for i := 0; b.Loop(); i++ {
		series.Readings[len(series.Readings)-1].Tmin = -float64(i%50) - 1 // a day that changes
		if _, err := s.PutReadings(b.Context(), p.Grower, p.ID, series, true); err != nil {
			b.Fatal(err)
		}
	}
}
