package calendar

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Telling is a sighting as it goes into a pool: with the tree that it is of, by which
// the store finds it again and which it tells nobody.
type Telling struct {
	Tree string // id
	phenology.Pooled
}

// sameDays is by how many days a lateness may differ and be the same: what is typical
// of a place moves a little every day, which is no news to anybody.
const sameDays = 0.5

// Alike reports whether two tellings of one sighting tell others the same.
func (k *Telling) Alike(o *Telling) bool {
	a, b := *k, *o
	if math.Abs(a.Late-b.Late) >= sameDays || math.Abs(math.Sqrt(a.Variance)-math.Sqrt(b.Variance)) >= sameDays {
		return false
	}
	a.Late, a.Variance = b.Late, b.Variance
	return a == b
}

// PooledEntry is a sighting in the pool of a club.
type PooledEntry struct {
	phenology.Pooled
	Aside bool // a keeper set it aside: nobody learns from it
}

// Aside is that a keeper set sightings of a member aside, or let them count again.
type Aside struct {
	Club, Grower string // ids; whose sightings
	Species      string
	Phase        phenology.Phase
	On           climate.Date
	Keeper       string    // id; empty where the keeper has left the service
	At           time.Time // when it was done
	Back         bool      // they count again
}

// Pools is the part of a [Store] that keeps what members of clubs share. A grower who
// shares in no club has nothing in it. What changes a pool counts as a change of the
// plans of the other members and of the clubs' regions.
type Pools interface {
	// PutTellings says what a grower's sightings tell from now on, in place of all
	// before, and returns whether that is any change. Those that are [Telling.Alike] stay
	// as they are.
	PutTellings(ctx context.Context, grower string, all []Telling) (bool, error)
	// Pool returns what is in the pool of a club, by grower, species, day and phase.
	Pool(ctx context.Context, club string) ([]PooledEntry, error)
	// Learned returns what a grower learns from: all that others share in the grower's
	// clubs and that is not set aside there, each once.
	Learned(ctx context.Context, grower string) ([]phenology.Pooled, error)
	// SetAside sets sightings aside or lets them count again. All of a member that are of
	// the same species, phase and day are one; there must be some, or it is ErrNotFound.
	SetAside(ctx context.Context, a Aside) error
	// Asides returns all that was ever set aside in a club, the newest first.
	Asides(ctx context.Context, club string) ([]Aside, error)
}

// How exactly a pool tells where a tree stands: degrees and metres.
const (
	toldDegrees = 0.1
	toldMetres  = 50
)

// Tell makes tellings of what was seen at a site, its place told no more exactly than a
// tenth of a degree and fifty metres of elevation.
func Tell(grower string, site climate.Site, seen []phenology.Told) []Telling {
	round := func(v, step float64) float64 { return math.Round(v/step) / (1 / step) }
	out := make([]Telling, len(seen))
	for i, s := range seen {
		out[i] = Telling{s.Tree, phenology.Pooled{
			Grower: grower, Species: s.Species, Phase: s.Phase, On: s.On, Year: s.Year, Late: s.Late, Variance: s.Variance,
			Lat: round(site.Lat, toldDegrees), Lon: round(site.Lon, toldDegrees), Elevation: round(site.Elevation, toldMetres),
		}}
	}
	return out
}

// Odd is a pooled sighting that is far from what the others lead one to expect.
type Odd struct {
	PooledEntry
	Off    float64 // days later than expected; before nought: earlier
	Others int     // other growers who saw the species in that spring; 0: only the model says so
}

// Days from which on a sighting is odd: beside what others saw of the species that
// spring, about three standard deviations of the difference of two gardens; beside the model
// alone, three of what is not known of a species at a place. Judged from the spreads
// fitted at Harvard Forest (climate/phenology/priors/spreads.csv).
const (
	oddAmongOthers = 15
	oddAlone       = 21
)

// OddOnes finds the sightings of a pool that are far off, the farthest first. Each
// grower has one voice in what is expected, the median of their trees, and none in
// what is expected of themselves.
func OddOnes(pool []PooledEntry) []Odd {
	type spring struct {
		species string
		year    int
	}
	voices := map[spring]map[string][]float64{}
	for i := range pool {
		e := &pool[i]
		if e.Aside {
			continue
		}
		at := spring{e.Species, e.Year}
		if voices[at] == nil {
			voices[at] = map[string][]float64{}
		}
		voices[at][e.Grower] = append(voices[at][e.Grower], e.Late)
	}
	var out []Odd
	for i := range pool {
		o := Odd{PooledEntry: pool[i]}
		var others []float64
		for grower, lates := range voices[spring{o.Species, o.Year}] {
			if grower != o.Grower {
				others = append(others, middle(lates))
			}
		}
		most := float64(oddAlone)
		if o.Off, o.Others = o.Late, len(others); o.Others > 0 {
			o.Off -= middle(others)
			most = oddAmongOthers
		}
		if math.Abs(o.Off) >= most || o.Aside {
			out = append(out, o)
		}
	}
	slices.SortStableFunc(out, func(a, b Odd) int { return cmp.Compare(math.Abs(b.Off), math.Abs(a.Off)) })
	return out
}

// middle is the median.
func middle(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// bandMetres is how high the bands are in which a pool is shown.
const bandMetres = 200

// PoolBand is what the growers of a club saw of a species in a band of elevation in one
// spring.
type PoolBand struct {
	Species        string
	Low, High      int // metres
	Year           int // the season
	Growers, Trees int // who saw it, and how many sightings there are
	Late           float64
	First, Last    climate.Date // on which it was seen
}

// Bands sums up a pool by species and band, the newest spring first: how late the
// species was, each grower with one voice. What is set aside is left out.
func Bands(pool []PooledEntry) []PoolBand {
	type key struct {
		species   string
		low, year int
	}
	voices := map[key]map[string][]float64{}
	bands := map[key]*PoolBand{}
	for i := range pool {
		e := &pool[i]
		if e.Aside {
			continue
		}
		k := key{e.Species, bandMetres * int(math.Floor(e.Elevation/bandMetres)), e.Year}
		b := bands[k]
		if b == nil {
			b = &PoolBand{Species: k.species, Low: k.low, High: k.low + bandMetres, Year: k.year, First: e.On, Last: e.On}
			bands[k], voices[k] = b, map[string][]float64{}
		}
		b.Trees++
		b.First, b.Last = min(b.First, e.On), max(b.Last, e.On)
		voices[k][e.Grower] = append(voices[k][e.Grower], e.Late)
	}
	out := make([]PoolBand, 0, len(bands))
	for k, b := range bands {
		var all []float64
		for _, lates := range voices[k] {
			all = append(all, middle(lates))
		}
		b.Growers, b.Late = len(all), middle(all)
		out = append(out, *b)
	}
	slices.SortFunc(out, func(a, b PoolBand) int {
		return cmp.Or(cmp.Compare(b.Year, a.Year), cmp.Compare(a.Species, b.Species), cmp.Compare(a.Low, b.Low))
	})
	return out
}

// Check reports an aside that cannot be, as an [ErrInvalid].
func (a *Aside) Check() error {
	if a.Club == "" || a.Grower == "" || a.Species == "" || a.Phase == "" || a.At.IsZero() || !a.On.Valid() {
		return fmt.Errorf("aside of %q in %q: want species, phase, day and time: %w", a.Grower, a.Club, ErrInvalid)
	}
	return nil
}
