package phenology

import (
	"bytes"
	"embed"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"sync"
)

// The priors are data: curves and their weights, the typical courses of the
// curves at the reference place, Harvard Forest, and when there the trees of a
// species, or of a class of flushing, break bud. "go test ./climate/phenology
// -run TestFit -update" fits curves.csv, courses.csv and species.csv anew;
// classes.csv and phases.csv are common practice, origins.csv is published; all name their reasons.
//
//go:embed priors/*.csv
var priorFiles embed.FS

// priors is what is known before anything was seen at the place.
type priors struct {
	curves  []curve
	courses []course // of each curve, typical at the reference place
	species map[string]speciesPrior
	genera  map[string]kin
	flush   map[Flush]speciesPrior
	any     speciesPrior
	origins map[string]float64 // days that a species not fitted is later; "" is of any not named
	lags    map[Phase]lag
	autumn  map[Phase]threshold

	thresholds map[string]threshold
	spread     map[string]float64 // of the parts of the clock at bud break; days
	relatives  *relatives
}

// speciesPrior is when trees break bud in a typical season of the reference
// place, in days of the season, and how uncertain that is elsewhere.
type speciesPrior struct {
	Day, SD float64
	Trees   int // plants fitted to; 0 for a class
	Springs int
	basis   string // in words
}

// lag is how long after bud break a phase comes in a typical season of the
// reference place.
type lag struct {
	Days float64 // negative before it
	SD   float64 // relative to Days: of the logarithm
}

// threshold is a level at which something happens, and its spread.
type threshold struct{ Level, SD float64 }

// loadPriors reads the embedded priors once. They are part of the program, so a
// fault in them is a fault of the program.
var loadPriors = sync.OnceValue(func() *priors {
	p, err := readPriors(func(name string) ([]byte, error) { return priorFiles.ReadFile("priors/" + name + ".csv") })
	if err != nil {
		panic(err)
	}
	return p
})

func readPriors(open func(name string) ([]byte, error)) (*priors, error) {
	p := &priors{
		species: map[string]speciesPrior{}, genera: map[string]kin{},
		flush: map[Flush]speciesPrior{}, origins: map[string]float64{}, lags: map[Phase]lag{}, autumn: map[Phase]threshold{},
		thresholds: map[string]threshold{}, spread: map[string]float64{},
	}
	var err error
	read := func(name string, row func(r *row)) {
		if err == nil {
			var text []byte
			if text, err = open(name); err == nil {
				err = readTable(name, text, row)
			}
		}
	}
	read("curves", func(r *row) {
		p.curves = append(p.curves, curve{
			Form: form(r.text("form")), W: r.number("w", 0.5, 1.25), M: r.number("m", -5, 30), Q: r.number("q", 0, 2),
			Start: int(r.number("start", 0, 120)), P: r.number("p", 0, 12), Chill: r.number("chill", 0, 120),
			Weight: r.number("weight", 0, 1),
		})
	})
	p.courses = make([]course, len(p.curves))
	for k := range p.courses {
		p.courses[k] = make(course, 0, 366)
	}
	read("courses", func(r *row) {
		day := int(r.number("day", 0, 364))
		for k := range p.courses {
			p.courses[k] = p.courses[k].lineTo(day, r.number(strconv.Itoa(k), 0, 1e5))
		}
	})
	read("species", func(r *row) {
		v := r.prior()
		v.basis = fmt.Sprintf("%d trees of the species over %d springs elsewhere", v.Trees, v.Springs)
		p.species[r.text("species")] = v
	})
	read("genera", func(r *row) {
		k := kin{Genus: r.text("genus"), Family: r.text("family")}
		for i, trait := range []string{"shrub", "evergreen", "conifer", "ring_porous"} {
			k.Traits[i] = r.number(trait, 0, 1)
		}
		p.genera[k.Genus] = k
	})
	read("classes", func(r *row) {
		v := speciesPrior{Day: r.number("day", 0, 250), SD: r.number("sd", 0.1, 60), basis: "its place in the order of flushing"}
		if name := r.text("flush"); name == "" {
			v.basis = "trees in general"
			p.any = v
		} else {
			p.flush[Flush(name)] = v
		}
	})
	read("origins", func(r *row) { p.origins[r.text("species")] = r.number("days", -20, 20) })
	read("phases", func(r *row) {
		p.lags[Phase(r.text("phase"))] = lag{Days: r.number("days", -60, 200), SD: r.number("sd", 0, 1)}
	})
	read("autumn", func(r *row) {
		p.autumn[Phase(r.text("phase"))] = threshold{r.number("aging", 1, 1e6), r.number("sd", 0.01, 1)}
	})
	read("thresholds", func(r *row) {
		p.thresholds[r.text("of")] = threshold{r.number("level", 0, 100), r.number("sd", 0.01, 20)}
	})
	read("spreads", func(r *row) { p.spread[r.text("of")] = r.number("sd", 0.01, 60) })
	if err == nil {
		err = p.relate()
	}
	return p, err
}

