package feeds

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
)

const (
	addRoute = "/account/add"

	// Bounds of a file that is added from, and of the form that brings it.
	longestUpload = 4 << 20
	uploadForm    = "5M"
)

// takeAlong answers with all that a grower entered, as a file.
func (s *Server) takeAlong(c echo.Context, g calendar.Grower) error {
	a, err := Collect(c.Request().Context(), s.cfg.Store, g.ID)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := a.Write(&b); err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `attachment; filename="garden.json"`)
	return c.Blob(http.StatusOK, "application/json", b.Bytes())
}

// addFrom shows what a file would add, or adds it where that was shown.
func (s *Server) addFrom(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	text, shown, err := uploaded(c)
	if err != nil {
		return err
	}
	known, err := s.archived(ctx, g.ID)
	if err != nil {
		return err
	}
	a, err := calendar.ReadArchiveBy("the file", text, known, climate.DateOf(s.cfg.Now().UTC())+1)
	if err != nil {
		return s.accountFault(c, g, "Nothing was added. "+err.Error())
	}
	if len(a.Growers) != 1 {
		return s.accountFault(c, g, fmt.Sprintf("Nothing was added. The file holds %d growers; want one.", len(a.Growers)))
	}
	d, err := Add(ctx, s.cfg.Store, &a.Growers[0], g.ID)
	if errors.Is(err, calendar.ErrConflict) {
		return s.accountFault(c, g, "Nothing was added. "+err.Error())
	}
	if err != nil {
		return err
	}
	p := &pages.Adding{CSRF: csrfToken(c), Adds: d.Adds, Stays: d.Stays, Text: string(text), Done: shown}
	if shown {
		links, err := d.Write(ctx, s.cfg)
		if err != nil {
			return err
		}
		for i, link := range links.Feeds {
			p.NewLinks = append(p.NewLinks, pages.NewLink(d.Feeds[i].Name, link))
		}
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Adding(b, p) })
}

// uploaded returns the text of a file that was sent, or of one that was shown
// and is sent again to be added.
func uploaded(c echo.Context) (text []byte, shown bool, err error) {
	if t := c.FormValue("text"); t != "" {
		return []byte(t), true, nil
	}
	h, err := c.FormFile("file")
	if err != nil {
		if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
			return nil, false, refuse(calendar.ErrInvalid, "Nothing was added: pick a file first.")
		}
		return nil, false, err
	}
	if h.Size > longestUpload {
		return nil, false, echo.ErrStatusRequestEntityTooLarge
	}
	f, err := h.Open()
	if err != nil {
		return nil, false, err
	}
	text, err = io.ReadAll(io.LimitReader(f, longestUpload))
	return text, false, errors.Join(err, f.Close())
}

// archived returns how the lore is made by which a file is checked that a grower adds from:
// their own words, with those in the file over them. A file of several growers is refused,
// so that of one it is made once only.
func (s *Server) archived(ctx context.Context, grower string) (func([]calendar.ArchiveRule) *calendar.Lore, error) {
	below, err := s.layersOf(ctx, grower)
	if err != nil {
		return nil, err
	}
	here := s.knownTo(ctx, grower)
	made := false
	return func(own []calendar.ArchiveRule) *calendar.Lore {
		if len(own) == 0 || s.cfg.Ground == nil || made {
			return here
		}
		made = true
		return s.cfg.Ground.Archived(own, below...)
	}, nil
}
