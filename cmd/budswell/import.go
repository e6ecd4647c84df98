package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/climate"
	"budswell/feeds"
	"budswell/feeds/wording"
)

type importCommand struct {
	File   string `arg:"" type:"existingfile" help:"YAML file of site, weather, trees and log, as 'plan' reads it; or a file that 'export' wrote."`
	DB     string `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH|postgres:URL"`
	Base   string `help:"Address that people reach the service by; links are made from it." default:"http://127.0.0.1:8080" placeholder:"URL"`
	Grower string `help:"Id of the grower whose trees they are; made from the name in the file when not given." placeholder:"ID"`
	Renew  bool   `help:"Make new secret links; those given out before stop working."`

	Lore []string `help:"YAML files of species and rules that an export was written with; a plan file names its own." type:"existingfile" placeholder:"FILE"`
}

// Run puts the file into the database. What is there already is changed, and no
// entry of a log is ever taken away; links stay as they are unless renewed.
func (c *importCommand) Run(ctx context.Context, p program) (err error) {
	text, err := readFile(c.File)
	if err != nil {
		return err
	}
	if calendar.IsArchive(text) {
		return c.archive(ctx, p, text)
	}
	// A day of grace: it may be tomorrow already where the trees stand.
	file, _, weather, err := readPlanFile(c.File, climate.DateOf(p.now().UTC())+1)
	if err != nil {
		return err
	}
	if err := checkShows(p, file); err != nil {
		return err
	}
	db, err := store.Open(ctx, c.DB)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	grower := cmp.Or(c.Grower, calendar.Slug(file.Grower.Name), "grower")
	place := cmp.Or(calendar.Slug(file.Site.Name), "site")
	if err := c.firstFeed(ctx, db, file, grower); err != nil {
		return err
	}
	links, err := feeds.Settle(ctx, feeds.Config{
		Store: db, Base: c.Base, Now: p.now, Random: p.random,
	}, file, *weather, grower, place, c.Renew)
	if err != nil {
		return err
	}
	sources, err := sourcesOf(c.File, file)
	if err != nil {
		return err
	}
	if err := db.PutWeatherSources(ctx, grower, place, sources); err != nil {
		return err
	}
	fmt.Fprintf(p.stderr, "%s of %s at %s\n", wording.Count(len(file.Trees), "tree"), grower, place)
	for _, path := range file.Lore {
		fmt.Fprintf(p.stderr, "the file has lore of its own: start the service with 'serve --lore %s'\n", path)
	}
	if links.Page == "" {
		fmt.Fprintln(p.stderr, "secret links given out before stay good; --renew makes new ones")
	}
	writeLinks(p, links)
	return nil
}

// checkShows refuses days of shows that cannot be. A show that is past is kept as
// such, and told: the file was imported before it, or may have been.
func checkShows(p program, file *calendar.File) error {
	today := climate.DateOf(p.now().UTC()) - 1 // a day of grace
	faults, _ := errors.AsType[calendar.FileFaults](file.CheckShows(today))
	var wrong calendar.FileFaults
	for _, f := range faults {
		if d, err := climate.ParseDate(f.Value); err == nil && d < today {
			fmt.Fprintf(p.stderr, "%s:%d: %s: the show on %s is past; it is kept as one that was\n", f.File, f.Line, f.Field, f.Value)
			continue
		}
		wrong = append(wrong, f)
	}
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}

// firstFeed names a feed of everything where neither file nor grower has any.
func (c *importCommand) firstFeed(ctx context.Context, db *store.Store, file *calendar.File, grower string) error {
	known, err := db.Feeds(ctx, grower)
	if err == nil && len(known) == 0 && len(file.Feeds) == 0 {
		file.Feeds = []calendar.Feed{{Name: "Work on my trees"}}
	}
	return err
}
