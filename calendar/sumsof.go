package calendar

import (
	"fmt"
	"math"
	"slices"

	"budswell/climate"
)

// Sums are what a grower works out by hand, for one tree, as far as it applies on the
// day of a plan. What does not apply, or cannot be reckoned, is nil. All are estimates:
// look at the tree first.
type Sums struct {
	Wire   *WireSum   `json:"wire,omitempty"`
	Shade  *ShadeSum  `json:"shade,omitempty"`
	Roots  *RootSum   `json:"roots,omitempty"`
	Season *SeasonSum `json:"season,omitempty"`
	Water  *WaterSum  `json:"water,omitempty"`
}

// Lines says the sums in sentences, those of today first.
func (s *Sums) Lines() []string {
	var out []string
	if s.Roots != nil && s.Roots.near() {
		out = append(out, s.Roots.String())
	}
	if s.Wire != nil {
		out = append(out, s.Wire.String())
	}
	if s.Shade != nil {
		out = append(out, s.Shade.String())
	}
	if s.Season != nil {
		out = append(out, s.Season.String())
	}
	if s.Water != nil && s.Water.near() {
		out = append(out, s.Water.String())
	}
	return out
}

// Amount is a distribution of a number by its 10, 50 and 90 % values.
type Amount struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// amountOf returns the distribution of equally likely values, rounded to a tenth.
func amountOf(values []float64) Amount {
	slices.Sort(values)
	at := func(p float64) float64 {
		v := values[max(0, min(int(p*float64(len(values))), len(values)-1))]
		return math.Round(10*v) / 10
	}
	return Amount{at(0.1), at(0.5), at(0.9)}
}

// text writes an amount with its range.
func (a Amount) text(unit string) string {
	whole := func(v float64) float64 { return math.Round(v) + 0 } // of -0.4 nought, without a sign
	return fmt.Sprintf("about %.0f %s (10-90 %%: %.0f to %.0f)", whole(a.P50), unit, whole(a.P10), whole(a.P90))
}

// sums reckons what applies to a tree with these works in its plan.
func (b *bench) sums(works []Planned) Sums {
	return Sums{Wire: b.wireSum(), Shade: b.shadeSum(works), Roots: b.rootSum(), Season: b.seasonSum(works), Water: b.waterSum()}
}

// ShadeSum is until when a tree stays in the shade after work on its roots.
type ShadeSum struct {
	Until climate.Spread `json:"until"` // the day on which it may come out
}

// String says it in a sentence.
func (s *ShadeSum) String() string {
	return fmt.Sprintf("Shade until about %v (10-90 %%: %v to %v), by how the weather dries and how the tree loses water.", s.Until.P50, s.Until.P10, s.Until.P90)
}

// shadeSum takes the end of the shade from the work that ends it, see [AtShade].
func (b *bench) shadeSum(works []Planned) *ShadeSum {
	on := b.planner.outlook.Issue
	for i := range works {
		w := &works[i]
		if w.Work.ID == workShadeEnd && !w.Done.Valid() && w.Window.Opens.P90 >= on && w.Window.Opens.P50 <= on+shadeLongest {
			return &ShadeSum{w.Window.Opens}
		}
	}
	return nil
}

// workShadeEnd is the work of the lore that brings a tree out of the shade.
const workShadeEnd = "shade-end"
