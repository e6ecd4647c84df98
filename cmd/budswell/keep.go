package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/calendar/store"
	"budswell/climate"
	"budswell/feeds"
)

type backupCommand struct {
	File string `arg:"" help:"File to write; it must not be there yet."`
	DB   string `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH"`
}

// Run backs the database up while the service may run.
func (c *backupCommand) Run(ctx context.Context, p program) error {
	made, err := store.Backup(ctx, c.DB, c.File)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	fmt.Fprintf(p.stdout, "%s: %d rows, %d bytes; restored to try it, and found the same: sha256 %s\n", c.File, made.Rows, made.Bytes, made.Digest)
	return nil
}

type restoreCommand struct {
	File    string `arg:"" help:"Backup to restore."`
	DB      string `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH"`
	Replace bool   `help:"Where a database is there already, keep it aside under another name."`
}

// Run restores a backup while the service is stopped.
func (c *restoreCommand) Run(ctx context.Context, p program) error {
	got, aside, err := store.Restore(ctx, c.File, c.DB, c.Replace, p.now())
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	fmt.Fprintf(p.stdout, "%s: restored %d rows: sha256 %s\n", c.DB, got.Rows, got.Digest)
	if aside != "" {
		fmt.Fprintf(p.stdout, "the database of before is %s\n", aside)
	}
	return nil
}

type migrateCommand struct {
	From string `help:"Database to copy from; it stays." required:"" placeholder:"sqlite:PATH|postgres:URL"`
	To   string `help:"Database to copy to; it must be new or empty." required:"" placeholder:"sqlite:PATH|postgres:URL"`
}

// Run copies a database to another engine while no service writes to it.
func (c *migrateCommand) Run(ctx context.Context, p program) error {
	made, err := store.Move(ctx, c.From, c.To)
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	fmt.Fprintf(p.stdout, "%d rows copied, and found the same where they arrived: sha256 %s\n", made.Rows, made.Digest)
	return nil
}

type exportCommand struct {
	File   string   `arg:"" help:"File to write; it must not be there yet. A hyphen stands for standard output."`
	Grower []string `help:"Only what these growers entered." placeholder:"ID"`
	DB     string   `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH|postgres:URL"`
}

// Run writes everything that growers entered as one file.
func (c *exportCommand) Run(ctx context.Context, p program) (err error) {
	db, err := openKept(ctx, c.DB)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	a, err := feeds.Collect(ctx, db, c.Grower...)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := a.Write(&b); err != nil {
		return err
	}
	if c.File == "-" {
		_, err = b.WriteTo(p.stdout)
	} else {
		err = writeNew(c.File, b.Bytes())
	}
	if err != nil {
		return err
	}
	return c.leftOut(ctx, p, db)
}

// leftOut says which sources of weather are not in the file.
func (c *exportCommand) leftOut(ctx context.Context, p program, db *store.Store) error {
	sources, err := db.WeatherSources(ctx)
	for _, w := range sources {
		if w.Kind == calendar.SourceFolder && (len(c.Grower) == 0 || slices.Contains(c.Grower, w.Grower)) {
			fmt.Fprintf(p.stderr, "%s: weather of %s comes from %s, on this machine; the file holds what was read, and not where\n", w.Grower, w.Place, w.At)
		}
	}
	return err
}

// openKept opens a database that must be there: a slip in its name makes no new one.
func openKept(ctx context.Context, dsn string) (*store.Store, error) {
	if path, ok := store.Path(dsn); ok {
		if _, err := os.Stat(path); err != nil {
			return nil, fmt.Errorf("database: %w", err)
		}
	}
	return store.Open(ctx, dsn)
}

// writeNew writes a file that is not there yet, wholly or not at all, and for
// its owner only.
func writeNew(path string, content []byte) (err error) {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: is there already; want a new name: %w", path, fs.ErrExist)
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".export-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	_, err = f.Write(content)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// archive puts what an archive holds into the database: it adds, and changes
// nothing that is there.
func (c *importCommand) archive(ctx context.Context, p program, text []byte) (err error) {
	files, err := loreFiles(c.Lore)
	if err != nil {
		return err
	}
	ground, err := lore.NewGround(files...)
	if err != nil {
		return err
	}
	own := func(rules []calendar.ArchiveRule) *calendar.Lore { return ground.Archived(rules) }
	a, err := calendar.ReadArchiveBy(c.File, text, own, climate.DateOf(p.now().UTC())+1)
	if err != nil {
		return err
	}
	switch {
	case c.Renew:
		return fmt.Errorf("%w: --renew is for plan files; links of an archive are new, and others stay", errUsage)
	case c.Grower != "" && len(a.Growers) != 1:
		return fmt.Errorf("%w: --grower names one, and %s holds %d growers", errUsage, c.File, len(a.Growers))
	}
	db, err := store.Open(ctx, c.DB)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	cfg := feeds.Config{Store: db, Base: c.Base, Now: p.now, Random: p.random}
	var all []*feeds.Addition
	for i := range a.Growers {
		id := a.Growers[i].ID
		if c.Grower != "" {
			id = c.Grower
		}
		d, err := feeds.Add(ctx, db, &a.Growers[i], id)
		if err != nil {
			return fmt.Errorf("%s: %w", c.File, err)
		}
		all = append(all, d)
	}
	for _, d := range all {
		links, err := d.Write(ctx, cfg)
		if err != nil {
			return err
		}
		for _, words := range d.Adds {
			fmt.Fprintf(p.stderr, "%s: added %s\n", d.Grower.ID, words)
		}
		for _, words := range d.Stays {
			fmt.Fprintf(p.stderr, "%s: %s is there already, and stays as it is\n", d.Grower.ID, words)
		}
		writeLinks(p, links)
	}
	return nil
}
