package pages

import (
	"cmp"
	"slices"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// SeasonTree is a tree's signs and windows in a season.
type SeasonTree struct {
	ID, Name, Species string
	Signs             []Sign
	Windows           []SeasonWindow
	Height            int // of its chart, px
}

// Sign is a phase of the season: when it was to come as the season began, when it is to come
// now, and when it was seen.
type Sign struct {
	Name        string
	Before, Now Range
	Seen        Stamp
	Said        Told // of the day seen
	Off         Off  // of the day seen, from the middle of Before; ahead: it came early
	Outside     bool // of 8 of 10 cases
}

// Range is the 10, 50 and 90 % days of something; empty: it is not told.
type Range struct{ P10, P50, P90 Stamp }

// Told reports whether there is anything in it.
func (r Range) Told() bool { return r.P50.ISO != "" }

// SeasonWindow is a window of work that touches the season.
type SeasonWindow struct {
	Title         string
	Opens, Closes Range
	Likely        Stamp
	Sure          string // that it is open on the likely day
	Chance        string // that it opens at all; empty: it always does
	Waits         bool
	Done          Stamp
}

// Size of the chart of a tree, px: of a row, and of what stands about the rows.
const (
	seasonRow  = 34
	seasonEdge = 56
)

// SeasonTreeOf lays out a tree of a plan. Now and before are the forecasts of its season, of
// today and as the season began; before may be empty.
func SeasonTreeOf(in *wording.Tongue, t *calendar.TreePlan, p *climate.Progress, now, before phenology.Season) SeasonTree {
	out := SeasonTree{ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Tree.Species}
	seen := t.Tree.SeenIn(p.Site, p.Season)
	if t.Species != nil {
		out.Species = t.Species.Name
		for _, phase := range t.Species.Group.Phases() {
			if s, ok := signOf(in, phase, p.First, now, before, seen); ok {
				out.Signs = append(out.Signs, s)
			}
		}
	}
	out.Windows = windowsOf(in, t.Works, p)
	out.Height = seasonEdge + seasonRow*(len(out.Signs)+len(out.Windows))
	return out
}

func signOf(in *wording.Tongue, phase phenology.Phase, start climate.Date, now, before phenology.Season, seen map[phenology.Phase]climate.Date) (Sign, bool) {
	s := Sign{Name: in.Name(string(phase))}
	was, foretold := before.Phases[phase].Dates.Spread()
	s.Before = rangeOf(in, was)
	on, ok := seen[phase]
	if ok {
		s.Seen = stamp(in, on)
		if foretold {
			s.Off, s.Outside = offOf(int(was.P50-on)), on < was.P10 || on > was.P90
		}
		s.Said = s.words(in, start)
	} else if is, comes := now.Phases[phase].Dates.Spread(); comes {
		s.Now = rangeOf(in, is)
	}
	return s, ok || s.Before.Told() || s.Now.Told()
}

// windowsOf lists the windows that touch the season, in their order. Care that goes on for long, and
// looking, has no right fortnight, and is left out.
func windowsOf(in *wording.Tongue, works []calendar.Planned, p *climate.Progress) []SeasonWindow {
	var picked []*calendar.Planned
	for i := range works {
		w := &works[i]
		if !w.Window.Opens.P50.Valid() || w.Window.Chance < leastChance || w.Rule != nil && w.Rule.Every > 0 || w.Window.AnyTime {
			continue
		}
		if w.Work != nil && (w.Work.Class == calendar.Feeding || w.Work.Class == calendar.Health) {
			continue
		}
		if w.Window.Opens.P50 <= p.Last && w.Window.Closes.P50 >= p.First {
			picked = append(picked, w)
		}
	}
	slices.SortStableFunc(picked, func(a, b *calendar.Planned) int { return cmp.Compare(a.Window.Opens.P50, b.Window.Opens.P50) })
	out := make([]SeasonWindow, 0, len(picked))
	for _, w := range picked {
		v := SeasonWindow{
			Title: plannedTitle(in, w), Opens: rangeOf(in, w.Window.Opens), Closes: rangeOf(in, w.Window.Closes), Likely: stamp(in, w.Window.Likely),
			Sure: in.Percent(w.Window.Certainty), Waits: len(w.Blocked) > 0, Done: stamp(in, w.Done),
		}
		if w.Window.Chance < 0.95 {
			v.Chance = in.HowSure(w.Window.Chance)
		}
		out = append(out, v)
	}
	return out
}

func rangeOf(in *wording.Tongue, s climate.Spread) Range {
	return Range{stamp(in, s.P10), stamp(in, s.P50), stamp(in, s.P90)}
}
