package pages

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"budswell/climate"
	"budswell/feeds/wording"
)

// Season is the page of a place's season beside those of other years. Its charts are drawn in
// the browser from its tables, so that both always say the same.
type Season struct {
	ID, Place string
	Year      string // "2027"; "2027/28" in the south
	Rests     string
	Known     string

	First, Last, Today Stamp
	Others             Others

	Measured    bool // some day of this season was
	Foretold    bool // some day ahead is
	Nights, Day []Temperature

	Warmth, Chill Tally
	Base          int // of the degree-days, C

	Frosts []FrostEnd
	Cold   []ColdNight
	Ever   bool // some night ahead may be cold
	Levels [2]string

	Trees    []SeasonTree
	Earlier  string // path of the page of the trees before these; empty: none
	Later    string
	From, To int // which of the trees these are, counted from 1
	Of       int
	Foreseen bool // what was foretold at the season's start is known
}

// Stamp is a day for programs and for people; both empty: none.
type Stamp struct{ ISO, Words string }

// Others counts the other years.
type Others struct{ Years, Generated int }

// Temperature is a row of the nights or days: what is usual, and what this year brings.
type Temperature struct {
	On                  Stamp
	P10, P50, P90, This string
	Foretold            bool
}

// Tally is a sum so far, beside those of other years.
type Tally struct {
	Rows []TallyRow
	At   Stamp  // of this year's; empty: it is not told
	Sum  string // this year's
	Off  string // from the middle year's, without its sign; "0" where there is no difference
	More bool   // than in the middle year

	Days      Off // ahead of the middle year
	Told      bool
	Low, High Off
	Never     bool // some years never come to so much, so that there is no High
	Rough     bool

	Less, Others int
	Filled       int
	None         bool // nothing adds up here, in any year
	Most         string
}

// TallyRow is the sums by a day.
type TallyRow struct {
	On                  Stamp
	P10, P50, P90, This string
}

// Off is a number of days ahead, or behind.
type Off struct {
	N     int
	Ahead bool
}

// FrostEnd is the next last frost of spring, or first of autumn, at a level.
type FrostEnd struct {
	Level         string
	Spring        bool
	P10, P50, P90 Stamp
	Past          bool   // it has come, on one day in all draws
	Over          bool   // it is as good as surely over, though nobody measured when
	Chance        string // of one at all; empty: it always comes
	Comes         bool
}

// ColdNight is how likely frost is in a night; percent.
type ColdNight struct {
	On        Stamp
	At, Below int
	Foretold  string // the forecast of its minimum, C; empty: none
}

// week is how far apart rows are where nothing but what is usual stands in them.
const week = 7

// SeasonOf lays out how far a season has come.
func SeasonOf(p *climate.Progress) *Season {
	s := &Season{
		Year: yearOf(p), Rests: wording.Rests(p.Basis), Base: climate.WarmthBase,
		First: stamp(p.First), Last: stamp(p.Last), Today: stamp(p.Issue), Others: Others{p.Basis.Years + p.Basis.Generated, p.Basis.Generated},
	}
	for i, l := range climate.NightLevels {
		s.Levels[i] = minus(fmt.Sprintf("%g", l))
	}
	for k, day := range p.Days {
		on := p.First + climate.Date(k)
		told := day.TminOrigin != climate.Missing || day.TmaxOrigin != climate.Missing
		foretold := told && max(day.TminOrigin, day.TmaxOrigin) == climate.Predicted
		s.Measured = s.Measured || told && !foretold
		s.Foretold = s.Foretold || foretold
		if !told && k%week != 0 && k != len(p.Days)-1 {
			continue
		}
		row := func(b *climate.Band, v float64, o climate.Origin) Temperature {
			t := Temperature{On: stamp(on), P10: tenth(b.P10[k]), P50: tenth(b.P50[k]), P90: tenth(b.P90[k]), Foretold: o == climate.Predicted}
			if o != climate.Missing {
				t.This = tenth(v)
			}
			return t
		}
		s.Nights = append(s.Nights, row(&p.Tmin, day.Tmin, day.TminOrigin))
		s.Day = append(s.Day, row(&p.Tmax, day.Tmax, day.TmaxOrigin))
	}
	s.Warmth, s.Chill = tallyOf(&p.Warmth, "%.0f"), tallyOf(&p.Chill, "%.1f")
	for i := range climate.NightLevels {
		s.Frosts = append(s.Frosts, aheadOf(&p.LastFrost[i], true, p.Issue))
	}
	for i := range climate.NightLevels {
		s.Frosts = append(s.Frosts, aheadOf(&p.FirstFrost[i], false, p.Issue))
	}
	s.cold(p)
	return s
}

