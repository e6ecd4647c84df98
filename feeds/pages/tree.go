package pages

import (
	"html/template"
	"io"
	"strings"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/wording"
)

// TreePage is all that is known of one tree: what it wants next, the windows of
// the coming eighteen months, its years to the bench and its shows.
type TreePage struct {
	CSRF    string
	Said    string
	From    string   // path of this page
	Changed *Changed // by a sighting that was just logged

	ID, Name, Species, Common, Group, Place, Bench, Note string

	Stage, Strength string
	Facts           []string // of its state, as people read them
	Looks           []Look   // signs that may show today; the first stands even where it hardly does
	NoLook          bool     // the signs of the season are over
	Notice, Next    string
	Sums            []string // what was reckoned for it, as people read it
	Basis, Known    string

	Flags []Flag
	Works []Work // of the six weeks
	Weeks []string
	Later []Later

	Years *Years // nil: none can be drawn
	Shows []ShowWay
	Past  []Past // the log, the newest first
}

// Flag says what in the log was done against the rules.
type Flag struct{ Title, Reason, Means string }

// Later is a window after the six weeks, in a few lines.
type Later struct{ Title, When, Sure, Blocked, Caution string }

// TreePageOf lays out a tree of a plan. The season is that of its forecasts, the
// road its years; it may be nil.
func TreePageOf(t *calendar.TreePlan, p *calendar.Plan, season phenology.Season, road *calendar.Roadmap, works []calendar.Work, known climate.Date) *TreePage {
	out := &TreePage{
		ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Tree.Species, Place: p.Site.Name, Note: t.Tree.Note,
		Stage: wording.Name(string(t.State.Stage)), Strength: string(t.State.Strength),
		Facts: facts(&t.State, works), Notice: wording.Sentence(t.Notice), Next: wording.Sentence(t.Next), Sums: t.Sums.Lines(), Basis: wording.Rests(p.Basis), Known: knownOf(p, known),
		Works: worksOf(t.Works, p.On), Weeks: weeks(p.On), Later: later(t.Works, p.On),
		Flags: flagsOf(t.Flags), Past: LogOf(t, p.On, works).Past,
	}
	if t.Bench != nil {
		out.Bench = t.Bench.String()
	}
	if t.Species != nil {
		out.Species, out.Group = t.Species.Name, wording.Lower(string(t.Species.Group))
		if len(t.Species.Common) > 0 {
			out.Common = t.Species.Common[0]
		}
		out.Looks = looksOf(t, season, p.On)
		out.NoLook = len(out.Looks) == 0
	}
	if road != nil {
		out.Years = yearsOf(road)
	}
	for i := range p.Shows {
		if p.Shows[i].Tree.ID == t.Tree.ID {
			out.Shows = append(out.Shows, wayOf(&p.Shows[i], road))
		}
	}
	return out
}

// facts says what the log makes of the tree.
func facts(s *calendar.State, works []calendar.Work) []string {
	var out []string
	if s.Had.Valid() {
		out = append(out, "With you since "+wording.Day(s.Had)+".")
	}
	if s.FieldSoil > 0 {
		out = append(out, "About "+wording.Percent(s.FieldSoil)+" of the root ball is still field soil.")
	}
	if s.WireSince.Valid() {
		out = append(out, "There is wire on it since "+wording.Day(s.WireSince)+": look for marks.")
	}
	if s.RestAfter != "" {
		rests := "It rests after " + wording.Lower(s.RestAfter)
		for i := range works {
			if works[i].ID == s.RestAfter {
				rests = "It rests after " + works[i].Title
			}
		}
		if s.RestUntil.Valid() {
			rests += " until about " + wording.Day(s.RestUntil)
		}
		out = append(out, rests+".")
	}
	return out
}

func flagsOf(all []calendar.Flag) []Flag {
	var out []Flag
	for i := range all {
		if f := &all[i]; f.Work != nil {
			out = append(out, Flag{f.Work.Title + " on " + wording.Day(f.On), wording.Sentence(f.Reason), wording.Sentence(f.Means)})
		}
	}
	return out
}

// later lists the windows that open after the six weeks.
func later(all []calendar.Planned, on climate.Date) []Later {
	var out []Later
	for i := range all {
		w := &all[i]
		if w.Done.Valid() || shows(w, on) || !w.Window.Opens.P50.Valid() || w.Window.Opens.P50 < on || w.Window.Chance < leastChance {
			continue
		}
		l := Later{
			Title: w.Title,
			When:  wording.Day(w.Window.Opens.P50) + " to " + wording.Day(w.Window.Closes.P50),
			Sure:  "opens in 8 of 10 cases " + wording.ShortDay(w.Window.Opens.P10) + " to " + wording.ShortDay(w.Window.Opens.P90),
		}
		if w.Window.Opens.P10 == w.Window.Opens.P90 {
			l.Sure = "the day is known"
		}
		if w.Window.Opens.P50 == w.Window.Closes.P50 {
			l.When = "on " + wording.WeekDay(w.Window.Opens.P50)
		}
		if w.Show != nil {
			l.Sure = "for the show " + w.Show.Name + "; " + l.Sure
		}
		if w.Window.Chance < 0.95 {
			l.Sure += "; comes at all: " + wording.HowSure(w.Window.Chance)
		}
		var against, cautions []string
		for _, b := range w.Blocked {
			against = append(against, reason(b))
		}
		for _, c := range wording.Cautions(w.Cautions) {
			cautions = append(cautions, wording.First(c))
		}
		l.Blocked, l.Caution = strings.Join(against, " "), strings.Join(cautions, " ")
		out = append(out, l)
	}
	return out
}

// Years is a tree's roadmap.
type Years struct {
	Said    string
	Note    string
	Picture template.HTML
	Stages  []YearsLine
	Works   []YearsLine
}

// YearsLine says when a stage or a work on the way comes, and how sure it is that it
// does within the years looked at.
type YearsLine struct{ Name, When, Span, Sure string }

func yearsOf(r *calendar.Roadmap) *Years {
	y := &Years{Said: r.Said(), Note: r.Note, Picture: YearsPicture(r)}
	for i := range r.Stages {
		y.Stages = append(y.Stages, yearsLine(wording.Name(string(r.Stages[i].Stage)), &r.Stages[i].Ahead))
	}
	for i := range r.Steps {
		y.Works = append(y.Works, yearsLine(r.Steps[i].Title, &r.Steps[i].Ahead))
	}
	return y
}

func yearsLine(name string, a *calendar.Ahead) YearsLine {
	season := func(s *calendar.SeasonDay) string {
		if s == nil {
			return "later"
		}
		return s.Season
	}
	l := YearsLine{Name: name, When: season(a.P50), Span: season(a.P10) + " to " + season(a.P90), Sure: wording.HowSure(a.Reached)}
	if a.P10 == nil {
		l.Span = "hardly in these years"
	}
	return l
}

// Tree writes the page of a tree.
func (p *Pages) Tree(w io.Writer, t *TreePage) error { return p.write(w, "tree.html", t) }
