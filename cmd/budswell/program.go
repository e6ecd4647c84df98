package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/alecthomas/kong"

	"budswell/climate"
)

// program is what a command runs with: everything that is not the same each time.
type program struct {
	stdout, stderr io.Writer
	now            func() time.Time
	random         io.Reader
}

// Exit statuses.
const (
	done       = 0
	failed     = 1
	wrongUsage = 2
)

// errUsage marks an error in how the command was called.
var errUsage = errors.New("wrong usage")

// commands is the whole surface of budswell.
type commands struct {
	Serve    serveCommand    `cmd:"" help:"Serve feeds and pages."`
	Plan     planCommand     `cmd:"" help:"Print the plan of the trees in a file."`
	Phases   phasesCommand   `cmd:"" help:"Print when each phase of a species falls at a place."`
	Place    placeCommand    `cmd:"" help:"Print the climate of any place on land, from the built-in atlas."`
	Backtest backtestCommand `cmd:"" help:"Print how good forecasts of past springs would have been."`
	Weather  weatherCommand  `cmd:"" help:"Look at weather records."`
	Lore     loreCommand     `cmd:"" help:"Look at species and rules, and check them."`
	Sums     sumsCommand     `cmd:"" help:"Do the sums that growers do by hand: soil, water, wire, pot."`
	Import   importCommand   `cmd:"" help:"Put the site, trees and log of a file, or an export, into the service's database."`
	Publish  publishCommand  `cmd:"" help:"Write what regions publish as files for any web space."`
	Export   exportCommand   `cmd:"" help:"Write everything that growers entered as one file."`
	Backup   backupCommand   `cmd:"" help:"Back up the service's database while it runs."`
	Restore  restoreCommand  `cmd:"" help:"Restore a backup while the service is stopped."`
	Migrate  migrateCommand  `cmd:"" help:"Copy the service's database from SQLite to PostgreSQL, or back."`
	Grower   growerCommand   `cmd:"" help:"Add, invite, list and delete growers."`
	Club     clubCommand     `cmd:"" help:"Found and list clubs."`
}

// exit is how kong leaves; run turns it into a status.
type exit int

func (p program) run(ctx context.Context, args []string) (code int) {
	var cli commands
	defer func() {
		if v := recover(); v != nil {
			status, ok := v.(exit)
			if !ok {
				panic(v)
			}
			code = int(status)
		}
	}()
	parser, err := kong.New(&cli,
		kong.Name("budswell"),
		kong.Description("When each work is right for each tree, at the place where it stands. Dates are forecasts: look at the tree first."),
		kong.Writers(p.stdout, p.stderr),
		kong.Exit(func(status int) { panic(exit(status)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, FlagsLast: true}),
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(p),
		kong.TypeMapper(dateType, kong.MapperFunc(decodeDate)),
		kong.DefaultEnvars("BUDSWELL"),
		kong.WithHyphenPrefixedParameters(true), // western and southern places have negative degrees
	)
	if err != nil {
		fmt.Fprintln(p.stderr, "budswell:", err)
		return failed
	}
	command, err := parser.Parse(southFirst(args))
	if err != nil {
		fmt.Fprintf(p.stderr, "budswell: %v\nTry 'budswell --help'.\n", err)
		return wrongUsage
	}
	if err := command.Run(); err != nil {
		fmt.Fprintln(p.stderr, "budswell:", err)
		if errors.Is(err, errUsage) {
			return wrongUsage
		}
		return failed
	}
	return done
}

// today returns the day that a flag fixed, or else the day at the site now.
func (p program) today(fixed *climate.Date, site climate.Site) (climate.Date, error) {
	if fixed != nil {
		return *fixed, nil
	}
	loc, err := site.Location()
	if err != nil {
		return climate.NoDate, err
	}
	return climate.DateOf(p.now().In(loc)), nil
}

// southFirst lets a place be given as -35.3,149.1: what begins with a minus and a
// digit is moved to where the parser takes it for an argument, not for a flag.
func southFirst(args []string) []string {
	if len(args) == 0 || args[0] != "place" {
		return args
	}
	var flags, places []string
	for i, a := range args {
		if a == "--" {
			places = append(places, args[i+1:]...)
			break
		}
		if len(a) > 1 && a[0] == '-' && (a[1] == '.' || a[1] >= '0' && a[1] <= '9') {
			places = append(places, a)
		} else {
			flags = append(flags, a)
		}
	}
	if len(places) == 0 {
		return args
	}
	return append(append(flags, "--"), places...)
}
