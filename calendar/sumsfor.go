package calendar

import (
	"fmt"
	"math"
	"strings"

	"budswell/calendar/sums"
	"budswell/climate"
	"budswell/climate/phenology"
)

// SumsFor says in short what a grower reckons for a work of the tree, for calendars that keep it
// for months. What moves with every morning, such as how cold the coming nights are or in
// how many hours a pot is dry, is left out, and days are told by thirds of months: whoever
// subscribes fetches an event anew each time that a letter of it moves.
func (t *TreePlan) SumsFor(w *Planned) []string {
	if w.Work == nil || t.Species == nil || w.Done.Valid() {
		return nil
	}
	var out []string
	add := func(s string) {
		if s != "" {
			out = append(out, s)
		}
	}
	switch id := w.Work.ID; {
	case id == WorkRepot || id == WorkPotChange:
		add(t.soil())
	case w.Work.wires():
		add(t.wireFor())
	case (id == WorkUnwire || id == workWireCheck) && t.Sums.Wire != nil:
		add("Wire on since " + t.Sums.Wire.Since.String() + ": marks are likely " + between(t.Sums.Wire.Marks) + ".")
	case (id == workAftercare || id == workShade) && t.Sums.Shade != nil:
		add("Shade until some day " + between(t.Sums.Shade.Until) + ", by how the weather dries and how the tree loses water.")
	case w.Work.Hard == HardOnLeaves && t.Sums.Season != nil && t.Sums.Season.Work == id:
		add(t.Sums.Season.after(w.Window.Likely))
	case id == WorkWinterShelter || id == workFrostWatch:
		add(t.rootsStand())
	}
	return out
}

// Works of the lore with which sums are told.
const (
	workWireCheck  = "wire-check"
	workAftercare  = "aftercare"
	workShade      = "shade"
	workFrostWatch = "frost-watch"
)

// What the root ball fills of the pot after a repot, as a share: much cut back, and hardly (judged,
// no published source); and how far loose mix goes down in working it in, see [sums.SoilFor].
const (
	ballCut, ballKept   = 0.35, 0.65
	settlesMost, settle = 0.15, 0.10
)

// soil says how much mix fills what the tree stands in; empty where that is not known.
func (t *TreePlan) soil() string {
	k := &t.Tree.Container
	v, known := k.Vessel()
	if !known {
		return ""
	}
	mix := k.mix()
	most, err := sums.SoilFor(v, ballCut*v.Litres(), mix, settlesMost)
	if err != nil {
		return ""
	}
	least, err := sums.SoilFor(v, ballKept*v.Litres(), mix, settle)
	if err != nil {
		return ""
	}
	parts := make([]string, len(mix))
	for i, p := range mix {
		parts[i] = fmt.Sprintf("%g %s", p.Parts, p.Name)
	}
	taken := ""
	if k.Mix == "" {
		taken = ", taken as usual"
	}
	return fmt.Sprintf("Soil for a pot of %s litres: %s to %s litres of mix, %s to %s kg to carry, by how much of the root ball stays (%s%s).",
		few(v.Litres()), few(least.Fill), few(most.Fill), few(least.DryKg), few(most.DryKg), strings.Join(parts, ", "), taken)
}

// few writes a number to two digits.
func few(x float64) string {
	if x >= 10 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.1f", x)
}

// wireFor says what wire branches take, and after how long it marks.
func (t *TreePlan) wireFor() string {
	conifer := t.Species.conifer()
	const thin, thick, long = 6, 12, 30 // of branches, mm and cm
	a, err := sums.WireFor(thin, long, conifer)
	if err != nil {
		return ""
	}
	b, err := sums.WireFor(thick, long, conifer)
	if err != nil {
		return ""
	}
	out := fmt.Sprintf("Wire: %g mm of %s for a branch of %d mm, %g mm for one of %d mm", a.Gauge, a.Metal, thin, b.Gauge, thick)
	if rates, known := thickening[t.Species.Group]; known {
		part := t.State.thickens()
		from, to := bites(part*rates[2]), bites(part*rates[0])
		if !math.IsNaN(from) && !math.IsNaN(to) {
			out += fmt.Sprintf("; it marks after %.1f to %.1f seasons of growth in 8 of 10 cases", from, to)
		}
	}
	return out + "."
}

func (s *Species) conifer() bool {
	switch s.Group {
	case phenology.DeciduousConifer, phenology.SingleFlushPine, phenology.MultiFlushPine, phenology.SpruceFir, phenology.JuniperCypress:
		return true
	}
	return false
}

// after says how much of the season is left for a second growth after a day, in steps of ten days.
func (s *SeasonSum) after(day climate.Date) string {
	const step = 10
	tens := func(d climate.Date) int { return step * int(math.Round(float64(d-day)/step)) }
	low, high := tens(s.Frost.P10), tens(s.Frost.P90)
	if low <= 0 || high < low {
		return ""
	}
	left := fmt.Sprintf("about %d to %d days", low, high)
	if low == high {
		left = fmt.Sprintf("about %d days", low)
	}
	return fmt.Sprintf("Season left for a second growth, from the likely day to the first frost: %s, in 8 of 10 autumns.", left)
}

// colderSurely is the chance of cold that roots do not stand from which an event says so: with a
// lower one it came and went from morning to morning. Messages tell of lower ones.
const colderSurely = 0.9

// rootsStand says what cold the roots of the tree stand in its pot, and whether nights come within the week
// that are all but surely colder: that moves when it matters.
func (t *TreePlan) rootsStand() string {
	guess := ""
	if t.Species.RootsKilledBelow == nil {
		guess = " (a cautious guess)"
	}
	out := fmt.Sprintf("Roots in a pot stand %.0f °C%s", t.Species.RootsStand(), guess)
	if r := t.Sums.Roots; r != nil && r.Below >= colderSurely {
		return out + ", and within a week it gets colder there, all but surely: see its page for the nights."
	}
	return out + "; its page reckons the coming nights."
}

// between writes a spread by the thirds of the months that its 10 and 90 % days are in.
func between(s climate.Spread) string {
	from, to := third(s.P10), third(s.P90)
	if from == to {
		return "in " + from + " (8 of 10 cases)"
	}
	return "between " + from + " and " + to + " (8 of 10 cases)"
}

func third(d climate.Date) string {
	t := d.Time()
	part := [...]string{"early", "mid", "late"}[min((t.Day()-1)/10, 2)]
	return part + t.Format(" January 2006")
}
