package pages

import (
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// RegionSheet is a year of a region on paper: groups and species, months, and a bar for
// each band.
type RegionSheet struct {
	Style    string
	Name     string
	Title    string
	Path     string // of the region's page
	Here     string // whole address of the same
	On       string
	Basis    string
	Credits  []Source   // whose weather it is, where that is to be told
	Bands    []BandLine // in the order of the bars
	Months   []SheetMonth
	Days     int // from the first to the last
	Height   int // of a row, in its own units
	Today    int // days from the first
	Subjects []SheetSubject
}

// SheetMonth is a column.
type SheetMonth struct {
	Name string
	X, W int // days from the first, and long
}

// SheetSubject is what is done to a group or species, work by work.
type SheetSubject struct {
	Name  string
	Works []SheetWork
}

// SheetWork is a row.
type SheetWork struct {
	Title, Kind string
	Class       string
	Bars        []SheetBar
	Words       string
}

// SheetBar is a window in one band; Y is where the band's line is.
type SheetBar struct {
	*WindowBar
	Y int
}

const (
	sheetMonths = 12
	sheetLine   = 8 // height of a band's line
)

// RegionSheetOf lays out twelve months from the first of that of the plan. Care that comes
// again and again, and what a place rarely gives the days for, is left to the feeds.
func RegionSheetOf(in *wording.Tongue, at RegionAt, r *calendar.Region, p *calendar.RegionPlan) *RegionSheet {
	first := climate.NewDate(p.On.Year(), p.On.Month(), 1)
	end := climate.NewDate(p.On.Year(), p.On.Month()+sheetMonths, 1)
	out := &RegionSheet{
		Style: at.Style, Name: r.Name, Title: in.Say("A year at a glance: {1}", r.Name), Path: at.Root + "/r/" + r.ID, Here: at.Base + "/r/" + r.ID,
		On: in.Day(p.On), Basis: in.Rests(p.Whole.Basis), Days: int(end - first), Height: sheetLine * len(p.Bands), Today: int(p.On - first),
	}
	for m := range sheetMonths {
		from, to := climate.NewDate(p.On.Year(), p.On.Month()+time.Month(m), 1), climate.NewDate(p.On.Year(), p.On.Month()+time.Month(m+1), 1)
		out.Months = append(out.Months, SheetMonth{Name: in.ShortMonths[from.Month()-1], X: int(from - first), W: int(to - from)})
	}
	for i := range p.Bands {
		out.Bands = append(out.Bands, bandLine(in, &p.Bands[i]))
	}
	for i := range p.Whole.Trees {
		t := &p.Whole.Trees[i]
		s := SheetSubject{Name: subjectName(in, t.Tree.ID, t.Species)}
		rows := map[string]int{} // by title: rules for two stages are one row
		for k := range t.Works {
			w := &t.Works[k]
			if w.Rule == nil || w.Rule.Every > 0 || len(w.Blocked) > 0 || w.Window.Opens.P50 >= end || w.Window.Closes.P50 < first {
				continue
			}
			plain := workOf(in, w, p.On)
			at, ok := rows[plain.Title]
			if !ok {
				at = len(s.Works)
				rows[plain.Title] = at
				s.Works = append(s.Works, SheetWork{Title: plain.Title, Kind: plain.Kind, Class: plain.Class})
			}
			s.Works[at].add(in, p, i, w.Key, first, out.Days)
		}
		if len(s.Works) > 0 {
			out.Subjects = append(out.Subjects, s)
		}
	}
	return out
}

// add draws a work's windows in all bands.
func (s *SheetWork) add(in *wording.Tongue, p *calendar.RegionPlan, tree int, key string, first climate.Date, days int) {
	for i := range p.Bands {
		b := &p.Bands[i]
		w := b.Work(tree, key)
		if w == nil || !w.Window.Opens.P50.Valid() || w.Window.Chance < leastChance {
			continue
		}
		bar := SheetBar{windowBar(in, b.Band.Name, &w.Window, first, days, 0), i * sheetLine}
		s.Bars = append(s.Bars, bar)
		if s.Words != "" {
			s.Words += " "
		}
		s.Words += bar.Words
	}
}
