package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/calendar/store"
	"budswell/climate"
	"budswell/feeds"
	"budswell/feeds/webspace"
	"budswell/feeds/wording"
)

// publishCommand writes regions as files. Where the service changes nothing, nor does it.
type publishCommand struct {
	Dir      string   `arg:"" help:"Folder to put the files into; it is made where it is not there, and files in it that are not of this command stay."`
	File     string   `arg:"" optional:"" type:"existingfile" help:"Plan file whose region is published; without one, the regions of the database are."`
	Base     string   `help:"Address that the folder is reached by; links are made from it." required:"" placeholder:"URL"`
	DB       string   `name:"db" help:"Database of the service, which may run meanwhile." default:"sqlite:budswell.db" placeholder:"sqlite:PATH|postgres:URL"`
	Region   []string `help:"Only these regions." placeholder:"ID"`
	Lore     []string `help:"YAML files of species and rules, as the service has them." type:"existingfile" placeholder:"FILE"`
	Grower   string   `help:"A grower, feeds of whom are to be published too, under addresses that cannot be guessed." placeholder:"ID"`
	Feed     []string `help:"Name of such a feed." placeholder:"NAME"`
	Language string   `help:"Language of the regions' pages, en or de; calendars are in English, but those of a grower in theirs." default:"en" placeholder:"TAG"`
	Service  string   `help:"Address of the service, to which those feeds lead back; --base when not given." placeholder:"URL"`
}

// Run publishes.
func (c *publishCommand) Run(ctx context.Context, p program) (err error) {
	switch {
	case (c.Grower == "") != (len(c.Feed) == 0):
		return fmt.Errorf("%w: --grower says whose, and --feed which: want both, or neither", errUsage)
	case c.File != "" && c.Grower != "":
		return fmt.Errorf("%w: --grower and --feed are for a database; a plan file's trees are not published", errUsage)
	}
	spoken := wording.Languages()
	if !slices.ContainsFunc(spoken, func(l wording.Spoken) bool { return l.Tag == c.Language }) {
		return fmt.Errorf("%w: --language %q: want one of %s", errUsage, c.Language, tags(spoken))
	}
	space, err := webspace.Open(c.Dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, space.Close()) }()
	memory, err := store.Open(ctx, "sqlite:"+space.Beside("memory.db"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, memory.Close()) }()
	db, known, ground, err := c.source(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	log := slog.New(slog.NewTextHandler(p.stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	config := feeds.Config{
		Store: feeds.Remembering{Store: db, Memory: memory, ByContent: c.File != ""}, Lore: known, Ground: ground,
		Base: c.Base, Now: p.now, Random: p.random, Log: log,
	}
	server, err := feeds.New(config)
	if err != nil {
		return err
	}
	files, err := server.Still(ctx, wording.In(calendar.Locale{Language: c.Language}, ""), c.Region...)
	if err != nil {
		return fmt.Errorf("publish: %w; nothing was changed", err)
	}
	links, err := c.feeds(ctx, config, db, &files)
	if err != nil {
		return fmt.Errorf("publish: %w; nothing was changed", err)
	}
	done, err := space.Put(files)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%s: %d files: %d new, %d changed, %d the same; %d taken away\n", c.Dir, len(files), done.New, done.Changed, done.Same, done.Gone)
	for _, link := range links {
		fmt.Fprintf(p.stdout, "feed: %s\n", link)
	}
	return nil
}

func tags(all []wording.Spoken) string {
	var out []string
	for _, l := range all {
		out = append(out, l.Tag)
	}
	return strings.Join(out, ", ")
}

// source opens the database with the regions, or fills one in memory from the plan file. Over
// the ground, which a plan file has none of, clubs and growers have laid their own words.
func (c *publishCommand) source(ctx context.Context) (db *store.Store, known *calendar.Lore, ground *lore.Ground, err error) {
	if c.File == "" {
		files, err := loreFiles(c.Lore)
		if err != nil {
			return nil, nil, nil, err
		}
		if ground, err = lore.NewGround(files...); err != nil {
			return nil, nil, nil, err
		}
		db, err = openKept(ctx, c.DB)
		return db, ground.Lore(), ground, err
	}
	file, known, _, err := readPlanFile(c.File, climate.NoDate)
	if err != nil {
		return nil, nil, nil, err
	}
	if file.Region == nil {
		return nil, nil, nil, fmt.Errorf("%s: region: is missing; want the id and name of what is published", c.File)
	}
	if len(c.Lore) > 0 {
		return nil, nil, nil, fmt.Errorf("%w: --lore is for a database; a plan file names its own", errUsage)
	}
	if db, err = store.Open(ctx, "sqlite::memory:"); err != nil {
		return nil, nil, nil, err
	}
	if err := db.PutRegion(ctx, *file.Region); err != nil {
		return nil, nil, nil, errors.Join(fmt.Errorf("%s: region: %w", c.File, err), db.Close())
	}
	return db, known, nil, nil
}

// feeds adds the feeds of a grower, as the service shows them.
func (c *publishCommand) feeds(ctx context.Context, config feeds.Config, db *store.Store, files *[]webspace.File) ([]string, error) {
	if c.Grower == "" {
		return nil, nil
	}
	config.Store = db
	if c.Service != "" {
		config.Base = c.Service
	}
	server, err := feeds.New(config)
	if err != nil {
		return nil, err
	}
	own, links, err := server.StillFeeds(ctx, c.Base, c.Grower, c.Feed)
	*files = append(*files, own...)
	return links, err
}
