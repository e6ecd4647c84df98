package phenology

import (
	"fmt"
	"math"
	"strings"

	"budswell/climate"
)

// forecast closes e: what its days rest on, in words.
func (d *drawing) forecast(e *event) Forecast {
	out := Forecast{Dates: e.dates, Seen: climate.NoDate}
	if e.on != noDay {
		out.Seen = d.s.start + climate.Date(e.on)
		out.Fitted = true
		out.Why = fmt.Sprintf("Seen on this tree on %s.", say(out.Seen))
		return out
	}
	_, fitted := d.f.priors.species[d.habit.Species]
	out.Fitted = d.byClock && e.phase == anchorOf(d.habit.Group) && (fitted || d.f.springs.species[d.habit.Species] > 0)
	out.Why, out.SoFar = d.why(e), d.soFar(e)
	return out
}

// say writes a day as people read it.
func say(d climate.Date) string { return d.Time().Format("2 January 2006") }

// why tells what the days of e rest on.
func (d *drawing) why(e *event) string {
	var b strings.Builder
	issue := d.f.outlook.Issue
	spread, ok := e.dates.Spread()
	if !ok {
		if d.unchilledPlace() {
			return "The place is not cold enough in winter for buds of this kind to break together; no day can be told."
		}
		return "It does not come in this season at this place, as far as the weather tells."
	}
	switch {
	case d.lastSeen != noDay && !e.autumn():
		from := d.events[d.lastSeen]
		fmt.Fprintf(&b, "Counted from %s, seen on %s, by the warmth that follows.", words(from.phase), say(d.s.start+climate.Date(from.on)))
	case e.autumn():
		b.WriteString("Leaves age on short and cool days.")
	case d.byClock:
		b.WriteString("Reckoned from the season's warmth, as far as it is known, and from that of other years.")
	default:
		fmt.Fprintf(&b, "Growth resumes when the mean %s passes %.0f C.", map[bool]string{true: "minimum of a week", false: "temperature of three weeks"}[d.habit.Group == FrostTender], d.resumes.mean)
	}
	falls := "falls"
	if spread.P90 <= issue {
		falls = "fell"
	}
	fmt.Fprintf(&b, " In 8 of 10 such years it %s between %s and %s", falls, say(spread.P10), say(spread.P90))
	if chance := e.dates.Chance(); chance < 0.95 {
		fmt.Fprintf(&b, "; in %.0f of 10 it comes at all", 10*chance)
	}
	b.WriteString(". ")
	b.WriteString(d.rests(e))
	if spread.P50 > issue+30 {
		b.WriteString(" More than a month ahead no forecast beats the usual date.")
	}
	return b.String()
}

// told is the share, 0 to 1, from which nothing is left of what a phase waits for
// in whole parts of a hundred.
const told = 0.995

// soFar tells how much of what e waits for has come by the issue day. It moves
// from day to day. Nothing is told where most days of the season so far were not
// read but filled in, nor where e surely is over.
func (d *drawing) soFar(e *event) string {
	issue := d.f.outlook.Issue
	spread, ok := e.dates.Spread()
	if !ok || spread.P90 < issue || issue < d.s.start || issue >= d.s.end || !d.f.isRead(d.s.start) {
		return ""
	}
	switch {
	case e.autumn():
		if share := d.aged(e); share >= 0.005 && share < told {
			return fmt.Sprintf("%.0f of the 100 parts of aging that leaves need for it have come.", 100*share)
		}
	case d.byClock && d.lastSeen == noDay:
		return d.warmthSoFar(int(issue - d.s.start))
	}
	return ""
}

// warmthSoFar tells how far the warmth of the season has come by day i.
func (d *drawing) warmthSoFar(i int) string {
	share := d.f.neededShare(d.s, d.f.priors.of(d.habit).Day)
	switch {
	case share >= told:
		return ""
	case share < 0.02:
		return "Next to nothing of the warmth that buds count has come yet."
	}
	x := 0.0
	for _, c := range d.s.clock {
		x += c.at(i) / float64(len(d.s.clock))
	}
	return fmt.Sprintf("%.0f of the 100 parts of warmth that buds need to break have come since midwinter; by the warmth it is a usual %s%s.",
		100*share, (d.s.start + climate.Date(math.Round(x))).Time().Format("2 January"), ahead(x-float64(i)))
}

// isRead reports whether most days from start to the issue day have temperatures
// that were measured or that a provider predicted.
func (f *Forecaster) isRead(start climate.Date) bool {
	r := f.outlook.Record
	if r == nil {
		return false
	}
	n := 0
	for d := start; d <= f.outlook.Issue; d++ {
		if day := r.At(d); min(day.TminOrigin, day.TmaxOrigin) >= climate.Predicted {
			n++
		}
	}
	return 2*n > int(f.outlook.Issue-start)+1
}

// aged returns how much of the aging that e waits for has come by the issue
// day, 0 to 1.
func (d *drawing) aged(e *event) float64 {
	i, sum := int(d.f.outlook.Issue-d.s.start), 0.0
	for _, a := range d.s.aging {
		sum += a[max(0, min(i, len(a)-1))] / float64(len(d.s.aging))
	}
	return min(1, sum/e.level)
}

// ahead says how far the warmth is from what is usual.
func ahead(days float64) string {
	switch n := math.Round(days); {
	case n == 0:
		return ""
	case n == 1:
		return ", a day ahead"
	case n == -1:
		return ", a day behind"
	case n > 0:
		return fmt.Sprintf(", %.0f days ahead", n)
	default:
		return fmt.Sprintf(", %.0f days behind", -n)
	}
}

// rests says what knowledge e rests on.
func (d *drawing) rests(e *event) string {
	if !d.byClock || e.autumn() {
		return "It rests on common practice for the group, not on data of the species."
	}
	l := &d.f.springs
	text := "It rests on " + d.basis
	switch own, kind := l.trees[d.tree], l.species[d.habit.Species]; {
	case own > 0 && d.tree != "":
		text += fmt.Sprintf(" and on %s, %d of this tree.", count(l.all), own)
	case kind > 0:
		text += fmt.Sprintf(" and on %s, %d of the species.", count(l.all), kind)
	case l.all > 0:
		text += fmt.Sprintf(" and on %s, none of the species.", count(l.all))
	default:
		text += "; nothing has been seen here yet."
	}
	if d.f.others != nil {
		switch n := d.f.others.growers[d.habit.Species]; {
		case n == 1:
			text += " What one other grower saw of the species counts too, within bounds."
		case n > 1:
			text += fmt.Sprintf(" What %d other growers saw of the species counts too, within bounds.", n)
		}
	}
	if e.phase != anchorOf(d.habit.Group) {
		text += fmt.Sprintf(" How far it lies from %s is common practice.", words(anchorOf(d.habit.Group)))
	}
	return text
}

func count(n int) string {
	if n == 1 {
		return "one spring seen on a tree of the place"
	}
	return fmt.Sprintf("%d springs seen on trees of the place", n)
}

// words writes a phase as people read it.
func words(p Phase) string { return strings.ReplaceAll(string(p), "-", " ") }

// unchilledPlace reports whether chill is what is missing.
func (d *drawing) unchilledPlace() bool {
	if d.never {
		return false
	}
	return d.habit.Group == Deciduous || d.habit.Group == DeciduousConifer
}
