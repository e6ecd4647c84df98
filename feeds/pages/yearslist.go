package pages

import (
	"cmp"
	"io"
	"slices"
	"strconv"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// YearsList is the roads of all trees to the bench on one page, the soonest first.
type YearsList struct {
	Ticks  []Tick // of the years, for the whole list
	Trees  []Road
	Failed bool // none can be drawn now
	Until  string
}

// Tick is the beginning of a year on the pictures.
type Tick struct {
	X    int
	Year string
}

// Road is one tree's way to the bench.
type Road struct {
	TreeLink
	Stage     string
	There     bool   // it stands at the last stage already
	About     string // season; empty: later than the years looked at
	First     string // 10 % of the lives drawn have come there; empty as above
	Last      string // 90 %
	Sure      string // that it comes there within the years looked at
	Percent   int
	Next      string // stage that comes next
	NextAbout string // season; empty as above
	Note      string
	Line      *RoadLine
	soonest   climate.Date
}

// RoadLine is the picture of it: a line over the seasons between the 10 and 90 % days
// and a mark at the 50 % day, -1 where it lies beyond.
type RoadLine struct{ Width, From, To, Mark int }

const roadWidth = 360

// YearsListOf lays out the roads of all trees.
func YearsListOf(in *wording.Tongue, all []*calendar.Years) *YearsList {
	out := &YearsList{}
	var on, until climate.Date
	for i, y := range all {
		if i == 0 {
			on, until = y.On, y.Until
			out.Until = strconv.Itoa(until.Year())
		}
		for k := range y.Trees {
			out.Trees = append(out.Trees, roadOf(in, &y.Trees[k], y.Site.Lat))
		}
	}
	for year := on.Year() + 1; len(all) > 0 && year <= until.Year(); year++ {
		out.Ticks = append(out.Ticks, Tick{along(climate.NewDate(year, 1, 1), on, until), strconv.Itoa(year)})
	}
	slices.SortStableFunc(out.Trees, func(a, b Road) int {
		return cmp.Or(cmp.Compare(a.soonest, b.soonest), cmp.Compare(b.Percent, a.Percent), cmp.Compare(a.Name, b.Name))
	})
	return out
}

func roadOf(in *wording.Tongue, r *calendar.Roadmap, lat float64) Road {
	out := Road{TreeLink: TreeLink{r.Tree, r.Name}, Stage: in.Name(string(r.Stage)), Note: r.Note, There: r.Stage == calendar.StageExhibition, soonest: r.On}
	if out.There {
		return out
	}
	out.soonest = r.Until + 1
	for i := range r.Stages {
		s := &r.Stages[i]
		if i == 0 {
			out.Next = in.Name(string(s.Stage))
			if s.P50 != nil {
				out.NextAbout = in.Season(s.P50.Day, lat)
			}
		}
		if s.Stage != calendar.StageExhibition {
			continue
		}
		out.Sure, out.Percent = in.HowSure(s.Reached), percent(s.Reached)
		line := &RoadLine{Width: roadWidth, From: roadWidth, To: roadWidth, Mark: -1}
		if s.P10 != nil {
			out.First, line.From, out.Line = in.Season(s.P10.Day, lat), along(s.P10.Day, r.On, r.Until), line
		}
		if s.P50 != nil {
			out.About, line.Mark, out.soonest = in.Season(s.P50.Day, lat), along(s.P50.Day, r.On, r.Until), s.P50.Day
		}
		if s.P90 != nil {
			out.Last, line.To = in.Season(s.P90.Day, lat), along(s.P90.Day, r.On, r.Until)
		}
	}
	return out
}

// along returns where a day lies on a picture.
func along(d, on, until climate.Date) int {
	return min(roadWidth, max(0, roadWidth*int(d-on)/max(1, int(until-on))))
}

// YearsList writes the page.
func (p *Pages) YearsList(w io.Writer, y *YearsList) error { return p.write(w, "years.html", y) }
