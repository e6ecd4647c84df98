package calendar

import (
	"fmt"
	"math"
	"slices"

	"budswell/climate"
)

// against returns what stands against a work on its day: what its rule needs
// and excludes, and what holds for all work.
func (b *bench) against(c *candidate) []Block {
	var found []objection
	for i := range c.Rule.Needs {
		found = append(found, b.lacks(&c.Rule.Needs[i], c))
	}
	for _, name := range c.Rule.Excludes {
		found = append(found, b.sameSeason(name, c, "does not share a season with this"))
	}
	for _, law := range laws {
		found = append(found, law(b, c))
	}
	return blocks(found)
}

// objection is what one need or law has against a work; without a reason,
// nothing.
type objection struct {
	reason string
	until  climate.Date
	cause  climate.Date // the day of the work that it goes back to, 0 for none
}

// blocks keeps of the objections that go back to the same work the one that
// lasts longest.
func blocks(found []objection) []Block {
	var kept []objection
	for _, o := range found {
		if o.reason == "" {
			continue
		}
		same := slices.IndexFunc(kept, func(k objection) bool {
			return k.reason == o.reason || o.cause != 0 && k.cause == o.cause
		})
		switch {
		case same < 0:
			kept = append(kept, o)
		case kept[same].until.Valid() && (!o.until.Valid() || o.until > kept[same].until):
			kept[same] = o
		}
	}
	out := make([]Block, len(kept))
	for i, k := range kept {
		out[i] = Block{k.reason, k.until}
	}
	if len(out) == 0 {
		return nil
	}
	return out
}

// lacks says why a need is not met on the day of c.
func (b *bench) lacks(n *Need, c *candidate) objection {
	no := func(format string, args ...any) objection {
		return objection{reason: fmt.Sprintf(format, args...), until: climate.NoDate}
	}
	s := &c.state
	switch {
	case n.Strength != "":
		if slices.Index(Strengths(), s.Strength) < slices.Index(Strengths(), n.Strength) {
			return b.tooWeak(s.Strength, n.Strength)
		}
	case n.Stage != "":
		if s.Stage.rank() < n.Stage.rank() {
			return no("comes at the stage %q or later; the tree is at %q", n.Stage, s.Stage)
		}
	case n.Done != "":
		if !b.history.last(n.Done, beforeAll).Valid() && !(n.Done == WorkRepot && b.history.repotted()) {
			return no("%s comes first%s", b.nameOf(n.Done), b.planned(n.Done))
		}
	case n.Wired != nil:
		if !*n.Wired && s.WireSince.Valid() {
			return no("there is wire on the tree since %v", s.WireSince)
		}
	case n.FieldSoil != nil:
		if !*n.FieldSoil && s.FieldSoil > 0 {
			return no("about %.0f %% of the root ball is still field soil", 100*s.FieldSoil)
		}
	case n.Since != "":
		return b.tooSoon(n, c)
	}
	for _, name := range n.NotThisSeason {
		if o := b.sameSeason(name, c, "rules this out for the season"); o.reason != "" {
			return o
		}
	}
	return objection{}
}

// tooWeak says that the tree is not strong enough. The end is known where
// nobody judged it.
func (b *bench) tooWeak(is, want Strength) objection {
	h := b.history
	for _, v := range h.judged {
		if v.Strength != "" {
			return objection{
				reason: fmt.Sprintf("the tree was judged %s and this wants a %s one: feed, wait, and judge it anew", is, want),
				until:  climate.NoDate,
			}
		}
	}
	if !h.had.Valid() {
		return objection{
			reason: fmt.Sprintf("nothing is known of when it was dug, so it is taken to be %s: log that, or judge it", is),
			until:  climate.NoDate,
		}
	}
	return objection{
		reason: fmt.Sprintf("recovers from being dug, on %v or before, and this wants a %s tree", h.had, want),
		until:  h.settledBy(), cause: h.had,
	}
}

// tooSoon says that too little time has passed since a work, done or planned
// before c.
func (b *bench) tooSoon(n *Need, c *candidate) objection {
	var out objection
	b.before(n.Since, c, func(w *Work, on climate.Date, was string) {
		if n.Weeks > 0 {
			if end := on + climate.Date(math.Round(7*n.Weeks)); end > c.day {
				out = objection{fmt.Sprintf("wants %s after %s (%s)", count(n.Weeks, "week"), lower(w.Title), was), end, on}
			}
		} else if seasons := n.seasons(b.species, c.state.Stage); !b.history.growth.Passed(on, c.day, seasons) {
			out = b.resting(w, on, was, seasons)
		}
	})
	return out
}

// resting says that a tree rests after a work.
func (b *bench) resting(w *Work, on climate.Date, was string, seasons float64) objection {
	end := b.history.growth.PassedBy(on, seasons)
	until := "for want of warmth without an end that can be told"
	if end.Valid() {
		until = "until about " + end.String()[:len("2006-01")]
	}
	return objection{fmt.Sprintf("rests %s: %s after %s (%s)", until, count(seasons, "growing season"), lower(w.Title), was), end, on}
}

// sameSeason says that a work was done, or is planned with more right, in the
// season of c's day.
func (b *bench) sameSeason(name string, c *candidate, what string) objection {
	site := b.planner.outlook.Site
	season := site.Season(c.day)
	for _, d := range slices.Backward(b.history.done) {
		if d.work.Is(name) && site.Season(d.on) == season && !(d.work == c.Work && d.on == c.Done) {
			return objection{fmt.Sprintf("%s, done on %v, %s", d.work.Title, d.on, what), site.SeasonStart(season + 1), d.on}
		}
	}
	for _, o := range b.chosen {
		if o != c && o.Work.Is(name) && site.Season(o.day) == season {
			return objection{fmt.Sprintf("%s, planned about %v, %s", o.Title, o.day, what), site.SeasonStart(season + 1), o.day}
		}
	}
	return objection{}
}

// before calls f with the works that name stands for and that precede c: the
// last done, and those planned.
func (b *bench) before(name string, c *candidate, f func(w *Work, on climate.Date, was string)) {
	for _, d := range slices.Backward(b.history.done) {
		if d.work.counts(name) && d.on <= c.day {
			f(d.work, d.on, "done on "+d.on.String())
			break
		}
	}
	for _, o := range b.chosen {
		if o != c && o.Work.counts(name) && o.day <= c.day {
			f(o.Work, o.day, "planned about "+o.day.String())
		}
	}
}

// planned tells when a work is planned, in brackets, or nothing.
func (b *bench) planned(name string) string {
	for _, o := range b.works {
		if o.Work.Is(name) && !o.Done.Valid() && len(o.Blocked) == 0 {
			return fmt.Sprintf(" (planned about %v)", o.day)
		}
	}
	return ""
}

// nameOf returns the title of a work.
func (b *bench) nameOf(name string) string {
	if w, ok := b.planner.lore.WorkByID(name); ok {
		return w.Title
	}
	return name
}
