package pages

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strconv"
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
	Adjusted  string // how the weather was; in English

	First, Last, Today Stamp
	TodayLabel         string // in charts
	Others             Others

	Measured     bool // some day of this season was
	Foretold     bool // some day ahead is
	Nights, Days temperatureRows

	Warmth, Chill Tally
	Base          string    // of the degree-days
	Cool          [2]string // between which cold counts most

	Frosts   []FrostEnd
	Cold     []ColdNight
	Ever     bool // some night ahead may be cold
	Levels   [2]string
	Degree   string // unit of temperatures
	Freezing string // as charts draw it

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
	Name, Title            string // of its table
	OthersLabel, ThisLabel string // in the chart
	Short, Full            Told

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
	Level         string // °C, for programs
	Label         string // in the chart
	Spring        bool
	P10, P50, P90 Stamp
	Past          bool   // it has come, on one day in all draws
	Over          bool   // it is as good as surely over, though nobody measured when
	Chance        string // of one at all; empty: it always comes
	Comes         bool
	Name          string // in the table
	Heading       string
	Said          Told
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
func SeasonOf(in *wording.Tongue, p *climate.Progress) *Season {
	s := &Season{
		Year: yearOf(p), Rests: in.Rests(p.Basis), Base: degrees(in, climate.WarmthBase), Cool: [2]string{in.Number(in.Degrees(coolest), 0), degrees(in, warmest)},
		Degree: in.Degree(), Freezing: strconv.FormatFloat(in.Degrees(0), 'f', -1, 64),
		First: stamp(in, p.First), Last: stamp(in, p.Last), Today: stamp(in, p.Issue), TodayLabel: in.Say("today"), Others: Others{p.Basis.Years + p.Basis.Generated, p.Basis.Generated},
	}
	for i, l := range climate.NightLevels {
		s.Levels[i] = degrees(in, l)
	}
	s.Days = temperatureRows{Name: "days", Title: in.Say("Highest of the day, {1}", in.Degree()), Label: in.Say("days")}
	s.Nights = temperatureRows{Name: "nights", Title: in.Say("Lowest of the night, {1}", in.Degree()), Label: in.Say("nights")}
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
			t := Temperature{On: stamp(in, on), P10: tenth(in, b.P10[k]), P50: tenth(in, b.P50[k]), P90: tenth(in, b.P90[k]), Foretold: o == climate.Predicted}
			if o != climate.Missing {
				t.This = tenth(in, v)
			}
			return t
		}
		s.Nights.Rows = append(s.Nights.Rows, row(&p.Tmin, day.Tmin, day.TminOrigin))
		s.Days.Rows = append(s.Days.Rows, row(&p.Tmax, day.Tmax, day.TmaxOrigin))
	}
	s.Warmth, s.Chill = tallyOf(in, &p.Warmth, 0, in.DegreesApart), tallyOf(in, &p.Chill, 1, func(v float64) float64 { return v })
	for i := range climate.NightLevels {
		s.Frosts = append(s.Frosts, aheadOf(in, &p.LastFrost[i], true, p.Issue))
	}
	for i := range climate.NightLevels {
		s.Frosts = append(s.Frosts, aheadOf(in, &p.FirstFrost[i], false, p.Issue))
	}
	s.Warmth.Name, s.Warmth.Title = "warmth", in.Say("Degree-days")
	s.Warmth.Short, s.Warmth.Full = s.Warmth.words(in, in.Say("degree-days"))
	s.Chill.Name, s.Chill.Title = "chill", in.Say("Chill portions")
	s.Chill.Short, s.Chill.Full = s.Chill.words(in, in.Say("chill portions"))
	s.cold(in, p)
	return s
}

// cold lays out the nights ahead: each that is foretold, and then one a week.
func (s *Season) cold(in *wording.Tongue, p *climate.Progress) {
	for k, n := range p.Nights {
		s.Ever = s.Ever || n.Chance[0] >= 0.005
		if !n.Foretold && k%week != 0 && k != len(p.Nights)-1 {
			continue
		}
		row := ColdNight{On: stamp(in, n.On), At: hundredths(n.Chance[0]), Below: hundredths(n.Chance[1])}
		if n.Foretold {
			row.Foretold = tenth(in, n.Tmin)
		}
		s.Cold = append(s.Cold, row)
	}
}

