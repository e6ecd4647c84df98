package ics

import (
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Years makes the events of roadmaps: one for each stage that a tree is as likely
// as not to come to, on the first day of the season of the year that is in the middle of
// its distribution. A stage is known to a season, not to a day, so each is
// tentative, rings no alarm, and says in words what is known.
func Years(in *wording.Tongue, owner string, y *calendar.Years, page func(tree string) string) []Entry {
	var out []Entry
	for i := range y.Trees {
		r := &y.Trees[i]
		for k := range r.Stages {
			if e, ok := stageEntry(in, owner, y, r, k, page(r.Tree)); ok {
				out = append(out, e)
			}
		}
	}
	Sort(out)
	return out
}

func stageEntry(in *wording.Tongue, owner string, y *calendar.Years, r *calendar.Roadmap, k int, page string) (Entry, bool) {
	s := &r.Stages[k]
	if s.P50 == nil {
		return Entry{}, false
	}
	lat := y.Site.Lat
	day, about := seasonStart(s.P50.Day), in.Season(s.P50.Day, lat)
	stage := in.Lower(string(s.Stage))
	e := Entry{
		UID:  UID(owner, "tree "+r.Tree, "stage "+string(s.Stage)),
		Tree: r.Tree, Class: string(calendar.Showing),
		Summary:    line(in.Say("{1}: {2}, about {3}", line(r.Name, in.Say("A tree")), stage, about), in.Say("A stage")),
		Categories: []string{in.Say("Roadmap")},
		Color:      "darkslateblue",
		URL:        page,
		First:      day, Last: day,
		Tentative: true, Cancelled: climate.NoDate,
		Quiet: true, Ahead: true,
	}
	b := paragraphs{in: in}
	b.add("", in.Say("{1} ({2}) comes to the stage {3} about {4}: a season, not a day.",
		line(r.Name, in.Say("A tree")), line(r.Species, in.Say("species not known")), stage, about))
	b.gap()
	b.add("In 8 of 10 drawn lives", between(in, &s.Ahead, lat))
	b.add("Within the years looked at", in.HowSure(s.Reached))
	if works := before(in, r, s.P50.Day, k, lat); works != "" {
		b.add("What lies before it", works)
	}
	b.gap()
	b.add("", in.Say(wording.LookFirst)+" "+in.Say("How long trees take, and what sets them back, is common practice and judged."))
	b.add("They rest on", in.Rests(y.Basis))
	e.Description = text(b.String())
	e.Digest = digest(e.Summary, e.Description, strings.Join(e.Categories, "\n"), e.Color, e.URL, e.First.String(), e.Last.String(), "stage")
	return e, true
}

// between says from when to when eight of ten draws come to a stage.
func between(in *wording.Tongue, a *calendar.Ahead, lat float64) string {
	from, to := in.Say("now"), in.Say("later than the years looked at")
	if a.P10 != nil {
		from = in.Season(a.P10.Day, lat)
	}
	if a.P90 != nil {
		to = in.Season(a.P90.Day, lat)
	}
	if from == to {
		return from
	}
	return in.Say("{1} to {2}", from, to)
}

// before lists the works that most likely fall between the stage before and a day.
func before(in *wording.Tongue, r *calendar.Roadmap, day climate.Date, k int, lat float64) string {
	after := climate.NoDate
	if k > 0 && r.Stages[k-1].P50 != nil {
		after = r.Stages[k-1].P50.Day
	}
	var out []string
	for i := range r.Steps {
		s := &r.Steps[i]
		if s.P50 != nil && s.P50.Day <= day && (!after.Valid() || s.P50.Day > after) {
			out = append(out, in.Say("{1} about {2}", in.Title(s.Title), in.Season(s.P50.Day, lat)))
		}
	}
	return strings.Join(out, ", ")
}

// seasonStart returns the first day of the season of the year that a day is in:
// the first of March, June, September or December.
func seasonStart(d climate.Date) climate.Date {
	t := d.Time()
	back := int(t.Month()) % 3
	first := time.Date(t.Year(), t.Month()-time.Month(back), 1, 0, 0, 0, 0, time.UTC)
	return climate.DateOf(first)
}
