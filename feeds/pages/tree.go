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
	Adjusted        string // how the weather was; in English

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
func TreePageOf(in *wording.Tongue, t *calendar.TreePlan, p *calendar.Plan, season phenology.Season, road *calendar.Roadmap, works []calendar.Work, known climate.Date) *TreePage {
	out := &TreePage{
		ID: t.Tree.ID, Name: t.Tree.Name, Species: t.Tree.Species, Place: p.Site.Name, Note: t.Tree.Note,
		Stage: in.Name(string(t.State.Stage)), Strength: in.Lower(string(t.State.Strength)),
		Facts: facts(in, &t.State, works), Notice: in.Told(t.Notice), Next: in.Told(t.Next), Sums: in.AllTold(t.Sums.Lines()), Basis: in.Rests(p.Basis), Known: knownOf(in, p, known), Adjusted: wording.Adjusted(p.Supply),
		Works: worksOf(in, t.Works, p.On), Weeks: weeks(in, p.On), Later: later(in, t.Works, p.On),
		Flags: flagsOf(in, t.Flags), Past: LogOf(in, t, p.On, works).Past,
	}
	if t.Bench != nil {
		out.Bench = BenchOf(in, t.Bench)
	}
	if t.Species != nil {
		out.Species, out.Group = t.Species.Name, in.Lower(string(t.Species.Group))
		out.Common = in.Common(t.Species.Name, t.Species.Common)
		out.Looks = looksOf(in, t, season, p.On)
		out.NoLook = len(out.Looks) == 0
	}
	if road != nil {
		out.Years = yearsOf(in, road, p.Site.Lat)
	}
	for i := range p.Shows {
		if p.Shows[i].Tree.ID == t.Tree.ID {
			out.Shows = append(out.Shows, wayOf(in, &p.Shows[i], road))
		}
	}
	return out
}

// facts says what the log makes of the tree.
func facts(in *wording.Tongue, s *calendar.State, works []calendar.Work) []string {
	var out []string
	if s.Had.Valid() {
		out = append(out, in.Say("With you since {1}.", in.Day(s.Had)))
	}
	if s.FieldSoil > 0 {
		out = append(out, in.Say("About {1} of the root ball is still field soil.", in.Percent(s.FieldSoil)))
	}
	if s.WireSince.Valid() {
		out = append(out, in.Say("There is wire on it since {1}: look for marks.", in.Day(s.WireSince)))
	}
	if s.RestAfter != "" {
		after := in.Lower(s.RestAfter)
		for i := range works {
			if works[i].ID == s.RestAfter {
				after = in.Title(works[i].Title)
			}
		}
		if s.RestUntil.Valid() {
			out = append(out, in.Say("It rests after {1} until about {2}.", after, in.Day(s.RestUntil)))
		} else {
			out = append(out, in.Say("It rests after {1}.", after))
		}
	}
	return out
}

func flagsOf(in *wording.Tongue, all []calendar.Flag) []Flag {
	var out []Flag
	for i := range all {
		if f := &all[i]; f.Work != nil {
			out = append(out, Flag{in.Say("{1} on {2}", in.Title(f.Work.Title), in.Day(f.On)), in.Told(f.Reason), in.Told(f.Means)})
		}
	}
	return out
}

// later lists the windows that open after the six weeks.
func later(in *wording.Tongue, all []calendar.Planned, on climate.Date) []Later {
	var out []Later
	for i := range all {
		w := &all[i]
		if w.Done.Valid() || shows(w, on) || !w.Window.Opens.P50.Valid() || w.Window.Opens.P50 < on || w.Window.Chance < leastChance {
			continue
		}
		l := Later{
			Title: in.Title(w.Title),
			When:  in.Say("{1} until {2}", in.Day(w.Window.Opens.P50), in.Day(w.Window.Closes.P50)),
			Sure:  in.Say("opens in 8 of 10 cases {1} to {2}", in.ShortDay(w.Window.Opens.P10), in.ShortDay(w.Window.Opens.P90)),
		}
		if w.Window.Opens.P10 == w.Window.Opens.P90 {
			l.Sure = in.Say("the day is known")
		}
		if w.Window.Opens.P50 == w.Window.Closes.P50 {
			l.When = in.Say("on {1}", in.WeekDay(w.Window.Opens.P50))
		}
		if w.Show != nil {
			l.Sure = in.Say("for the show {1}", w.Show.Name) + "; " + l.Sure
		}
		if w.Window.Chance < 0.95 {
			l.Sure += "; " + in.Say("comes at all: {1}", in.HowSure(w.Window.Chance))
		}
		var against, cautions []string
		for _, b := range w.Blocked {
			against = append(against, reason(in, b))
		}
		for _, c := range in.Cautions(w.Cautions) {
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

func yearsOf(in *wording.Tongue, r *calendar.Roadmap, lat float64) *Years {
	y := &Years{Said: r.Said(), Note: r.Note, Picture: YearsPicture(in, r, lat)}
	for i := range r.Stages {
		y.Stages = append(y.Stages, yearsLine(in, in.Name(string(r.Stages[i].Stage)), &r.Stages[i].Ahead, lat))
	}
	for i := range r.Steps {
		y.Works = append(y.Works, yearsLine(in, in.Title(r.Steps[i].Title), &r.Steps[i].Ahead, lat))
	}
	return y
}

func yearsLine(in *wording.Tongue, name string, a *calendar.Ahead, lat float64) YearsLine {
	season := func(s *calendar.SeasonDay) string {
		if s == nil {
			return in.Say("later")
		}
		return in.Season(s.Day, lat)
	}
	l := YearsLine{Name: name, When: season(a.P50), Span: in.Say("{1} to {2}", season(a.P10), season(a.P90)), Sure: in.HowSure(a.Reached)}
	if a.P10 == nil {
		l.Span = in.Say("hardly in these years")
	}
	return l
}

// Tree writes the page of a tree.
func (p *Pages) Tree(w io.Writer, t *TreePage) error { return p.write(w, "tree.html", t) }