func tallyOf(in *wording.Tongue, t *climate.Tally, decimals int, shown func(float64) float64) Tally {
	number := func(v float64) string { return fixed(in, shown(v), decimals) }
	last := len(t.Others.P90) - 1
	out := Tally{OthersLabel: in.Say("other years"), ThisLabel: in.Say("this year"), Filled: t.Filled, Less: t.Lead.Less, Others: t.Lead.Others}
	if last < 0 || t.Others.P90[last] < 0.05 && t.Lead.Sum < 0.05 {
		out.None = true
		return out
	}
	for k := range t.Others.P50 {
		on := t.First + climate.Date(k)
		if k%week != 0 && k != last && on != t.At {
			continue
		}
		row := TallyRow{On: stamp(in, on), P10: number(t.Others.P10[k]), P50: number(t.Others.P50[k]), P90: number(t.Others.P90[k])}
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
	out.At, out.Sum, out.Off, out.More = stamp(in, t.At), number(l.Sum), number(math.Abs(off)), off > 0
	if out.Off == number(0) {
		out.Off = "0"
	}
	out.Told, out.Rough = l.Known, l.Rough
	out.Days, out.Low, out.High, out.Never = offOf(l.Days), offOf(l.Low), offOf(l.High), l.High == climate.NeverReached
	return out
}

func aheadOf(in *wording.Tongue, f *climate.FrostAhead, spring bool, on climate.Date) FrostEnd {
	at := degrees(in, f.Level)
	out := FrostEnd{Level: strconv.FormatFloat(f.Level, 'f', -1, 64), Spring: spring, Comes: f.P50.Valid()}
	if spring {
		out.Label, out.Name, out.Heading = in.Say("last frost"), in.Say("Last, {1}", at), in.Say("Last frost of spring:")
	} else {
		out.Label, out.Name, out.Heading = in.Say("first frost"), in.Say("First, {1}", at), in.Say("First frost of autumn:")
	}
	if out.Comes {
		out.P10, out.P50, out.P90 = stampFrom(in, f.P10, on), stampFrom(in, f.P50, on), stampFrom(in, f.P90, on)
		out.Past = f.P10 == f.P90 && f.P90 <= on && f.Chance == 1
		out.Over = !out.Past && f.P90 < on
		if f.Chance < 0.95 {
			out.Chance = in.HowSure(f.Chance)
		}
	}
	out.Said = out.words(in)
	return out
}

// stampFrom names the year too where it is another than that of a day.
func stampFrom(in *wording.Tongue, d, from climate.Date) Stamp {
	s := stamp(in, d)
	if d.Valid() && d.Year() != from.Year() {
		s.Words = in.Day(d)
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

func stamp(in *wording.Tongue, d climate.Date) Stamp {
	if !d.Valid() {
		return Stamp{}
	}
	return Stamp{d.String(), in.ShortDay(d)}
}

// coolest and warmest are between which temperatures chill adds up most, in C.
const coolest, warmest = 2, 10

// tenth writes a temperature without its unit, as charts read it.
func tenth(in *wording.Tongue, v float64) string { return fixed(in, in.Degrees(v), 1) }

// fixed writes a number with so many decimals, and no sign before nought.
func fixed(in *wording.Tongue, v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.NewReplacer("-", "\u2212", ".", in.Decimal).Replace(s)
}

// degrees writes a temperature with its unit, which does not part from it.
func degrees(in *wording.Tongue, celsius float64) string {
	return strings.ReplaceAll(in.Temperature(celsius, 1), " ", "\u00a0")
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
		Name, Title, Label string
		Rows               []Temperature
	}
)

// seasonParts name what the parts of the season's template take.
var seasonParts = template.FuncMap{
	"chart": func(kind string, height int, title string) chart { return chart{kind, title, height} },
}

// Season writes the page of a place's season.
func (p *Pages) Season(w io.Writer, s *Season) error { return p.write(w, "season.html", s) }
