package calendar

import (
	"slices"

	"budswell/climate"
)

// StateOn returns what the log of a tree of species s says of it on a day. Entries may stand in
// any order; those after the day are left out. Where the log says nothing, a
// tree comes on with the seasons: growth resumes, and a collected tree is taken
// to be strong once it has rested. What the grower judged holds from its day
// on: a stage until the tree enters a later one, a strength until it is judged
// anew.
func (t *Tree) StateOn(on climate.Date, l *Lore, s *Species, g *Growth) State {
	return newHistory(t, l, s, g, on).at(on)
}

// at returns the state on a day not before that up to which h was read: what
// the tree comes to if nothing more is done to it.
func (h *history) at(on climate.Date) State {
	s := State{
		On: on, Had: h.had, Strength: h.strength(on),
		FieldSoil: h.soil, FlareSeen: h.flare, WireSince: h.wire,
		RestUntil: climate.NoDate, Last: make(map[string]climate.Date, len(h.done)),
	}
	if h.had.Valid() {
		s.Seasons = h.growth.Seasons(h.had, on)
	}
	for _, d := range h.done {
		s.Last[d.work.ID] = d.on
	}
	s.Stage = h.stage(on)
	if d, until := h.rest(on); d != nil {
		s.RestAfter, s.RestUntil = d.work.ID, until
	}
	return s
}

// strength returns what was last judged, or else: recovering until the rest
// after collecting is over, strong from then on.
func (h *history) strength(on climate.Date) Strength {
	for _, v := range slices.Backward(h.judged) {
		if v.Strength != "" && v.on <= on {
			return v.Strength
		}
	}
	if h.tree.Origin.dug() && !h.settled(on) {
		return Recovering
	}
	return Strong
}

// settled reports whether a dug tree has recovered from the digging: it has
// rested for its growing seasons, and the winter after them has come round, for
// until then its roots are not hardy.
func (h *history) settled(on climate.Date) bool {
	return h.had.Valid() && h.growth.Passed(h.had, on, h.restCollected()) && on >= h.firstFree()
}

// settledBy returns the day from which a dug tree is settled; NoDate when that
// never comes or nothing is known of the digging.
func (h *history) settledBy() climate.Date {
	if !h.had.Valid() {
		return climate.NoDate
	}
	d := h.growth.PassedBy(h.had, h.restCollected())
	if !d.Valid() {
		return d
	}
	return max(d, h.firstFree())
}

// firstFree is the start of the first season after those of rest.
func (h *history) firstFree() climate.Date {
	site := h.growth.site
	return site.SeasonStart(site.Season(h.had) + int(h.restCollected()))
}

// rest returns the hard work that the tree still rests from on a day, the one
// with the longest rest left, and the day on which that is over (NoDate where it
// never is).
func (h *history) rest(on climate.Date) (after *deed, until climate.Date) {
	until = climate.NoDate
	for i := range h.done {
		d := &h.done[i]
		if d.work.Hard == HardOnNothing || h.growth.Passed(d.on, on, d.rest) {
			continue
		}
		end := h.growth.PassedBy(d.on, d.rest)
		if after == nil || until.Valid() && (!end.Valid() || end > until) {
			after, until = d, end
		}
	}
	return after, until
}
