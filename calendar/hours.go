package calendar

import (
	"fmt"
	"slices"
	"time"

	"budswell/climate"
)

// Hours is the time that a grower has for the trees, and what works take of it.
// It says nothing of the hour of the day.
type Hours struct {
	// Weekdays are the grower's own minutes by [time.Weekday], Sunday first.
	Weekdays [7]int `json:"weekdays"`

	Away    []Absence   `json:"away,omitempty"`
	Extra   []ExtraDay  `json:"extra,omitempty"`
	Helpers []Helper    `json:"helpers,omitempty"`
	Minutes WorkMinutes `json:"minutes,omitempty"` // for one tree, in place of the rule's, 1 to 960
	SetUp   WorkMinutes `json:"set_up,omitempty"`  // once a day for all trees that get the work on it, 1 to 480
}

// WorkMinutes are minutes by the id of a work.
type WorkMinutes map[string]int

// Absence is days on which the grower is away, the first and the last included.
type Absence struct {
	From climate.Date `json:"from"`
	To   climate.Date `json:"to"`
}

// ExtraDay is a day with more minutes of the grower's own than its weekday has.
type ExtraDay struct {
	On      climate.Date `json:"on"`
	Minutes int          `json:"minutes"`
}

// Helper is somebody who comes on a day, or on every such weekday on which the
// grower is not away.
type Helper struct {
	On      climate.Date `json:"on"`      // NoDate: every Weekday
	Weekday time.Weekday `json:"weekday"` // of no meaning where On is given
	Minutes int          `json:"minutes"`
	Hard    bool         `json:"hard"` // may do work that is hard on a tree
}

// Bounds of what people have and works take, in minutes.
const (
	longestDay   = 24 * 60
	longestWork  = 16 * 60
	longestSetUp = 8 * 60
	mostHelp     = 100 * 60 // of one helper or group of helpers on a day
)

// dayMinutes is what there is on one day.
type dayMinutes struct {
	all int // of everybody
	own int // of those who may do hard work
}

// on returns what there is on a day. Two people may share one tree, so minutes
// are counted together.
func (h *Hours) on(d climate.Date) dayMinutes {
	m := dayMinutes{}
	away := h.away(d)
	if !away {
		m.own = h.Weekdays[d.Weekday()]
		for _, e := range h.Extra {
			if e.On == d {
				m.own += e.Minutes
			}
		}
	}
	m.own = min(m.own, longestDay)
	m.all = m.own
	for _, p := range h.Helpers {
		if p.On == d || !p.On.Valid() && p.Weekday == d.Weekday() && !away {
			m.all += p.Minutes
			if p.Hard {
				m.own += p.Minutes
			}
		}
	}
	return m
}

func (h *Hours) away(d climate.Date) bool {
	return slices.ContainsFunc(h.Away, func(a Absence) bool { return a.From <= d && d <= a.To })
}

// with returns hours with so many minutes more of the grower's own on a day.
func (h *Hours) with(d climate.Date, minutes int) *Hours {
	more := *h
	more.Extra = append(slices.Clone(h.Extra), ExtraDay{d, minutes})
	return &more
}

// Check reports what cannot be, as an [ErrInvalid]; what [ReadFile] returned needs
// no check.
func (h *Hours) Check(l *Lore) error {
	if err := h.Validate(); err != nil {
		return err
	}
	for _, of := range []WorkMinutes{h.Minutes, h.SetUp} {
		for id := range of {
			if w, ok := l.WorkByID(id); !ok || w.ID != id {
				return fmt.Errorf("hours: %q: want the id of a work: %w", id, ErrInvalid)
			}
		}
	}
	return nil
}

// Validate reports what cannot be, whatever works there are, as an [ErrInvalid].
func (h *Hours) Validate() error {
	no := func(format string, args ...any) error {
		return fmt.Errorf("hours: "+format+": %w", append(args, ErrInvalid)...)
	}
	within := func(v, low, high int) bool { return low <= v && v <= high }
	for d, m := range h.Weekdays {
		if !within(m, 0, longestDay) {
			return no("%s: %d minutes; want 0 to %d", time.Weekday(d), m, longestDay)
		}
	}
	for _, a := range h.Away {
		if !a.From.Valid() || !a.To.Valid() || a.To < a.From {
			return no("away from %v to %v; want a first and a last day", a.From, a.To)
		}
	}
	for _, e := range h.Extra {
		if !e.On.Valid() || !within(e.Minutes, 1, longestDay) {
			return no("extra on %v, %d minutes; want a day, and 1 to %d minutes", e.On, e.Minutes, longestDay)
		}
		if h.away(e.On) {
			return no("extra on %v lies in days away", e.On)
		}
	}
	for _, p := range h.Helpers {
		if !within(p.Minutes, 1, mostHelp) || !p.On.Valid() && !within(int(p.Weekday), 0, 6) {
			return no("helper with %d minutes on %v; want 1 to %d minutes on a day or a weekday", p.Minutes, p.On, mostHelp)
		}
	}
	for _, m := range []struct {
		of   WorkMinutes
		name string
		most int
	}{{h.Minutes, "minutes", longestWork}, {h.SetUp, "set_up", longestSetUp}} {
		for id, v := range m.of {
			if id == "" || !within(v, 1, m.most) {
				return no("%s: %s: %d; want the id of a work, and 1 to %d minutes", m.name, id, v, m.most)
			}
		}
	}
	return nil
}