// cold lays out the nights ahead: each that is foretold, and then one a week.
func (s *Season) cold(p *climate.Progress) {
	for k, n := range p.Nights {
		s.Ever = s.Ever || n.Chance[0] >= 0.005
		if !n.Foretold && k%week != 0 && k != len(p.Nights)-1 {
			continue
		}
		row := ColdNight{On: stamp(n.On), At: hundredths(n.Chance[0]), Below: hundredths(n.Chance[1])}
		if n.Foretold {
			row.Foretold = tenth(n.Tmin)
		}
		s.Cold = append(s.Cold, row)
	}
}

func tallyOf(t *climate.Tally, form string) Tally {
	number := func(v float64) string { return minus(fmt.Sprintf(form, v)) }
	last := len(t.Others.P90) - 1
	out := Tally{Filled: t.Filled, Less: t.Lead.Less, Others: t.Lead.Others}
	if last < 0 || t.Others.P90[last] < 0.05 && t.Lead.Sum < 0.05 {
		out.None = true
		return out
	}
	for k := range t.Others.P50 {
		on := t.First + climate.Date(k)
		if k%week != 0 && k != last && on != t.At {
			continue
		}
		row := TallyRow{On: stamp(on), P10: number(t.Others.P10[k]), P50: number(t.Others.P50[k]), P90: number(t.Others.P90[k])}
		if k < len(t.This) {
			row.This = number(t.This[k])
		}
		out.Rows = append(out.Rows, row)
	}
	if !t.At.Valid() {
		return out
	}
	l := &t.Lead
	off := l.Sum - l.Middle
	out.At, out.Sum, out.Off, out.More = stamp(t.At), number(l.Sum), number(math.Abs(off)), off > 0
	if out.Off == number(0) {
		out.Off = "0"
	}
	out.Told, out.Rough = l.Known, l.Rough
	out.Days, out.Low, out.High, out.Never = offOf(l.Days), offOf(l.Low), offOf(l.High), l.High == climate.NeverReached
	return out
}

func aheadOf(f *climate.FrostAhead, spring bool, on climate.Date) FrostEnd {
	out := FrostEnd{Level: minus(fmt.Sprintf("%g", f.Level)), Spring: spring, Comes: f.P50.Valid()}
	if !out.Comes {
		return out
	}
	out.P10, out.P50, out.P90 = stampFrom(f.P10, on), stampFrom(f.P50, on), stampFrom(f.P90, on)
	out.Past = f.P10 == f.P90 && f.P90 <= on && f.Chance == 1
	out.Over = !out.Past && f.P90 < on
	if f.Chance < 0.95 {
		out.Chance = wording.HowSure(f.Chance)
	}
	return out
}

// stampFrom names the year too where it is another than that of a day.
func stampFrom(d, from climate.Date) Stamp {
	s := stamp(d)
	if d.Valid() && d.Year() != from.Year() {
		s.Words += fmt.Sprintf(" %d", d.Year())
	}
	return s
}

// yearOf names a season.
func yearOf(p *climate.Progress) string {
	if p.First.Year() == p.Last.Year() {
		return fmt.Sprint(p.Season)
	}
	return fmt.Sprintf("%d/%02d", p.Season, p.Last.Year()%100)
}

func stamp(d climate.Date) Stamp {
	if !d.Valid() {
		return Stamp{}
	}
	return Stamp{d.String(), wording.ShortDay(d)}
}

// tenth writes a temperature.
func tenth(v float64) string { return minus(fmt.Sprintf("%.1f", v)) }

// minus writes the sign of a negative number as people do, and none of nought.
func minus(s string) string {
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "\u2212", 1)
}

func hundredths(p float64) int { return int(math.Round(100 * p)) }

func offOf(days int) Off { return Off{N: max(days, -days), Ahead: days > 0} }

// HasFrost reports whether any of the frosts ahead comes in any year.
func (s *Season) HasFrost() bool {
	return slices.ContainsFunc(s.Frosts, func(f FrostEnd) bool { return f.Comes })
}

// What the parts of the template take.
type (
	chart struct {
		Kind, Title string
		Height      int
	}
	temperatureRows struct {
		Name, Title string
		Rows        []Temperature
	}
	summed struct {
		Name, Title, Unit string
		Tally             Tally
	}
)

// seasonParts name what the parts of the season's template take.
var seasonParts = template.FuncMap{
	"chart":  func(kind string, height int, title string) chart { return chart{kind, title, height} },
	"table":  func(name, title string, r []Temperature) temperatureRows { return temperatureRows{name, title, r} },
	"summed": func(name, title, unit string, t Tally) summed { return summed{name, title, unit, t} },
}

// Season writes the page of a place's season.
func (p *Pages) Season(w io.Writer, s *Season) error { return p.write(w, "season.html", s) }
