package feeds

import (
	"cmp"
	"context"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/goccy/go-yaml"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

// storyClub is a club of a story: who is in it besides the story's grower, who founded it, and
// what it says in the place of the lore.
type storyClub struct {
	ID, Name string
	Founded  climate.Date
	Shares   bool // the story's grower does
	Fellows  []storyFellow
	Invites  calendar.Role // what somebody is invited as who has not come yet; empty: nobody is
	Rules    []storyRule   // in the order in which they were written
}

type storyFellow struct {
	ID     string // of a grower
	Plan   string // name of a plan file: a name, a place with the story's weather, trees
	Role   calendar.Role
	Since  climate.Date
	Shares bool
}

// storyRule is a version of what a club says of one rule.
type storyRule struct {
	On   climate.Date
	By   string // id of a fellow; empty: the story's grower
	Why  string
	Text string
}

// past refuses days of a club in the last year of the story: they might lie after today.
func (s *story) past(c *storyClub) error {
	days := map[string]climate.Date{"founded": c.Founded}
	for _, w := range c.Fellows {
		days["since of "+w.ID] = w.Since
	}
	for i, r := range c.Rules {
		days[fmt.Sprintf("on of rule %d", i+1)] = r.On
	}
	for _, field := range slices.Sorted(maps.Keys(days)) {
		if d := days[field]; !d.Valid() || d.Year() >= s.demo.Story {
			return fmt.Errorf("%s: %v: want a day before %d, the last year of the story: %w", field, d, s.demo.Story, calendar.ErrInvalid)
		}
	}
	return nil
}

// evening is when things are done in a story, on a day that is moved with it.
func (s *story) evening(d climate.Date) time.Time {
	return moveDate(d, s.years).Time().Add(18 * time.Hour)
}

// club founds the club of a story and lets its members in. It returns its id, and what waits
// for what they share and puts that into the pool.
func (s *story) club(ctx context.Context) (id string, tell func(context.Context) error, err error) {
	text, err := fs.ReadFile(s.demo.Files, s.demo.Club)
	if err != nil {
		return "", nil, err
	}
	var c storyClub
	if err := yaml.UnmarshalWithOptions(text, &c, yaml.Strict()); err != nil {
		return "", nil, err
	}
	if err := s.past(&c); err != nil {
		return "", nil, err
	}
	then := s.cfg
	then.Now = func() time.Time { return s.evening(c.Founded) }
	club, err := FoundClub(ctx, then, c.ID, c.Name, demoID)
	if err != nil {
		return "", nil, err
	}
	if err := s.cfg.Store.PutShares(ctx, club.ID, demoID, c.Shares); err != nil {
		return "", nil, err
	}
	if tell, err = s.fellows(ctx, &c); err != nil {
		return "", nil, err
	}
	for i := range c.Rules {
		if err := s.rule(ctx, club.ID, &c.Rules[i]); err != nil {
			return "", nil, fmt.Errorf("rule %d: %w", i+1, err)
		}
	}
	if c.Invites != "" {
		_, err = ClubInvitation(ctx, s.cfg, club.ID, c.Invites, "", demoID, InvitationLife)
	}
	return club.ID, tell, err
}

// fellows lets growers into the service and the club. What they share is told at once, as
// the plans of the first morning would tell it: those come after the start, and the club's
// pool and regions would change under whoever looks at them meanwhile. It is worked out
// beside all else, until it is asked for.
func (s *story) fellows(ctx context.Context, c *storyClub) (tell func(context.Context) error, err error) {
	told := make([]func() ([]calendar.Telling, error), len(c.Fellows))
	for i := range c.Fellows {
		w := &c.Fellows[i]
		p, trees, err := s.fellow(ctx, c.ID, w)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", w.ID, err)
		}
		told[i] = func() ([]calendar.Telling, error) { return nil, nil }
		if w.Shares {
			told[i] = sync.OnceValues(func() ([]calendar.Telling, error) { return s.tellings(w.ID, p, trees) })
			go func() { _, _ = told[i]() }() // a fault comes again below
		}
	}
	return func(ctx context.Context) error {
		for i := range c.Fellows {
			all, err := told[i]()
			if err != nil {
				return fmt.Errorf("%s: %w", c.Fellows[i].ID, err)
			}
			if _, err := s.cfg.Store.PutTellings(ctx, c.Fellows[i].ID, all); err != nil {
				return err
			}
		}
		return nil
	}, nil
}

// fellow lets a grower into the service and the club, with a place and trees. No secret is
// made by which anybody could come in as one.
func (s *story) fellow(ctx context.Context, club string, w *storyFellow) (*calendar.Place, []calendar.Tree, error) {
	f, err := s.plan(w.Plan)
	if err != nil {
		return nil, nil, err
	}
	f.Grower.ID = w.ID
	if err := s.cfg.Store.PutGrower(ctx, f.Grower); err != nil {
		return nil, nil, err
	}
	r, err := s.record(f.Weather.Record)
	if err != nil {
		return nil, nil, err
	}
	here := calendar.Band{Site: f.Site}
	here.Measured(r, &s.station) // as a region's band has the weather of a station below
	p := &calendar.Place{ID: calendar.Slug(f.Site.Name), Grower: w.ID, Site: f.Site, Weather: here.Weather, Benches: f.Benches}
	if err := s.cfg.Store.PutPlace(ctx, *p); err != nil {
		return nil, nil, err
	}
	for _, t := range f.Trees {
		if err := s.cfg.Store.PutTree(ctx, calendar.Kept{Tree: t, Grower: w.ID, Place: p.ID}); err != nil {
			return nil, nil, err
		}
	}
	return p, f.Trees, s.cfg.Store.PutMember(ctx, calendar.Member{Club: club, Grower: w.ID, Role: w.Role, Since: s.evening(w.Since), Shares: w.Shares})
}

// tellings is what a fellow shares.
func (s *story) tellings(grower string, p *calendar.Place, trees []calendar.Tree) (out []calendar.Telling, err error) {
	outlook, err := p.Weather.Outlook(p.Site, s.today)
	if err != nil {
		return nil, err
	}
	stands, err := calendar.Stands(outlook, p.Benches, trees)
	if err != nil {
		return nil, err
	}
	for i := range stands {
		_, forecaster, err := stands[i].Planner(s.cfg.Lore, nil)
		if err != nil {
			return nil, err
		}
		out = append(out, calendar.Tell(grower, p.Site, forecaster.Tell())...)
	}
	return out, nil
}

// rule writes a version of a rule, over the last one.
func (s *story) rule(ctx context.Context, club string, r *storyRule) error {
	subjects := lore.Subjects([]byte(r.Text))
	if len(subjects) != 1 {
		return fmt.Errorf("is about %d things: want one: %w", len(subjects), calendar.ErrInvalid)
	}
	if r.Why == "" {
		return fmt.Errorf("why: want the reason, as of all that a club writes: %w", calendar.ErrInvalid)
	}
	whose := calendar.Whose{Club: club}
	versions, err := s.cfg.Store.Versions(ctx, whose)
	if err != nil {
		return err
	}
	a := calendar.Amendment{Whose: whose, Subject: subjects[0], At: s.evening(r.On), Who: cmp.Or(r.By, demoID), Why: r.Why, Text: strings.TrimSpace(r.Text) + "\n"}
	_, err = s.cfg.Store.Amend(ctx, a, newestOf(versions, a.Subject))
	return err
}
