package wording

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"budswell/calendar"
)

func american() *Tongue {
	return In(calendar.Locale{Language: "en", Temperature: calendar.Fahrenheit, Volume: calendar.InQuarts}, "")
}

// TestUnits: fixed points of the scales, and the quart by its definition, a quarter of
// 231 cubic inches of 2.54 cm.
func TestUnits(t *testing.T) {
	us := american()
	for want, got := range map[string]string{
		"32 °F":   us.Temperature(0, 1),
		"212 °F":  us.Temperature(100, 1),
		"−40 °F":  us.Temperature(-40, 1),
		"0 °F":    us.Temperature(-17.7777777777777777, 1),
		"18 °F":   us.TemperatureApart(10, 1),
		"−3,5 °C": german().Temperature(-3.5, 1),
		"−3.5 °C": English.Temperature(-3.5, 1),
		"0 °C":    English.Temperature(-0.04, 1),
		"1 qt":    us.Number(us.Volume(231*2.54*2.54*2.54/4/1000), 6) + " qt",
		"-3,5":    german().Typed(-3.5),
		"":        german().Typed(math.NaN()),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	for text, want := range map[string]float64{"-3,5": -3.5, "−3.5": -3.5, " 7 ": 7} {
		if x, err := Read(text); err != nil || x != want {
			t.Errorf("%q: %v, %v", text, x, err)
		}
	}
	for _, text := range []string{"", "x", "NaN", "Inf", "1e999", "1,000.5"} {
		if x, err := Read(text); err == nil {
			t.Errorf("%q is read as %v", text, x)
		}
	}
}

// TestWhatIsTypedComesBack: digits typed in any unit are shown the same after they were
// kept in Celsius and litres, and what was kept is the same after it was shown and sent
// back unchanged.
func TestWhatIsTypedComesBack(t *testing.T) {
	tongues := []*Tongue{american(), English, german(), german(func(l *calendar.Locale) { l.Temperature, l.Volume = calendar.Fahrenheit, calendar.InQuarts })}
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SampledFrom(tongues).Draw(t, "tongue")
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		digits := rapid.IntRange(-1_300_000, 1_400_000).Draw(t, "digits")
		typed := strconv.FormatFloat(float64(digits)/math.Pow10(decimals)/math.Pow10(max(0, 4-decimals)), 'f', decimals, 64)
		x, err := Read(typed)
		if err != nil {
			t.Fatal(err)
		}
		for name, there := range map[string]struct{ kept, shown func(float64) float64 }{
			"degrees": {in.Celsius, in.Degrees}, "apart": {in.CelsiusApart, in.DegreesApart}, "volume": {in.Litres, in.Volume},
		} {
			kept := there.kept(x)
			again := in.Typed(there.shown(kept))
			if y, err := Read(again); err != nil || y != x {
				t.Fatalf("%s: %s comes back as %s", name, typed, again)
			}
			y, _ := Read(again)
			if there.kept(y) != kept {
				t.Fatalf("%s: %v, sent back unchanged as %s, is kept as %v", name, kept, again, there.kept(y))
			}
		}
	})
}
