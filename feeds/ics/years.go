package ics

import (
	"fmt"
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
func Years(owner string, y *calendar.Years, page func(tree string) string) []Entry {
	var out []Entry
	for i := range y.Trees {
		r := &y.Trees[i]
		for k := range r.Stages {
			if e, ok := stageEntry(owner, y, r, k, page(r.Tree)); ok {
				out = append(out, e)
			}
		}
	}
	Sort(out)
	return out
}

func stageEntry(owner string, y *calendar.Years, r *calendar.Roadmap, k int, page string) (Entry, bool) {
	s := &r.Stages[k]
	if s.P50 == nil {
		return Entry{}, false
	}
	day := seasonStart(s.P50.Day)
	stage := wording.Lower(string(s.Stage))
	e := Entry{
		UID:  UID(owner, "tree "+r.Tree, "stage "+string(s.Stage)),
		Tree: r.Tree, Class: string(calendar.Showing),
		Summary:    line(fmt.Sprintf("%s: %s, about %s", line(r.Name, "A tree"), stage, s.P50.Season), "A stage"),
		Categories: []string{"Roadmap"},
		Color:      "darkslateblue",
		URL:        page,
		First:      day, Last: day,
		Tentative: true, Cancelled: climate.NoDate,
		Quiet: true, Ahead: true,
	}
	var b paragraphs
	b.add("", fmt.Sprintf("%s (%s) comes to the stage %s about %s: a season, not a day.",
		line(r.Name, "A tree"), line(r.Species, "species not known"), stage, s.P50.Season))
	b.gap()
	b.add("In 8 of 10 drawn lives", between(&s.Ahead))
	b.add("Within the years looked at", wording.HowSure(s.Reached))
	if works := before(r, s.P50.Day, k); works != "" {
		b.add("What lies before it", works)
	}
	b.gap()
	b.add("", wording.LookFirst+" How long trees take, and what sets them back, is common practice and judged.")
	b.add("They rest on", wording.Rests(y.Basis))
	e.Description = text(b.String())
	e.Digest = digest(e.Summary, e.Description, strings.Join(e.Categories, "\n"), e.Color, e.URL, e.First.String(), e.Last.String(), "stage")
	return e, true
}

// between says from when to when eight of ten draws come to a stage.
func between(a *calendar.Ahead) string {
	from, to := "now", "later than the years looked at"
	if a.P10 != nil {
		from = a.P10.Season
	}
	if a.P90 != nil {
		to = a.P90.Season
	}
	if from == to {
		return from
	}
	return from + " to " + to
}

// before lists the works that most likely fall between the stage before and a day.
func before(r *calendar.Roadmap, day climate.Date, k int) string {
	after := climate.NoDate
	if k > 0 && r.Stages[k-1].P50 != nil {
		after = r.Stages[k-1].P50.Day
	}
	var out []string
	for i := range r.Steps {
		s := &r.Steps[i]
		if s.P50 != nil && s.P50.Day <= day && (!after.Valid() || s.P50.Day > after) {
			out = append(out, wording.Lower(s.Title)+" about "+s.P50.Season)
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
