package pages

import (
	"cmp"
	"slices"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// Look is a sign to look for on trees today, with what the forecast has of it.
type Look struct {
	Sign    string // id of the phase
	Species string
	Trees   []TreeLink
	Chance  string // that it is to be seen by today, in words
	Percent int    // the same, to be drawn
	P10     string // days by which it comes
	P50     string
	P90     string
	SoFar   string

	key lookKey
}

// lookKey is what trees share that stand in one line.
type lookKey struct {
	sign           phenology.Phase
	species, sofar string
	days           climate.Spread
	percent        int
}

const (
	// pastSign is for how many days after it has come as good as surely a sign is looked for.
	pastSign = 14

	// soonSign is within how many days a sign may come, one time in ten, to be looked for today.
	soonSign = 5

	// mostSigns is how many signs of one tree are asked for at once.
	mostSigns = 2
)

// looksOf finds the signs, in the order in which a tree shows them, that nobody saw
// this season on it, that have not long been past, and that may show about now. The
// next one is there even while it is far.
func looksOf(in *wording.Tongue, t *calendar.TreePlan, season phenology.Season, on climate.Date) []Look {
	var out []Look
	for _, sign := range waitedFor(t, season, on) {
		f := season.Phases[sign]
		days, _ := f.Dates.Spread()
		if len(out) == mostSigns || len(out) > 0 && days.P10 > on+soonSign {
			break
		}
		chance := f.Dates.By(on)
		l := Look{
			Sign: string(sign), Species: t.Species.Name, Trees: []TreeLink{linkTo(t)},
			Chance: in.HowSure(chance), Percent: min(95, max(5, percent(chance))),
			P10: in.Day(days.P10), P50: in.Day(days.P50), P90: in.Day(days.P90), SoFar: in.Told(f.SoFar),
		}
		l.key = lookKey{sign, l.Species, l.SoFar, days, l.Percent}
		out = append(out, l)
	}
	return out
}

// waitedFor returns the signs of a tree that are still to be seen this season.
func waitedFor(t *calendar.TreePlan, season phenology.Season, on climate.Date) []phenology.Phase {
	if t.Species == nil {
		return nil
	}
	signs := t.Species.Group.Phases()
	// What comes before a sign that was seen is over too.
	for i := len(signs) - 1; i >= 0; i-- {
		if f, ok := season.Phases[signs[i]]; ok && f.Seen.Valid() {
			signs = signs[i+1:]
			break
		}
	}
	return slices.DeleteFunc(slices.Clone(signs), func(sign phenology.Phase) bool {
		f, ok := season.Phases[sign]
		days, comes := f.Dates.Spread()
		return !ok || !comes || days.P90+pastSign < on
	})
}

// near reports a sign that may show about today.
func (l *Look) near(on climate.Date) bool { return l.key.days.P10 <= on+soonSign }

// SignLook is a sign with the trees on which it may show today.
type SignLook struct {
	Sign      string
	Looks     []Look
	More      []Look // hardly yet, or more than are shown at once
	MoreTrees int
}

const (
	hardly    = 10 // percent below which a sign is folded away
	mostLooks = 6  // lines of one sign that are shown at once
)

// signs puts the signs that were found under their names, the surest first.
func signs(all []Look) []SignLook {
	slices.SortStableFunc(all, func(a, b Look) int { return cmp.Compare(b.Percent, a.Percent) })
	var out []SignLook
	for _, l := range all {
		k := slices.IndexFunc(out, func(s SignLook) bool { return s.Sign == l.Sign })
		if k < 0 {
			k = len(out)
			out = append(out, SignLook{Sign: l.Sign})
		}
		if s := &out[k]; l.Percent < hardly || len(s.Looks) == mostLooks {
			s.More = append(s.More, l)
			s.MoreTrees += len(l.Trees)
		} else {
			s.Looks = append(s.Looks, l)
		}
	}
	return out
}

// look adds the signs to look for today at a place; trees that share one stand together.
func (f *Fortnight) look(p *Plot) {
	for i := range p.Plan.Trees {
		t := &p.Plan.Trees[i]
		for _, l := range looksOf(f.in, t, p.Seasons[t.Tree.ID], p.Plan.On) {
			if !l.near(p.Plan.On) {
				continue
			}
			k := slices.IndexFunc(f.looks, func(o Look) bool { return o.key == l.key })
			if k < 0 {
				f.looks = append(f.looks, l)
				continue
			}
			f.looks[k].Trees = append(f.looks[k].Trees, l.Trees...)
		}
	}
}

// Changed is what a sighting that was just logged changed.
type Changed struct {
	CSRF     string
	ID, Name string // of the tree
	Past     Past   // what was logged, and how it is taken back
	Moves    []Move
	Others   int    // further windows and signs of the tree that moved
	Trees    int    // other trees of which something moved
	From     string // page to go back to
}

// Move is a window or a sign that moved.
type Move struct {
	Sign     string // id of the phase; empty: a work
	Title    string // of the work
	Was, Now string // the day by which it comes as likely as not
	Days     int    // how many days earlier (less than 0) or later
	WasSpan  int    // days between its 10 and 90 %
	NowSpan  int

	day climate.Date
}

// mostMoves is how many are told one by one.
const mostMoves = 6

// Seen is a tree with its forecasts.
type Seen struct {
	Plan   *calendar.TreePlan
	Season phenology.Season
}

// MovesOf compares what is forecast of a tree before and after an entry of a log:
// the signs that are still to come and works that are not done, in the order of their days.
func MovesOf(in *wording.Tongue, was, is Seen, on climate.Date) []Move {
	var out []Move
	move := func(sign, title string, a, b climate.Spread) {
		if a != b && a.P50.Valid() && b.P50.Valid() && b.P90 >= on {
			out = append(out, Move{
				Sign: sign, Title: title, Was: in.Day(a.P50), Now: in.Day(b.P50), Days: int(b.P50 - a.P50),
				WasSpan: int(a.P90 - a.P10), NowSpan: int(b.P90 - b.P10), day: b.P50,
			})
		}
	}
	for _, sign := range waitedFor(is.Plan, is.Season, on) {
		a, _ := was.Season.Phases[sign].Dates.Spread()
		b, _ := is.Season.Phases[sign].Dates.Spread()
		move(string(sign), "", a, b)
	}
	for i := range is.Plan.Works {
		w := &is.Plan.Works[i]
		k := slices.IndexFunc(was.Plan.Works, func(o calendar.Planned) bool { return o.Key == w.Key })
		if k < 0 || w.Done.Valid() {
			continue
		}
		title := plannedTitle(in, w)
		move("", title, was.Plan.Works[k].Window.Opens, w.Window.Opens)
	}
	slices.SortStableFunc(out, func(a, b Move) int { return cmp.Compare(a.day, b.day) })
	return out
}

// ChangedBy says what an entry of a tree's log changed; moves are those of the tree.
func ChangedBy(in *wording.Tongue, t *calendar.TreePlan, e calendar.Entry, works []calendar.Work, moves []Move, trees int) *Changed {
	c := &Changed{ID: t.Tree.ID, Name: t.Tree.Name, Moves: moves, Trees: trees}
	if len(moves) > mostMoves {
		c.Moves, c.Others = moves[:mostMoves], len(moves)-mostMoves
	}
	c.Past = pastOf(in, e, titlesOf(in, works))
	return c
}
