package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"budswell/calendar/store"
	"budswell/feeds"
	"budswell/feeds/wording"
)

// growerCommand is what the keeper of a service does with those who use it.
type growerCommand struct {
	Add    growerAdd    `cmd:"" help:"Add a grower, and print the link that sets a password."`
	List   growerList   `cmd:"" help:"List the growers."`
	Link   growerLink   `cmd:"" help:"Print a link by which a grower sets a password, once, within three days."`
	Invite growerInvite `cmd:"" help:"Print a link by which somebody joins, once, within two weeks."`
	Delete growerDelete `cmd:"" help:"Delete a grower and all that is theirs."`
}

// kept is the database that these commands work on.
type kept struct {
	DB   string `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH|postgres:URL"`
	Base string `help:"Address that people reach the service by; links are made from it." default:"http://127.0.0.1:8080" placeholder:"URL"`
}

// begin does something with the database, which may be new; with wants one that
// is there.
func (k kept) begin(ctx context.Context, p program, do func(feeds.Config) error) error {
	return k.on(ctx, p, store.Open, do)
}

func (k kept) with(ctx context.Context, p program, do func(feeds.Config) error) error {
	return k.on(ctx, p, openKept, do)
}

func (k kept) on(ctx context.Context, p program, open func(context.Context, string) (*store.Store, error), do func(feeds.Config) error) (err error) {
	db, err := open(ctx, k.DB)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return do(feeds.Config{Store: db, Base: k.Base, Now: p.now, Random: p.random})
}

type growerAdd struct {
	kept

	Name  string `arg:"" help:"Name of the grower."`
	ID    string `help:"Id; made from the name when not given." placeholder:"ID"`
	Email string `help:"Address that nudges are mailed to." placeholder:"ADDRESS"`
}

// Run adds a grower.
func (c *growerAdd) Run(ctx context.Context, p program) error {
	return c.begin(ctx, p, func(cfg feeds.Config) error {
		id, err := feeds.AddGrower(ctx, cfg, c.ID, c.Name, c.Email)
		if err != nil {
			return err
		}
		fmt.Fprintf(p.stdout, "grower: %s\n", id)
		return printPassword(ctx, p, cfg, id)
	})
}

func printPassword(ctx context.Context, p program, cfg feeds.Config, id string) error {
	if _, err := cfg.Store.Grower(ctx, id); err != nil {
		return err
	}
	link, err := feeds.PasswordLink(ctx, cfg, id, feeds.HandedLife)
	if err != nil {
		return fmt.Errorf("grower %q: %w", id, err)
	}
	fmt.Fprintf(p.stdout, "password: %s\n", link)
	return nil
}

type growerList struct{ kept }

// Run lists the growers.
func (c *growerList) Run(ctx context.Context, p program) error {
	return c.with(ctx, p, func(cfg feeds.Config) error {
		growers, err := cfg.Store.Growers(ctx)
		if err != nil {
			return err
		}
		for _, g := range growers {
			trees, err := cfg.Store.Trees(ctx, g.ID)
			if err != nil {
				return err
			}
			fmt.Fprintf(p.stdout, "%s\t%s\t%s\t%s\n", g.ID, g.Name, g.Email, wording.Count(len(trees), "tree"))
		}
		return nil
	})
}

type growerLink struct {
	kept

	ID string `arg:"" help:"Id of the grower."`
}

// Run makes a link.
func (c *growerLink) Run(ctx context.Context, p program) error {
	return c.with(ctx, p, func(cfg feeds.Config) error { return printPassword(ctx, p, cfg, c.ID) })
}

type growerInvite struct {
	kept

	Email string `help:"The address by which they must sign in; any when not given." placeholder:"ADDRESS"`
}

// Run makes an invitation.
func (c *growerInvite) Run(ctx context.Context, p program) error {
	return c.begin(ctx, p, func(cfg feeds.Config) error {
		link, err := feeds.Invitation(ctx, cfg, c.Email, feeds.InvitationLife)
		if err != nil {
			return err
		}
		fmt.Fprintf(p.stdout, "join: %s\n", link)
		return nil
	})
}

type growerDelete struct {
	kept

	ID  string `arg:"" help:"Id of the grower."`
	Yes bool   `help:"Delete, and do not only say what would be."`
}

// Run deletes a grower, or says what that would be.
func (c *growerDelete) Run(ctx context.Context, p program) error {
	return c.with(ctx, p, func(cfg feeds.Config) error {
		a, err := feeds.Collect(ctx, cfg.Store, c.ID)
		if err != nil {
			return err
		}
		g := a.Growers[0]
		what := fmt.Sprintf("%s (%s): %s, %s, %s", g.ID, g.Name, wording.Count(len(g.Places), "place"), wording.Count(len(g.Trees), "tree"), wording.Count(len(g.Feeds), "feed"))
		if !c.Yes {
			return fmt.Errorf("%w: --yes deletes %s; 'budswell export' keeps a copy", errUsage, what)
		}
		if err := cfg.Store.DeleteGrower(ctx, c.ID, p.now()); err != nil {
			return err
		}
		fmt.Fprintf(p.stdout, "deleted %s\nbackups made before %s hold it until they are thrown away\n", what, p.now().UTC().Format(time.DateOnly))
		return nil
	})
}
