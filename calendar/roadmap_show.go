package calendar

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"budswell/climate"
)

// ShowAhead is what the years say of a day by which a tree should be ready.
type ShowAhead struct {
	ReadyBy
	Season string  `json:"season"`
	Chance float64 `json:"chance"` // share of the draws in which the tree is ready by then, 0 to 1
	Said   string  `json:"said"`   // the chance and what it hangs on, in words

	Path   []PathLink   `json:"path"`   // the waits that decide the day, in the order in which they come
	Latest []LatestStep `json:"latest"` // of the steps still to come
}

// PathLink is one wait on the way that decides when the tree is ready: nothing on the
// way after it could have begun before it was over.
type PathLink struct {
	What    string  `json:"what"`    // in words: what is waited for
	Share   float64 `json:"share"`   // of the draws in which it is on the deciding way
	Years   float64 `json:"years"`   // it takes there, on average
	Longest float64 `json:"longest"` // share of the draws in which it is the longest wait of all
}

// LatestStep is the latest season in which a step still makes it to a show.
type LatestStep struct {
	Step   string     `json:"step"`
	Title  string     `json:"title"`
	By     *SeasonDay `json:"by"`     // nil where it may not wait at all
	Chance float64    `json:"chance"` // of being ready if it is done then
	Said   string     `json:"said"`
}

// linkKey is a wait: what for, after what, for what.
type linkKey struct {
	why   reason
	of    int // work
	stage int // that it lets the tree enter, -1 for a work
	work  int
}

// keyOf returns the key of the wait for a milestone: those that are told in the same
// words have the same.
func keyOf(e *milestone) linkKey {
	k := linkKey{e.why, e.of, e.stage, e.work}
	switch e.why {
	case afterStage, afterWork, byHold:
		k.why, k.of = fromNow, -1
	case fromNow, byTime, byStrength:
		k.of = -1
	}
	return k
}

type linkCount struct {
	n, longest int
	draw       int // the last in which it was counted
	waits      int // more than one in a draw where it comes again
	days       int // summed
	order      int // days from the plan to its end, summed
}

// pathCount counts waits over the draws.
type pathCount struct {
	ready int
	draws int
	links map[linkKey]*linkCount
}

// count takes in one life.
func (c *pathCount) count(l *life, by climate.Date) {
	if c.links == nil {
		c.links = map[linkKey]*linkCount{}
	}
	c.draws++
	i := l.entered[StageExhibition.rank()]
	if l.stage == StageExhibition.rank() && (i < 0 || l.way[i].day <= by) {
		c.ready++
	}
	if i < 0 {
		i = len(l.way) - 1 // as far as it came
	}
	var longest *linkCount
	most := 0
	for i >= 0 {
		e := &l.way[i]
		begun := l.planner.outlook.Issue
		if e.from >= 0 {
			begun = l.way[e.from].day
		}
		if days := int(e.day - begun); days > 0 {
			k := keyOf(e)
			n := c.links[k]
			if n == nil {
				n = &linkCount{}
				c.links[k] = n
			}
			if n.draw != c.draws {
				n.n, n.draw = n.n+1, c.draws
			}
			n.waits++
			n.days += days
			n.order += int(e.day - l.planner.outlook.Issue)
			if days > most {
				longest, most = n, days
			}
		}
		i = e.from
	}
	if longest != nil {
		longest.longest++
	}
}

// mentioned is the share of the draws from which a wait is told of.
const mentioned = 0.2

// path tells of the waits that decide the day.
func (c *pathCount) path(p *Planner) []PathLink {
	type link struct {
		PathLink
		order int
	}
	var all []link
	for k, n := range c.links {
		if share := float64(n.n) / float64(c.draws); share >= mentioned {
			all = append(all, link{PathLink{
				k.words(p.lore), share, float64(n.days) / float64(n.n) / 365.25, float64(n.longest) / float64(c.draws),
			}, n.order / n.waits})
		}
	}
	slices.SortFunc(all, func(a, b link) int { return cmp.Or(cmp.Compare(a.order, b.order), cmp.Compare(a.What, b.What)) })
	out := make([]PathLink, len(all))
	for i := range all {
		out[i] = all[i].PathLink
	}
	return out
}

// words says what is waited for.
func (k *linkKey) words(l *Lore) string {
	goal := "the stage " + stageWords(k)
	if k.work >= 0 {
		goal = lower(l.Works[k.work].Title)
	}
	after := ""
	if k.of >= 0 {
		after = lower(l.Works[k.of].Title)
	}
	switch k.why {
	case byTime:
		return timeWords(k.stage) + ", before " + goal
	case byRest:
		return "rest after " + after + " before " + goal
	case byRooting:
		return "roots settling after " + after + " before " + goal
	case bySince:
		return "the time that is wanted between " + after + " and " + goal
	case bySeason:
		return "waiting out the season of " + after + " before " + goal
	case byStrength:
		return "recovering until strong before " + goal
	case bySetback:
		return "a setback after " + after + " before " + goal
	}
	return "the next window for " + goal
}

