package phenology

import (
	"math"

	"budswell/climate"
)

// draw makes draw i of every event.
func (d *drawing) draw(i int) {
	c := &d.f.chances[i]
	m := i % len(d.gauges)
	clock, aging := d.s.clock[m], d.s.aging[m]
	x, start, ok := d.start(m, c)
	if ok && d.unchilled(m, start, c) {
		ok = false
	}
	base, baseLag := x, 0.0
	if d.lastSeen != noDay {
		e := d.events[d.lastSeen]
		base, baseLag = clock.at(e.on), e.lag
	}
	pace := d.pace(clock, base, baseLag, c)
	autumn := d.aging(aging, c)
	previous := 0
	for k, e := range d.events {
		day, comes := e.on, e.on != noDay
		switch {
		case comes || !ok:
		case e.autumn():
			day = first(aging, e.level*math.Exp(e.sd*autumn))
			comes = day < len(aging)
		case k == d.anchor && d.lastSeen == noDay:
			day, comes = start, true
		case k > d.anchor:
			day, comes = round(clock.reach(base + (e.lag-baseLag)*math.Exp(e.sd*pace)))
		default: // before the anchor
			day, comes = round(clock.reach(x + e.lag*math.Exp(e.sd*pace)))
		}
		if comes && e.on == noDay {
			day = max(day, previous, e.notYet+1)
			if e.by != noDay {
				day = min(day, e.by)
			}
			comes = e.autumn() || day < len(clock)
		}
		e.dates[i] = climate.NoDate
		if comes {
			e.dates[i] = d.s.start + climate.Date(day)
			previous = day
		} else if !e.autumn() {
			ok = false // a season whose spring does not end has no autumn
		}
	}
	if d.flower != nil {
		d.flower.dates[i] = d.flowering(i, clock, c)
	}
}

func round(t float64, ok bool) (int, bool) { return int(math.Round(t)), ok }

// start draws the day of the season on which growth starts, and the reading of
// the clock then; false where it does not start.
func (d *drawing) start(m int, c *chance) (x float64, day int, ok bool) {
	clock := d.s.clock[m]
	for _, e := range d.events[d.anchor:] {
		if e.on == noDay || e.autumn() {
			continue
		}
		x = clock.at(e.on) - e.lag*math.Exp(e.sd*c.pace)
		day, ok = round(clock.reach(x))
		return x, day, ok
	}
	if d.never {
		return 0, 0, false
	}
	g := d.gauges[m]
	floor := math.Inf(-1)
	for k, e := range d.events {
		if e.autumn() {
			break
		}
		if e.on != noDay { // before the anchor, or it would have been found above
			floor = max(floor, g.at(e.on))
		}
		if e.notYet != noDay && (k == d.anchor || d.byClock) {
			floor = max(floor, g.at(e.notYet)-e.lag*math.Exp(e.sd*c.pace))
		}
	}
	v := d.bud.above(c.bud, floor)
	if !d.byClock {
		day = first(g, v)
		return clock.at(day), day, day < len(g)
	}
	day, ok = round(g.reach(v))
	return v, day, ok
}

// unchilled reports whether the buds had too little chill to break on day.
func (d *drawing) unchilled(m, day int, c *chance) bool {
	if d.lastSeen != noDay || d.habit.Group != Deciduous && d.habit.Group != DeciduousConifer {
		return false
	}
	need := d.f.priors.thresholds["chill"]
	chill := d.s.chill[m]
	return chill[max(0, min(day, len(chill)-1))] < need.Level*math.Exp(need.SD*c.chill)
}

// pace draws how fast the events follow one another, given that those that have
// not come had not by the last look.
func (d *drawing) pace(clock gauge, base, baseLag float64, c *chance) float64 {
	floor := math.Inf(-1)
	if d.lastSeen == noDay {
		return c.pace
	}
	for _, e := range d.events[d.lastSeen+1:] {
		if e.autumn() || e.notYet == noDay || e.sd == 0 || e.lag <= baseLag {
			continue
		}
		if gone := (clock.at(e.notYet) - base) / (e.lag - baseLag); gone > 0 {
			floor = max(floor, math.Log(gone)/e.sd)
		}
	}
	return beyond(c.pace, floor)
}

// aging draws how much aging leaves stand, given what was seen this autumn.
func (d *drawing) aging(aging course, c *chance) float64 {
	floor, z, seen := math.Inf(-1), 0.0, false
	for _, e := range d.events {
		if !e.autumn() {
			continue
		}
		share := func(day int) float64 {
			return math.Log(aging[max(0, min(day, len(aging)-1))]/e.level) / e.sd
		}
		if e.on != noDay {
			z, seen = max(-4, min(share(e.on), 4)), true
		}
		if e.notYet != noDay {
			floor = max(floor, share(e.notYet))
		}
	}
	if seen {
		return z
	}
	return beyond(c.autumn, floor)
}

// flowering draws when a tree is in flower.
func (d *drawing) flowering(i int, clock gauge, c *chance) climate.Date {
	e := d.flower
	if e.on != noDay {
		return d.s.start + climate.Date(e.on)
	}
	for _, leaf := range d.events {
		if leaf.phase != LeafOut || !leaf.dates[i].Valid() {
			continue
		}
		x := clock.at(int(leaf.dates[i] - d.s.start))
		strays := d.f.priors.thresholds["flowering"].SD * c.chill
		t, ok := clock.reach(x + e.lag + strays)
		day := max(0, e.notYet+1, int(math.Round(t+d.flowerDays)))
		if ok && day < len(clock) {
			return d.s.start + climate.Date(day)
		}
	}
	return climate.NoDate
}

// beyond maps the standard normal number z to one above floor.
func beyond(z, floor float64) float64 {
	if math.IsInf(floor, -1) {
		return z
	}
	return above(below(z), floor)
}
