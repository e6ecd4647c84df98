package pages

import "io"

// ClubRegions lists the regions of a club for those who may edit them.
type ClubRegions struct {
	Club, Name string
	Said       string
	Regions    []Choice
}

// RegionForm is the page on which a region is edited.
type RegionForm struct {
	CSRF         string
	Club         string
	ID, Name     string
	Said         string
	Problem      string
	Changes      int // of the region, as the form was made
	Title        Input
	Groups       []Choice
	Species      []string // as typed, and lines for more
	SpeciesFault string
	Known        []Known
	Bands        []BandRow
	Room         bool // for more bands
}

// BandRow is a band in the list of them.
type BandRow struct{ ID, Name, Metres, Rests string }

// BandForm is the page on which a band is edited, or a region made with its first one.
type BandForm struct {
	CSRF                 string
	Club, ClubName       string
	RegionID, RegionName string
	ID, Band             string // empty: a new one
	First                bool   // of a new region
	Last                 bool   // the only one of the region
	Action               string
	Problem              string
	Changes              int
	Region               Input // name of a new region
	Inputs               []Input
	Rests                string
	Weather              Input
	Lent                 Input // which place its weather comes from besides
	Frost, Normals       []Input
	Reads                bool // station files are read
	Station              Input
	FileFault            string
}

// ClubRegions writes the list of a club's regions.
func (p *Pages) ClubRegions(w io.Writer, v *ClubRegions) error {
	return p.write(w, "club-regions.html", v)
}

// RegionForm writes the form of a region.
func (p *Pages) RegionForm(w io.Writer, v *RegionForm) error {
	return p.write(w, "region-form.html", v)
}

// BandForm writes the form of a band.
func (p *Pages) BandForm(w io.Writer, v *BandForm) error { return p.write(w, "band-form.html", v) }