func stageWords(k *linkKey) string {
	if k.stage < 0 {
		return ""
	}
	return strings.ReplaceAll(string(stages[k.stage]), "-", " ")
}

// timeWords says what takes its growing seasons before a stage is entered.
func timeWords(stage int) string {
	switch stages[max(stage, 0)] {
	case StageRecovering:
		return "growth resuming"
	case StageSecondStyling:
		return "ramifying"
	case StageRefining:
		return "the structure setting in the wire"
	case StageExhibition:
		return "refining"
	}
	return "growing"
}

// show tells of one day by which the tree should be ready.
func (m *mapper) show(s ReadyBy, c *pathCount, h *history, seed uint64) ShowAhead {
	southern := m.planner.outlook.Site.Southern()
	out := ShowAhead{
		ReadyBy: s, Season: SeasonOfYear(s.On, southern), Chance: float64(c.ready) / float64(c.draws),
		Path: c.path(m.planner), Latest: []LatestStep{},
	}
	if out.Chance >= makes {
		out.Latest = m.latestSteps(s, h, seed, southern)
	}
	out.Said = out.say()
	if out.Chance < makes && out.Chance > 0 {
		out.Said += " No step may wait."
	}
	return out
}

// latestSteps tells of the steps that come before a show as likely as not, in their
// order, until when each may wait.
func (m *mapper) latestSteps(s ReadyBy, h *history, seed uint64, southern bool) []LatestStep {
	type due struct {
		stepDays
		middle climate.Date
	}
	var steps []due
	for _, st := range m.steps {
		switch {
		case st.step == StepSoilGone, st.step == WorkRootFlare:
			continue // go along with repots
		case st.step == WorkRepot && h.soil == 0 && h.repotted():
			continue // that only renews the soil
		}
		copy(m.sorted, st.days)
		slices.Sort(m.sorted)
		if middle := m.sorted[len(m.sorted)/2]; middle <= s.On {
			steps = append(steps, due{st, middle})
		}
	}
	slices.SortStableFunc(steps, func(a, b due) int { return cmp.Compare(a.middle, b.middle) })
	out := make([]LatestStep, 0, len(steps))
	for _, st := range steps {
		out = append(out, m.latest(st.stepDays, s, h, seed, southern))
	}
	return out
}

// say puts the chance and what it hangs on into a sentence.
func (s *ShowAhead) say() string {
	out := fmt.Sprintf("Ready by %s: %s (%s).", s.Season, chanceWords(s.Chance), percent(s.Chance))
	if len(s.Path) > 0 {
		most := slices.MaxFunc(s.Path, func(a, b PathLink) int { return cmp.Compare(a.Longest, b.Longest) })
		out += fmt.Sprintf(" What most often decides it: %s, about %s (the longest wait in %s of the draws).",
			most.What, count(roundHalf(most.Years), "year"), percent(most.Longest))
	}
	return out
}

// makes is the chance at which a show still counts as made.
const makes = 0.5

// heldDraws is how many draws each trial of [mapper.latest] takes.
const heldDraws = 60

// latest finds the last season of growth to which a step can be held back so that the
// tree is still ready as likely as not.
func (m *mapper) latest(st stepDays, s ReadyBy, h *history, seed uint64, southern bool) LatestStep {
	out := LatestStep{Step: st.step, Title: m.title(st)}
	c := m.coming
	lo, hi := plannedSeason, c.season(s.On)
	for lo <= hi { // the last season that makes it is in lo-1..hi
		k := (lo + hi) / 2
		chance, day := m.held(st.work, c.starts[k], s.On, h, seed)
		if chance >= makes {
			out.By, out.Chance = &SeasonDay{day, SeasonOfYear(day, southern)}, chance
			lo = k + 1
		} else {
			hi = k - 1
		}
	}
	if out.By == nil {
		out.Said = out.Title + ": as soon as it can be done; it may not wait."
		return out
	}
	out.Said = fmt.Sprintf("%s: by %s at the latest, %s.", out.Title, out.By.Season, seasonsBefore(out.By.Day, s.On, southern))
	return out
}

// held returns the chance of being ready by a day if a work is not done before
// another, and the middle of the days on which it is then done.
func (m *mapper) held(w int, to, by climate.Date, h *history, seed uint64) (chance float64, day climate.Date) {
	l := &m.life
	n := min(heldDraws, m.opts.Draws)
	days := m.sorted[:0]
	ready := 0
	l.hold, l.holdTo = w, to
	for draw := range n {
		l.begin(h, seed, draw)
		l.live()
		if i := l.entered[StageExhibition.rank()]; i >= 0 && l.way[i].day <= by {
			ready++
		}
		for _, e := range l.way {
			if e.work == w && (w != l.works.unwire || !l.willStyle() || e.day > l.last[l.works.second]) {
				days = append(days, e.day)
				break
			}
		}
	}
	l.hold = -1
	if len(days) == 0 {
		return 0, climate.NoDate
	}
	slices.Sort(days)
	return float64(ready) / float64(n), days[len(days)/2]
}
