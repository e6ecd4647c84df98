package calendar

import (
	"fmt"
	"slices"

	"budswell/climate"
)

// Flag says that a work in a tree's log was done against what its rules ask for.
// People do things: it is no fault of the log, and what it means is reckoned with.
type Flag struct {
	Entry int // index in the log
	On    climate.Date
	Work  *Work
	Kind  FlagKind

	Reason string // what stood against it on that day
	Means  string // what that means for the plan now
	Open   bool   // it still bears on the plan
}

// FlagKind is what was not so when a work was done.
type FlagKind string

// The kinds.
const (
	FlagStage      FlagKind = "stage"      // the tree was not at a stage for it
	FlagStrength   FlagKind = "strength"   // the tree was too weak
	FlagOrder      FlagKind = "order"      // other work comes first
	FlagAgain      FlagKind = "again"      // it is done once, and was done
	FlagWire       FlagKind = "wire"       // there was wire on the tree
	FlagFieldSoil  FlagKind = "field-soil" // field soil was left
	FlagRest       FlagKind = "rest"       // too soon after other work
	FlagSeason     FlagKind = "season"     // another work of the season ruled it out
	FlagUnrepotted FlagKind = "unrepotted" // a dug tree was styled before its first repot

	// FlagContradiction: it cannot have been done as the log stands; an entry is
	// missing or wrong.
	FlagContradiction FlagKind = "contradiction"
)