// relate prepares to tell species from those that are fitted.
func (p *priors) relate() error {
	var of []kin
	var days []float64
	for _, name := range sortedKeys(p.species) {
		k, _ := p.kinOf(Habit{Species: name})
		of = append(of, k)
		days = append(days, p.species[name].Day)
	}
	s := p.spread
	var ok bool
	p.relatives, ok = newRelatives(likeness{s["trait"], s["family"], s["genus"], s["species"]}, of, days)
	if !ok {
		return errors.New("priors/spreads.csv: trait, family, genus and species: want standard deviations above 0")
	}
	return nil
}

// sortedKeys returns the keys of m in order.
func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// betweenPlaces is how far the usual day of a species strays from place to place,
// the place's own part apart, days: judged, not fitted.
const betweenPlaces = 3.0

// of returns the prior of a species, and on what it rests: what was fitted for
// it, or else what its kin, its place in the order of flushing and where it comes from tell.
func (p *priors) of(h Habit) speciesPrior {
	if v, ok := p.species[h.Species]; ok {
		return v
	}
	out := p.likely(h)
	days, ok := p.origins[h.Species]
	if !ok {
		days = p.origins[""]
	}
	out.Day += days
	return out
}

// likely returns the prior of a species that is not fitted as if it came from
// where the fitted ones do: its relatives and the way it grows, and its class of flushing.
func (p *priors) likely(h Habit) speciesPrior {
	out := p.any
	k, known := p.kinOf(h)
	if known || k.Traits != [4]float64{} {
		day, sd := p.relatives.tell(&k)
		out = speciesPrior{Day: day, SD: max(leastUnknown, math.Hypot(sd, betweenPlaces)), basis: "its relatives and the way it grows"}
	}
	class, ok := p.flush[h.Flush]
	switch {
	case !ok:
		return out
	case out.basis == p.any.basis:
		return class
	}
	return out.and(class)
}

// leastJoint is the least standard deviation of the usual day of a species told by both its
// kin and its class, days: judged by dates published of other places (TestPublishedPlaces).
const leastJoint = 5

// and joins two priors that know the same thing in different ways. They are not
// quite independent, so the joint spread is no narrower than leastJoint.
func (s speciesPrior) and(t speciesPrior) speciesPrior {
	a, b := 1/(s.SD*s.SD), 1/(t.SD*t.SD)
	return speciesPrior{Day: (a*s.Day + b*t.Day) / (a + b), SD: max(leastJoint, 1/math.Sqrt(a+b)), basis: s.basis + ", and " + t.basis}
}

// row reads the fields of one line of a table; the first fault is kept.
type row struct {
	columns map[string]int
	fields  []string
	err     error
}

func (r *row) text(column string) string {
	i, ok := r.columns[column]
	if !ok {
		if r.err == nil {
			r.err = fmt.Errorf("no column %s", column)
		}
		return ""
	}
	return r.fields[i]
}

func (r *row) number(column string, lo, hi float64) float64 {
	s := r.text(column)
	v, err := strconv.ParseFloat(s, 64)
	if r.err == nil && (err != nil || math.IsNaN(v) || v < lo || v > hi) {
		r.err = fmt.Errorf("%s %q: want a number from %v to %v", column, s, lo, hi)
	}
	return v
}

func (r *row) prior() speciesPrior {
	return speciesPrior{
		Day: r.number("day", 0, 250), SD: r.number("sd", 0.1, 60),
		Trees: int(r.number("trees", 0, 1e6)), Springs: int(r.number("springs", 0, 1e4)),
	}
}

// readTable reads a table, which has a header line; lines that begin with # say
// where it comes from.
func readTable(name string, text []byte, each func(*row)) error {
	in := csv.NewReader(bytes.NewReader(text))
	in.Comment = '#'
	lines, err := in.ReadAll()
	if err != nil {
		return fmt.Errorf("priors/%s.csv: %w", name, err)
	}
	r := row{columns: map[string]int{}}
	for i, fields := range lines {
		if i == 0 {
			for k, c := range fields {
				r.columns[c] = k
			}
			continue
		}
		r.fields = fields
		if each(&r); r.err != nil {
			return fmt.Errorf("priors/%s.csv: row %d: %w", name, i, r.err)
		}
	}
	return nil
}
