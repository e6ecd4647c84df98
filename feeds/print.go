package feeds

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
)

// printRoutes are those of pages that are made to be printed.
func (s *Server) printRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h echo.HandlerFunc, m ...echo.MiddlewareFunc) {
		e.Match([]string{"GET", "HEAD"}, path, h, m...)
	}
	path, css := s.pages.Sheets()
	read(path, serveAlways("text/css; charset=utf-8", css))
	read("/print/month", s.own(s.onPaper(s.printMonth)), person...)
	read("/print/cards", s.own(s.onPaper(s.printCards)), person...)
	read("/trees/:id/card", s.own(s.treeCard), person...)
}

// onPaper finds the place that is to be printed: ?place=ID, by default the first.
func (s *Server) onPaper(print func(c echo.Context, all *garden, at *plot) error) func(echo.Context, calendar.Grower) error {
	return func(c echo.Context, g calendar.Grower) error {
		all, err := s.garden(c.Request().Context(), g.ID)
		if err != nil {
			return err
		}
		if len(all.plots) == 0 {
			return c.Redirect(http.StatusSeeOther, "/start/place")
		}
		at := all.plotAt(c.QueryParam("place"))
		if at == nil {
			return calendar.ErrNotFound
		}
		return print(c, all, at)
	}
}

// printMonth shows a month of one place: ?month=2027-04&place=ID, by default this month at the first.
func (s *Server) printMonth(c echo.Context, all *garden, at *plot) error {
	on := at.plan.On
	first, last := monthOf(on), monthOf(on+printedAhead)
	month := first
	if asked := c.QueryParam("month"); asked != "" {
		t, err := time.Parse("2006-01", asked)
		if err != nil || climate.DateOf(t) < first || climate.DateOf(t) > last {
			return refuse(calendar.ErrInvalid, tongueOf(c.Request().Context()).Say("Month {1}: want one such as {2}, up to {3}: plans look eighteen months ahead.", fmt.Sprintf("%.20q", asked), name(first), name(last)))
		}
		month = climate.DateOf(t)
	}
	asked := pages.MonthOf{First: month, In: tongueOf(c.Request().Context()), Plan: at.plan, Seasons: at.seasons}
	if at.outlook != nil {
		asked.Frost = func(d climate.Date) float64 { return at.outlook.FrostOn(d, climate.FrostLevels[0]) }
	}
	m := asked.Page()
	m.ID = at.place
	if month > first {
		m.Earlier = name(monthOf(month - 1))
	}
	if month < last {
		m.Later = name(monthOf(month + 31))
	}
	if len(all.plots) > 1 {
		for i := range all.plots {
			m.Places = append(m.Places, pages.Choice{Value: all.plots[i].place, Label: all.plots[i].plan.Site.Name, Picked: &all.plots[i] == at})
		}
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Month(b, m) })
}

// printedAhead is how many days ahead of the plan's the last month lies: the plan covers all of it.
const printedAhead = 17 * 30

func monthOf(d climate.Date) climate.Date { return d - climate.Date(d.Time().Day()-1) }

func name(month climate.Date) string { return month.Time().Format("2006-01") }

// plotAt returns the place of an id, of none the first; nil where there is no such place.
func (g *garden) plotAt(id string) *plot {
	for i := range g.plots {
		if p := &g.plots[i]; id == "" || p.place == id {
			return p
		}
	}
	return nil
}

// treeCard shows the card of one tree.
func (s *Server) treeCard(c echo.Context, g calendar.Grower) error {
	all, err := s.garden(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	id, err := url.PathUnescape(c.Param("id"))
	if err != nil {
		return calendar.ErrNotFound
	}
	t, plan, _ := all.tree(id)
	if t == nil {
		return calendar.ErrNotFound
	}
	return s.cards(c, all, tongueOf(c.Request().Context()).Say("The card of {1}", t.Tree.Name), "/trees/"+url.PathEscape(id), plan, []*calendar.TreePlan{t})
}

// printCards shows the cards of all trees of a place: ?place=ID, by default the first.
func (s *Server) printCards(c echo.Context, all *garden, at *plot) error {
	var trees []*calendar.TreePlan
	for i := range at.plan.Trees {
		trees = append(trees, &at.plan.Trees[i])
	}
	return s.cards(c, all, tongueOf(c.Request().Context()).Say("Cards of the trees at {1}", at.plan.Site.Name), "/", at.plan, trees)
}

func (s *Server) cards(c echo.Context, all *garden, title, back string, plan *calendar.Plan, trees []*calendar.TreePlan) error {
	in := tongueOf(c.Request().Context())
	v := &pages.Cards{Title: title, On: in.Day(plan.On), Back: back}
	for _, t := range trees {
		card, err := pages.CardOf(in, t, plan, all.lore.Works, s.link("/trees/"+url.PathEscape(t.Tree.ID)))
		if err != nil {
			return err
		}
		v.Cards = append(v.Cards, card)
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Cards(b, v) })
}