// Flags goes through the log of a tree and tells which works were done against
// what their rules ask for, by day. The first work of a log is never flagged,
// for nothing is known of the time before. It returns an [ErrNotFound] where
// the species is not known.
func (p *Planner) Flags(t *Tree) ([]Flag, error) {
	s, err := p.lore.SpeciesNamed(t.Species)
	if err != nil {
		return nil, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.flags(t, s), nil
}

// FlagsOf tells what stands against an entry that is about to be added to a
// tree's log; its index is that after the last.
func (p *Planner) FlagsOf(t *Tree, e Entry) ([]Flag, error) {
	with := *t
	with.Log = append(slices.Clone(t.Log), e)
	all, err := p.Flags(&with)
	return slices.DeleteFunc(all, func(f Flag) bool { return f.Entry != len(t.Log) }), err
}

func (p *Planner) flags(t *Tree, s *Species) []Flag {
	h := beginHistory(t, p.lore, s, p.growthOf(s))
	b := &bench{planner: p, tree: t, species: s, history: h, timing: timing{planner: p, species: s, history: h}}
	var out []Flag
	for _, i := range byDay(t.Log) {
		e := &t.Log[i]
		if e.On > p.outlook.Issue {
			break
		}
		if w, ok := p.lore.WorkByID(e.Did); ok && h.had.Valid() && h.had <= e.On {
			stood := b.stood(w, e.On)
			if w.ID == WorkUnwire {
				if o := h.unwired(e.On); o.reason != "" {
					stood = append(stood, stand{FlagContradiction, o})
				}
			}
			for _, o := range stood {
				out = append(out, Flag{Entry: i, On: e.On, Work: w, Kind: o.kind, Reason: o.reason})
			}
		}
		h.take(p.lore, *e)
	}
	b.state = h.at(p.outlook.Issue)
	for i := range out {
		out[i].Means, out[i].Open = b.means(&out[i])
	}
	return out
}

// byDay returns the indexes of the entries that have a day, by their days.
func byDay(log []Entry) []int {
	var out []int
	for i := range log {
		if log[i].On.Valid() {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return int(log[a].On) - int(log[b].On) })
	return out
}

// stand is what stood against a work on a day.
type stand struct {
	kind FlagKind
	objection
}

// stood returns what stood against w on a day, by the rule for it that it went
// least against.
func (b *bench) stood(w *Work, on climate.Date) []stand {
	var best []stand
	found := false
	state := b.history.at(on)
	b.state = state
	for i := range b.planner.lore.Rules {
		r := &b.planner.lore.Rules[i]
		if r.Work != w.ID || r.ForShow() || !r.For.MatchesSpecies(b.species) || len(r.For.Origins) > 0 && !slices.Contains(r.For.Origins, b.tree.Origin) {
			continue
		}
		if slices.ContainsFunc(r.Needs, func(n Need) bool { return n.FieldSoil != nil && *n.FieldSoil && state.FieldSoil == 0 }) {
			continue // it is for trees in field soil, and asks less
		}
		c := &candidate{Planned: Planned{Rule: r, Work: w, Done: climate.NoDate}, state: state, day: on}
		if s := b.stoodBy(c); !found || len(s) < len(best) {
			best, found = s, true
		}
	}
	return best
}

// stoodBy returns what stood against a work by one rule and by the laws. Windows
// of years past are not known.
func (b *bench) stoodBy(c *candidate) []stand {
	var out []stand
	add := func(kind FlagKind, o objection) {
		same := func(s stand) bool {
			return s.reason == o.reason || o.cause != 0 && s.cause == o.cause || s.kind == kind && kind != FlagRest ||
				s.kind == FlagUnrepotted && (kind == FlagStage || kind == FlagOrder) // follows from it
		}
		if o.reason != "" && !slices.ContainsFunc(out, same) {
			out = append(out, stand{kind, o})
		}
	}
	add(FlagUnrepotted, unrepotted(b, c))
	if stages := c.Rule.For.Stages; len(stages) > 0 && !slices.ContainsFunc(stages, func(s Stage) bool { return s.rank() <= c.state.Stage.rank() }) {
		add(FlagStage, objection{reason: fmt.Sprintf("it is for trees at the stage %s, and the tree was at %q", quoteStages(stages), c.state.Stage)})
	}
	for i := range c.Rule.Needs {
		n := &c.Rule.Needs[i]
		if n.NotDone != "" {
			if d := b.history.last(n.NotDone, beforeAll); d.Valid() {
				add(FlagAgain, objection{reason: fmt.Sprintf("%s was done on %v already", b.nameOf(n.NotDone), d)})
			}
			continue
		}
		if n.Wired != nil && b.history.wire.Valid() && c.day-b.history.wire <= sittings {
			continue // one styling, in several sittings
		}
		add(flagKind(n), b.lacks(n, c))
	}
	for _, name := range c.Rule.Excludes {
		add(FlagSeason, b.sameSeason(name, c, "does not share a season with this"))
	}
	add(FlagStrength, weak(b, c))
	add(FlagRest, unrested(b, c))
	add(FlagSeason, oncePerSeason(b, c))
	add(FlagStrength, notYetDug(b, c))
	return out
}

func flagKind(n *Need) FlagKind {
	switch {
	case n.Strength != "":
		return FlagStrength
	case n.Stage != "":
		return FlagStage
	case n.Done != "":
		return FlagOrder
	case n.Wired != nil:
		return FlagWire
	case n.FieldSoil != nil:
		return FlagFieldSoil
	case n.Since != "":
		return FlagRest
	}
	return FlagSeason
}

// means says what a flag means for the plan now, and whether it still bears on it.
func (b *bench) means(f *Flag) (says string, open bool) {
	s, today := &b.state, b.planner.outlook.Issue
	soil := "no field soil is left now"
	if s.FieldSoil > 0 {
		waits := "the second styling still waits"
		if b.history.last(WorkSecondStyle, beforeAll).Valid() {
			waits = "the move into the show pot and the show still wait"
		}
		soil = fmt.Sprintf("about %.0f %% of the root ball is still field soil: %s until none is left", 100*s.FieldSoil, waits)
	}
	switch f.Kind {
	case FlagUnrepotted:
		if d := b.history.last(WorkRepot, f.On); d.Valid() {
			return fmt.Sprintf("it was repotted on %v since; %s", d, soil), s.FieldSoil > 0
		}
		return "its roots are still unseen, so the first repot comes next; " + soil, true
	case FlagFieldSoil:
		return soil, s.FieldSoil > 0
	case FlagOrder:
		for _, r := range b.planner.lore.Rules {
			if r.Work != f.Work.ID {
				continue
			}
			for _, n := range r.Needs {
				if n.Done == "" || b.history.last(n.Done, beforeAll).Valid() {
					continue
				}
				return lower(b.nameOf(n.Done)) + " still comes, and what needs it waits", true
			}
		}
		return "what was to come first was done since", false
	case FlagStage:
		if !s.FlareSeen {
			return fmt.Sprintf("the tree is taken to be at %q now, and its root flare is still to be inspected", s.Stage), true
		}
		return fmt.Sprintf("the tree is taken to be at %q now; %s", s.Stage, soil), s.FieldSoil > 0
	case FlagStrength:
		if s.Strength == Strong {
			return "it is taken to be strong again", false
		}
		return fmt.Sprintf("it is taken to be %s: nothing hard until it is judged strong", s.Strength), true
	case FlagWire:
		if s.WireSince.Valid() && s.WireSince <= f.On {
			return fmt.Sprintf("the wire is counted from %v, when the first of it was put on", s.WireSince), true
		}
		return "the wire has come off since", false
	case FlagContradiction:
		return "nothing, but for wire that is not known of: log the day on which it was wired", false
	case FlagAgain:
		return "the later day is the one that counts", false
	}
	if after, until := b.history.rest(today); after != nil {
		end := "without an end that can be told"
		if until.Valid() {
			end = fmt.Sprintf("until about %v", until)
		}
		return fmt.Sprintf("it rests %s after %s on %v, and hard work waits", end, lower(after.work.Title), after.on), true
	}
	return "it has rested since, and nothing waits for it now", false
}
