package pages

import (
	"io"
	"time"

	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/feeds/wording"
)

// FirstStep is one of the steps from nothing to the first calendar.
type FirstStep struct {
	Title      string
	Link       string // empty: not yet
	Here, Done bool
}

// Where is the page on which a place is looked for, and then described.
type Where struct {
	CSRF  string
	Steps []FirstStep
	Said  string

	Query  string
	Fault  string  // of the search
	Found  []Found // places of the name
	Credit string  // of the names

	// Inputs describe the place once it was chosen; else there are none.
	Inputs  []Input
	About   string // what is taken where nothing is typed
	Problem string // with the form as a whole
}

// Found is a place to choose.
type Found struct{ Name, About, Link string }

// PlacePage is the page of a place and its benches.
type PlacePage struct {
	CSRF        string
	ID, Name    string
	Said        string
	Rests       string // what its weather rests on
	Inputs      []Input
	Problem     string
	Benches     []BenchRow
	BenchFault  string
	Trees, Gone []Choice // Value: id
	Others      []Choice // further places
}

// BenchRow is a line of the form of benches.
type BenchRow struct {
	N        int
	ID, Name string
	Exposure []Choice
}

// PlaceWeather is the page that says what the weather of a place rests on, and takes better.
type PlaceWeather struct {
	CSRF     string
	ID, Name string
	Steps    []FirstStep
	Said     string
	InUse    []string
	Atlas    *AtlasSays // nil: the atlas knows nothing of the place
	OnlyThis bool       // nothing but the atlas is in use

	Problem string // with what was sent
	Sent    string // which of the forms that was
	Reads   bool   // station files are read
	Normals []Input
	Frost   []Input
	Offers  []Offer
}

// Offer is a weather service that the place may have.
type Offer struct {
	Kind, Name, Credit, Terms string
	Picked                    bool
}

// AtlasSays is what the atlas says of a place, in words.
type AtlasSays struct{ Coldest, Warmest, Error, Last, First, Nearest string }

// AtlasSaysOf puts a climate into words.
func AtlasSaysOf(in *wording.Tongue, c *atlas.Climate, y *climate.TypicalYear) *AtlasSays {
	cold, warm := 0, 0
	mean := func(m int) float64 { return c.Normals.Tmin[m] + c.Normals.Tmax[m] }
	for m := range 12 {
		if mean(m) < mean(cold) {
			cold = m
		}
		if mean(m) > mean(warm) {
			warm = m
		}
	}
	month := func(m int) string {
		return in.Say("{1}, nights of {2} and days of {3}", in.Month(time.Month(m+1)), in.Temperature(c.Normals.Tmin[m], 0), in.Temperature(c.Normals.Tmax[m], 0))
	}
	return &AtlasSays{
		Coldest: month(cold), Warmest: month(warm),
		Error:   in.Say("within {1} of these at 8 of 10 places", in.TemperatureApart(c.Error, 1)),
		Last:    frostOf(in, y.Frost.Spring, y.LastError),
		First:   frostOf(in, y.Frost.Autumn, y.FirstError),
		Nearest: in.Say("the nearest weather station that it rests on is {1} km away", in.Number(c.Nearest, 0)),
	}
}

func frostOf(in *wording.Tongue, f climate.FrostHalf, within float64) string {
	share := float64(f.Frosts) / float64(max(f.Seasons, 1))
	switch {
	case f.Frosts == 0:
		return in.Say("none at all")
	case f.P50 == nil:
		return in.Say("none in most years (there is one in {1} of them)", in.Percent(share))
	}
	out := in.Say("usually {1}", in.MonthDay(*f.P50))
	if f.P10 != nil && f.P90 != nil {
		out += in.Say("; in 8 of 10 years from {1} to {2}", in.MonthDay(*f.P10), in.MonthDay(*f.P90))
	}
	return out + ". " + in.Say("Take it for good to {1} days, and more in a hollow", in.Number(within, 0))
}

// Planting is the page on which trees are added to a place.
type Planting struct {
	CSRF     string
	ID, Name string // of the place
	Steps    []FirstStep
	Said     string
	Problem  string
	Inputs   []Input // those that are always asked
	More     []Input
	MoreOpen bool
	Trees    []Choice // that stand here; Value: id
	Species  []Known
}

// Known is a name of a species, with others of it.
type Known struct{ Name, About string }

// SheetPage is the page on which a sheet of trees is read.
type SheetPage struct {
	CSRF     string
	ID, Name string // of the place
	Said     string
	Fault    string
	Columns  []Column
	Text     string
	Checked  bool
	Good     []string
	Bad      []BadRow
}

// Column says what a column of the sheet holds.
type Column struct{ Name, Holds, Such string }

// BadRow is a row of the sheet with what is wrong with it.
type BadRow struct {
	Line   int
	Name   string
	Faults []BadField
}

// BadField is a field with what would be right.
type BadField struct{ Field, Value, Want string }

// FirstFeed is the page that makes a link and shows how to use it.
type FirstFeed struct {
	CSRF  string
	Steps []FirstStep
	Made  *Link // just made; shown once
	Feeds int   // that there are
	Place string
	Trees int
	Near  bool // the service's address is of no use to other devices
}

// TreeChange is the page on which what is said of a tree is changed.
type TreeChange struct {
	CSRF     string
	ID, Name string
	Place    string // id
	Said     string
	Problem  string
	Inputs   []Input
	Today    string
	Gone     bool
	GoneFault,
	GoneOn, GoneNote string
	Species []Known
}

// Where writes the page.
func (p *Pages) Where(w io.Writer, v *Where) error { return p.write(w, "where.html", v) }

// Place writes the page.
func (p *Pages) Place(w io.Writer, v *PlacePage) error { return p.write(w, "place.html", v) }

// Weather writes the page.
func (p *Pages) Weather(w io.Writer, v *PlaceWeather) error { return p.write(w, "weather.html", v) }

// Planting writes the page.
func (p *Pages) Planting(w io.Writer, v *Planting) error { return p.write(w, "planting.html", v) }

// Sheet writes the page.
func (p *Pages) Sheet(w io.Writer, v *SheetPage) error { return p.write(w, "sheet.html", v) }

// FirstFeed writes the page.
func (p *Pages) FirstFeed(w io.Writer, v *FirstFeed) error { return p.write(w, "first-feed.html", v) }

// TreeForm writes the page.
func (p *Pages) TreeForm(w io.Writer, v *TreeChange) error { return p.write(w, "tree-form.html", v) }
