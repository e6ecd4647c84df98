package pages

import (
	"fmt"
	"html"
	"html/template"
	"strconv"
	"strings"
	"unicode/utf8"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

// Sizes of the picture of a tree's years, in its own units; it is drawn as wide as
// there is room, and made for the width of a phone.
const (
	yearsWidth  = 360
	yearsTop    = 22 // the line of the years
	yearsRow    = 38 // of one stage
	yearsText   = 12 // where in a row the words stand
	yearsBand   = 17 // where its band begins
	yearsHeight = 12 // of a band
	yearsNote   = 16 // of a line below the rows
)

// YearsPicture draws one tree's years to the bench as an SVG to stand within a page:
// a row for each stage, from that of today to the last, with a band across the years
// that is as dark as the tree is likely to be at the stage then, a mark where it comes
// to it as likely as not, and a line from its 10 % to its 90 % day. It takes its
// colours from the page (currentColor), and the classes years, band, mark, span, grid
// and show let a style sheet say more. Everything is told in words as well, so it can
// be read in black and white and by a screen reader.
func YearsPicture(in *wording.Tongue, r *calendar.Roadmap, lat float64) template.HTML {
	p := &yearsPicture{in: in, lat: lat, r: r, id: "years-" + ident(r.Tree)}
	p.draw()
	return template.HTML(p.String()) // all words from outside went through text
}

type yearsPicture struct {
	strings.Builder
	in  *wording.Tongue
	lat float64 // of the place, for the names of seasons
	r   *calendar.Roadmap
	id  string
}

func (p *yearsPicture) put(format string, args ...any) { fmt.Fprintf(p, format+"\n", args...) }

// text escapes words of people.
func text(s string) string { return html.EscapeString(s) }

// ident makes an id that may stand in a page of any name.
func ident(s string) string {
	var b strings.Builder
	for _, c := range s {
		if c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-' {
			b.WriteRune(c)
		} else {
			fmt.Fprintf(&b, "_%x", c)
		}
	}
	return b.String()
}

// x returns where a day lies; days beyond the picture lie at its edge.
func (p *yearsPicture) x(d climate.Date) float64 {
	x := yearsWidth * float64(d-p.r.On) / float64(max(1, p.r.Until-p.r.On))
	return min(max(x, 0), yearsWidth)
}

// n writes a number of units as short as a tenth of one allows.
func n(x float64) string { return strconv.FormatFloat(float64(int(x*10+0.5))/10, 'f', -1, 64) }

func (p *yearsPicture) draw() {
	in := p.in
	r := p.r
	rows := append([]calendar.StageAhead{{Stage: r.Stage}}, r.Stages...)
	bottom := yearsTop + yearsRow*len(rows)
	height := bottom + yearsNote*(len(r.Shows)+1) + 2
	p.put(`<svg xmlns="http://www.w3.org/2000/svg" class="years" role="img" aria-labelledby="%s-title %s-desc" viewBox="0 0 %d %d" width="100%%" fill="currentColor" font-family="system-ui, sans-serif" font-size="11.5">`,
		p.id, p.id, yearsWidth, height)
	p.put(`<title id="%s-title">%s</title>`, p.id, text(in.Say("The years of {1} to the bench", r.Name)))
	p.put(`<desc id="%s-desc">%s</desc>`, p.id, text(p.words(rows)))
	p.years(len(rows))
	for i := range rows {
		p.stage(&rows[i], yearsTop+yearsRow*i, i == 0)
	}
	for i := range r.Shows {
		p.show(&r.Shows[i], len(rows), bottom+yearsNote*(i+1)-2)
	}
	p.put(`<text x="0" y="%d" font-size="9.5" fill-opacity="0.75">%s</text>`, height-4, text(in.Say("dark: likely at that stage · │ comes to it as likely as not · ─ 10 to 90 %")))
	p.put(`</svg>`)
}

// years rules the starts of the years and names them, as many as there is room for.
func (p *yearsPicture) years(rows int) {
	const room = 30
	first, last := p.r.On.Year()+1, p.r.Until.Year()
	day := func(year int) float64 { return p.x(climate.NewDate(year, 1, 1)) }
	every := 1
	for last > first && (day(first+every)-day(first)) < room {
		every++
	}
	for year := first; year <= last; year++ {
		x := day(year)
		p.put(`<path class="grid" d="%s" stroke="currentColor" stroke-opacity="0.3" stroke-width="0.7"/>`, acrossBands(x, rows))
		if (year-first)%every == 0 && x < yearsWidth-room {
			p.put(`<text x="%s" y="%d" font-size="10.5">%d</text>`, n(x+2), yearsTop-8, year)
		}
	}
}

// acrossBands is an upright line through the bands of all rows, that leaves the words
// between them alone.
func acrossBands(x float64, rows int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "M%s %dv4", n(x), yearsTop-6)
	for i := range rows {
		fmt.Fprintf(&b, "M%s %dv%d", n(x), yearsTop+yearsRow*i+yearsBand-1, yearsHeight+3)
	}
	return b.String()
}

