package calendar

import "math"

// StageTime is how many growing seasons trees take for a part of their way to the
// bench that no log tells the length of: one in ten takes less than Low, half of
// them less than Usual, one in ten more than High.
type StageTime struct {
	ID    string `yaml:"id"`
	Stage Stage  `yaml:"stage"` // what it is the time of; see the timed stages
	For   Scope  `yaml:"for"`   // groups, species and origins; of several that fit the last holds

	// 0 to 12 growing seasons, by warmth; Low <= Usual <= High.
	Low   float64 `yaml:"low"`
	Usual float64 `yaml:"usual"`
	High  float64 `yaml:"high"`

	Source string `yaml:"source"`
}

// TimedStages lists the stages that a lore tells the time of. It counts: collected,
// from the digging until growth resumes; recovering, from the digging until the tree is
// strong; building, from the first styling until it is well ramified; second-styling,
// from the second styling until the structure holds; refining, from the second
// styling until it is fully ramified.
func TimedStages() []Stage {
	return []Stage{StageCollected, StageRecovering, StageBuilding, StageSecondStyling, StageRefining}
}

// Setback is what keeps a tree from going on, in some of the years: judged, since
// nobody has counted them.
type Setback struct {
	ID    string      `yaml:"id"`
	Kind  SetbackKind `yaml:"kind"`
	After string      `yaml:"after"` // with kind not-strong: a work, AnyHard or AnyRootWork
	For   Scope       `yaml:"for"`

	Chance float64 `yaml:"chance"` // probability each time, 0 to 0.9; 1 for weak and recovering

	// Growing seasons until the tree is strong, as of a [StageTime]; none with kind
	// missed.
	Low   float64 `yaml:"low"`
	Usual float64 `yaml:"usual"`
	High  float64 `yaml:"high"`

	Source string `yaml:"source"`
}

// SetbackKind is what a setback is.
type SetbackKind string

// The kinds of setback.
const (
	SetbackNotStrong  SetbackKind = "not-strong" // after a work the tree does not grow as it should
	SetbackMissed     SetbackKind = "missed"     // the window went by: no time, wrong weather, no pot
	SetbackWeak       SetbackKind = "weak"       // how long a tree judged weak takes to be strong
	SetbackRecovering SetbackKind = "recovering" // how long one judged recovering takes
)

// SetbackKinds lists the kinds.
func SetbackKinds() []SetbackKind {
	return []SetbackKind{SetbackNotStrong, SetbackMissed, SetbackWeak, SetbackRecovering}
}

// stageTime returns the time of a stage for trees of s; zero where the lore tells
// none, and then it takes no time.
func (l *Lore) stageTime(stage Stage, s *Species, origin Origin) *StageTime {
	out := &noTime
	for i := range l.Stages {
		if t := &l.Stages[i]; t.Stage == stage && t.For.Matches(s, stage, origin) {
			out = t
		}
	}
	return out
}

var noTime StageTime

// setback returns the last setback of a kind for trees of s, after a work where it
// follows one; nil where there is none.
func (l *Lore) setback(kind SetbackKind, w *Work, s *Species, origin Origin) *Setback {
	var out *Setback
	for i := range l.Setbacks {
		b := &l.Setbacks[i]
		if b.Kind == kind && b.For.Matches(s, "", origin) && (b.After == "" || w != nil && w.Is(b.After)) {
			out = b
		}
	}
	return out
}

// spell is a distribution of growing seasons: normal on either side of its middle,
// with a spread of its own on each, and never below nought.
type spell struct{ middle, below, above float64 }

// decile is how many standard deviations from the middle of a normal distribution
// a tenth of it begins.
const decile = 1.2815515655446004

func spellOf(low, usual, high float64) spell {
	return spell{usual, (usual - low) / decile, (high - usual) / decile}
}

func (b *Setback) spell() spell { return spellOf(b.Low, b.Usual, b.High) }

// seasons returns the quantile of a share u, 0 < u < 1, of the trees; of those that
// have spent some seasons already, only what is left to them counts. A tenth of the
// trees lie beyond the high end, but none further than it is from the middle.
func (s spell) seasons(u, spent float64) float64 {
	if spent > 0 {
		q := s.share(spent)
		u = q + u*(1-q)
	}
	z := math.Sqrt2 * math.Erfinv(2*min(max(u, 1e-9), 1-1e-9)-1)
	z = min(max(z, -2*decile), 2*decile)
	return max(spent, s.middle+z*s.side(z), 0)
}

// share returns which share of the trees takes less than so many seasons.
func (s spell) share(seasons float64) float64 {
	d := seasons - s.middle
	sd := s.side(d)
	switch {
	case d == 0:
		return 0.5
	case sd == 0 && d < 0:
		return 0
	case sd == 0:
		return 1
	}
	return math.Erfc(-d/sd/math.Sqrt2) / 2
}

func (s spell) side(z float64) float64 {
	if z < 0 {
		return s.below
	}
	return s.above
}
