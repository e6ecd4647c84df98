package feeds

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// The choices from where a band takes its weather besides: from nowhere, from a place of another
// editor as it is, and, with an id behind it, from one of the editor's own.
const (
	lentByNone = ""
	lentByKept = "kept"
	lentByOwn  = "place "
)

// lentReach is how far the place may be.
var lentReach = fmt.Sprintf("%d km", calendar.LentWithin)

// bandRests says to an editor what the weather of a band rests on.
func (s *Server) bandRests(ctx context.Context, in *wording.Tongue, g calendar.Grower, club string, b *calendar.Band) (string, error) {
	lent, err := s.lentWords(ctx, in, g, club, b)
	return strings.TrimSpace(strings.Join(inUse(in, &b.Weather, nil), " ") + " " + lent), err
}

// lentTyped is the choice as it stands for an editor.
func lentTyped(g calendar.Grower, b *calendar.Band) string {
	switch l := b.Lent; {
	case l == nil || l.Gone():
		return lentByNone
	case l.Grower == g.ID:
		return lentByOwn + l.Place
	}
	return lentByKept
}

// lentInput offers the editor's own places; for a band that is there, those that are near.
func (s *Server) lentInput(ctx context.Context, g calendar.Grower, f *pages.Form, b *calendar.Band) (pages.Input, error) {
	in := f.Tongue()
	choices := []pages.Choice{{Value: lentByNone, Label: in.Say("None but what stands here")}}
	if b != nil && lentTyped(g, b) == lentByKept {
		choices = append(choices, pages.Choice{Value: lentByKept, Label: in.Say("As it is: a place of an editor")})
	}
	places, err := s.cfg.Store.Places(ctx, g.ID)
	if err != nil {
		return pages.Input{}, err
	}
	for i := range places {
		p := &places[i]
		value := lentByOwn + p.ID
		if b == nil || b.Site.Kilometres(p.Site) <= calendar.LentWithin || f.Typed.Get("lent") == value {
			choices = append(choices, pages.Choice{Value: value, Label: p.Site.Name})
		}
	}
	return f.Input(pages.Input{
		Name: "lent", Label: "Weather from one of your places", Choices: choices,
		Hint: "Within 50 km of the band; temperatures are adjusted to its elevation. What is measured and foretold at that place goes over the weather above, each morning anew. Nobody is told which place it is; its weather services are credited on the public page. Mind the terms of a station's file that it has. It ends when you leave the club, or edit no more.",
	}), nil
}

// lentOf reads from where a band takes its weather besides; was is the band as it is. A form that
// does not ask leaves it.
func (s *Server) lentOf(ctx context.Context, g calendar.Grower, f *pages.Form, was, b *calendar.Band) error {
	typed := f.Typed.Get("lent")
	id, own := strings.CutPrefix(typed, lentByOwn)
	switch {
	case !f.Typed.Has("lent"):
		return nil
	case typed == lentByNone:
		b.Lent = nil
		return nil
	case typed == lentByKept && lentTyped(g, was) == lentByKept:
		b.Lent = was.Lent // where the band moved too far from it, the plan does without
		return nil
	case !own:
		f.Fault("lent", "There is no such place of yours. Load the page again, and pick once more.")
		return nil
	}
	places, err := s.cfg.Store.Places(ctx, g.ID)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(places, func(p calendar.Place) bool { return p.ID == id })
	switch {
	case i < 0:
		f.Fault("lent", "There is no such place of yours. Load the page again, and pick once more.")
	case b.Site.Kilometres(places[i].Site) > calendar.LentWithin:
		f.Fault("lent", f.Tongue().Say("{1} is {2} from the band; want a place within {3} of it.", places[i].Site.Name, f.Tongue().Number(b.Site.Kilometres(places[i].Site), 0)+" km", lentReach))
	default:
		b.Lent = &calendar.Lent{Grower: g.ID, Place: id}
	}
	return nil
}