// stage draws the row of one stage.
func (p *yearsPicture) stage(s *calendar.StageAhead, top int, now bool) {
	rank := rankOf(s.Stage)
	p.put(`<text x="0" y="%d" font-weight="600">%s</text>`, top+yearsText, text(p.in.Lower(string(s.Stage))))
	p.put(`<text x="%d" y="%d" text-anchor="end">%s</text>`, yearsWidth, top+yearsText, text(p.when(&s.Ahead, now)))
	y := top + yearsBand
	p.put(`<path class="rail" d="M0 %sH%d" stroke="currentColor" stroke-opacity="0.35" stroke-width="0.7"/>`, n(float64(y+yearsHeight)), yearsWidth)
	p.band(rank, y)
	if now || s.P10 == nil {
		return
	}
	from, to, tail := p.x(s.P10.Day), float64(yearsWidth), ""
	if s.P90 != nil {
		to = p.x(s.P90.Day)
	} else {
		tail = "m-4 -2.5l4 2.5l-4 2.5" // it goes on beyond the years shown
	}
	p.put(`<path class="span" d="M%s %sH%s%s" fill="none" stroke="currentColor" stroke-width="1.4"/>`, n(from), n(float64(y+yearsHeight)+3), n(to), tail)
	if s.P50 != nil {
		x := p.x(s.P50.Day)
		p.put(`<path class="mark" d="M%s %sV%s" stroke="currentColor" stroke-width="2.2"/>`, n(x), n(float64(y)-1.5), n(float64(y+yearsHeight)+5.5))
	}
}

// band draws where the tree is likely to be at a stage: between the days of the course
// its darkness runs evenly.
func (p *yearsPicture) band(rank, y int) {
	const seen, darkest = 0.01, 0.7
	course := p.r.Course
	first, last := -1, -1
	for i := range course {
		if course[i].Shares[rank] > seen {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		return
	}
	first, last = max(0, first-1), min(len(course)-1, last+1)
	x0, x1 := p.x(course[first].Day), p.x(course[last].Day)
	if last == len(course)-1 {
		x1 = yearsWidth
	}
	if x1 <= x0 {
		return
	}
	id := fmt.Sprintf("%s-%d", p.id, rank)
	p.put(`<linearGradient id="%s" gradientUnits="userSpaceOnUse" x1="%s" x2="%s" y1="0" y2="0">`, id, n(x0), n(x1))
	for i := first; i <= last; i++ {
		before, after := i == first || course[i].Shares[rank] == course[i-1].Shares[rank], i == last || course[i].Shares[rank] == course[i+1].Shares[rank]
		if before && after && i != first && i != last {
			continue // on an even stretch
		}
		p.put(`<stop offset="%.3f" stop-color="currentColor" stop-opacity="%.2f"/>`, (p.x(course[i].Day)-x0)/(x1-x0), darkest*course[i].Shares[rank])
	}
	p.put(`</linearGradient>`)
	p.put(`<rect class="band" x="%s" y="%d" width="%s" height="%d" fill="url(#%s)"/>`, n(x0), y, n(x1-x0), yearsHeight, id)
}

// show draws a day by which the tree should be ready, and says how likely it is.
func (p *yearsPicture) show(s *calendar.ShowAhead, rows, y int) {
	name := s.Name
	if name == "" {
		name = p.in.Say("Show")
	}
	words := p.in.Say("{1}, {2}: ready in {3} %", name, p.in.Season(s.On, p.lat), p.in.Number(100*min(max(s.Chance, 0.01), 0.99), 0))
	if s.On > p.r.Until {
		p.put(`<text x="%d" y="%d" text-anchor="end">%s →</text>`, yearsWidth, y, text(words))
		return
	}
	const letter = 7 // a wide guess at the width of one
	x, half := p.x(s.On), letter/2*float64(utf8.RuneCountInString(words))
	at, anchor := x, "middle"
	switch {
	case x+half > yearsWidth:
		at, anchor = yearsWidth, "end"
	case x-half < 0:
		at, anchor = 0, "start"
	}
	p.put(`<path class="show" d="%sM%s %dv5" stroke="currentColor" stroke-width="1.6" stroke-dasharray="3 2"/>`,
		acrossBands(x, rows), n(x), yearsTop+yearsRow*rows-2)
	p.put(`<text x="%s" y="%d" text-anchor="%s">%s</text>`, n(at), y, anchor, text(words))
}

// words says what the picture shows.
func (p *yearsPicture) words(rows []calendar.StageAhead) string {
	var parts []string
	if !p.in.Foreign() { // the calendar says it in English; the rows hold it too
		parts = append(parts, p.r.Said())
	}
	for i := range rows {
		parts = append(parts, fmt.Sprintf("%s: %s.", p.in.Lower(string(rows[i].Stage)), p.when(&rows[i].Ahead, i == 0)))
	}
	return strings.Join(parts, " ")
}

// when says when the tree comes to a stage, in few words.
func (p *yearsPicture) when(a *calendar.Ahead, now bool) string {
	switch {
	case now:
		return p.in.Say("now")
	case a.P10 == nil:
		return p.in.Say("hardly in these years")
	case a.P90 == nil:
		return p.in.Say("from {1}, {2} % in these years", p.in.Season(a.P10.Day, p.lat), p.in.Number(100*a.Reached, 0))
	case a.P10.Season == a.P90.Season:
		return p.in.Season(a.P10.Day, p.lat)
	}
	return p.in.Say("{1} to {2}", p.in.Season(a.P10.Day, p.lat), p.in.Season(a.P90.Day, p.lat))
}

func rankOf(s calendar.Stage) int {
	for i, o := range calendar.Stages() {
		if o == s {
			return i
		}
	}
	return 0
}
