package calendar

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"

	"budswell/climate"
)

// Promise is what an agenda told a grower: which work on which day. The next
// agenda takes it in, so that days do not jump about.
type Promise []Promised

// Promised is one work that was promised for a day. A repeated work is promised
// for several.
type Promised struct {
	Tree   string       `json:"tree"` // id
	Key    string       `json:"key"`  // of the [Planned] work
	Day    climate.Date `json:"day"`
	Chance float64      `json:"chance"` // that the window is open on the day, as told then, 0 to 1
}

const (
	// promisedDays is how many days ahead a promise stands, from today on, unless
	// the window moved.
	promisedDays = 3

	// windowMoved is by how much the chance of a promised day must have fallen for
	// the window to have moved (judged, no published source).
	windowMoved = 0.2

	// worthMoving is the share of what missing a work costs that moving it must at
	// least gain, here or by what takes its place (judged, no published source).
	worthMoving = 0.05

	// promiseVersion is the version of the form in which promises are written as JSON.
	promiseVersion = 1

	// mostPromised is how many works a promise holds at most when it is read.
	mostPromised = 1000000
)

type promiseJSON struct {
	Version int        `json:"version"`
	Works   []Promised `json:"works"`
}

// MarshalJSON writes the promise, version 1.
func (p Promise) MarshalJSON() ([]byte, error) {
	return json.Marshal(promiseJSON{promiseVersion, append([]Promised{}, p...)})
}

// UnmarshalJSON reads what MarshalJSON wrote. What cannot be is an [ErrInvalid].
func (p *Promise) UnmarshalJSON(text []byte) error {
	var in promiseJSON
	if err := json.Unmarshal(text, &in); err != nil {
		return fmt.Errorf("promise: %w: %w", err, ErrInvalid)
	}
	if in.Version != promiseVersion {
		return fmt.Errorf("promise: version: %d: want %d: %w", in.Version, promiseVersion, ErrInvalid)
	}
	if len(in.Works) > mostPromised {
		return fmt.Errorf("promise: works: %d of them; want at most %d: %w", len(in.Works), mostPromised, ErrInvalid)
	}
	for i, w := range in.Works {
		switch {
		case w.Tree == "" || w.Key == "":
			return fmt.Errorf("promise: works[%d]: want a tree and a key: %w", i+1, ErrInvalid)
		case !w.Day.Valid():
			return fmt.Errorf("promise: works[%d].day: is missing: %w", i+1, ErrInvalid)
		case !(w.Chance >= 0 && w.Chance <= 1):
			return fmt.Errorf("promise: works[%d].chance: %v: want 0 to 1: %w", i+1, w.Chance, ErrInvalid)
		}
	}
	*p = in.Works
	return nil
}

// promises are those of a tree's work, by day.
type promises map[[2]string][]Promised

func (p Promise) byWork() promises {
	out := promises{}
	for _, w := range p {
		k := [2]string{w.Tree, w.Key}
		out[k] = append(out[k], w)
	}
	for _, list := range out {
		slices.SortStableFunc(list, func(a, b Promised) int { return cmp.Compare(a.Day, b.Day) })
	}
	return out
}

// stands reports whether a promise is not to be moved on a day: it is for one of
// the next three, and the window is where it was.
func (p *Promised) stands(on climate.Date, chance float64) bool {
	return p.Day >= on && p.Day <= on+promisedDays && chance >= p.Chance-windowMoved
}
