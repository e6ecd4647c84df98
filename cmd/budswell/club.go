package main

import (
	"context"
	"fmt"
	"strings"

	"budswell/calendar"
	"budswell/feeds"
	"budswell/feeds/wording"
)

// clubCommand is what the keeper of a service does with clubs; who is in one is
// settled by its own keepers.
type clubCommand struct {
	Add    clubAdd    `cmd:"" help:"Found a club, and print a link by which its keeper joins, or name the keeper."`
	List   clubList   `cmd:"" help:"List the clubs."`
	Invite clubInvite `cmd:"" help:"Print a link by which somebody joins a club as a keeper, once, within two weeks: for a club without one."`
}

type clubAdd struct {
	kept

	Name   string `arg:"" help:"Name of the club."`
	ID     string `help:"Id, part of its links; made from the name when not given." placeholder:"ID"`
	Keeper string `help:"Id of the grower who keeps it; without one, a link is printed by which somebody becomes its keeper." placeholder:"GROWER"`
}

// Run founds a club.
func (c *clubAdd) Run(ctx context.Context, p program) error {
	return c.begin(ctx, p, func(cfg feeds.Config) error {
		club, err := feeds.FoundClub(ctx, cfg, c.ID, c.Name, c.Keeper)
		if err != nil {
			return err
		}
		fmt.Fprintf(p.stdout, "club: %s\n", club.ID)
		if c.Keeper != "" {
			fmt.Fprintf(p.stdout, "page: %s/clubs/%s\n", strings.TrimRight(cfg.Base, "/"), club.ID)
			return nil
		}
		return printKeeping(ctx, p, cfg, club.ID)
	})
}

func printKeeping(ctx context.Context, p program, cfg feeds.Config, club string) error {
	link, err := feeds.ClubInvitation(ctx, cfg, club, calendar.Keeper, "", "", feeds.InvitationLife)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "join: %s\n", link)
	return nil
}

type clubList struct{ kept }

// Run lists the clubs.
func (c *clubList) Run(ctx context.Context, p program) error {
	return c.with(ctx, p, func(cfg feeds.Config) error {
		clubs, err := cfg.Store.Clubs(ctx)
		if err != nil {
			return err
		}
		for _, club := range clubs {
			members, err := cfg.Store.Members(ctx, club.ID)
			if err != nil {
				return err
			}
			var keepers []string
			for _, m := range members {
				if m.Role == calendar.Keeper {
					keepers = append(keepers, m.Grower)
				}
			}
			fmt.Fprintf(p.stdout, "%s\t%s\t%s\t%s\n", club.ID, club.Name, wording.Count(len(members), "member"), strings.Join(keepers, ", "))
		}
		return nil
	})
}

type clubInvite struct {
	kept

	ID string `arg:"" help:"Id of the club."`
}

// Run makes an invitation.
func (c *clubInvite) Run(ctx context.Context, p program) error {
	return c.with(ctx, p, func(cfg feeds.Config) error {
		if _, err := cfg.Store.Club(ctx, c.ID); err != nil {
			return err
		}
		return printKeeping(ctx, p, cfg, c.ID)
	})
}
