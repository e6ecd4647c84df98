package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"

	"budswell/calendar/lore"
	"budswell/calendar/store"
	sample "budswell/data-sample"
	"budswell/feeds"
	"budswell/feeds/nudge"
	"budswell/feeds/outward"
)

type serveCommand struct {
	Demo bool     `help:"Show the invented demonstration, kept in memory only."`
	Addr string   `help:"Address to listen on." default:"127.0.0.1:8080" placeholder:"HOST:PORT"`
	DB   string   `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH"`
	Base string   `help:"Address that people reach the service by, where it is not --addr." placeholder:"URL"`
	Lore []string `help:"YAML files of species and rules that add to the lore or override it." type:"existingfile" placeholder:"FILE"`

	SMTP     smtpFlags `embed:"" prefix:"smtp-" group:"Mail (without a host, nudges stay on the page)"`
	Webhooks string    `help:"Addresses to which growers may have nudges posted: public, private (those of this network too), or none." enum:"public,private,none" default:"public" placeholder:"WHICH"`
}

type smtpFlags struct {
	Host     string    `help:"Mail server that nudges are handed to." placeholder:"HOST"`
	Port     int       `help:"Its port; 587, or 465 with implicit TLS, when not given." placeholder:"PORT"`
	User     string    `help:"User to sign in as." placeholder:"NAME"`
	Password string    `help:"Password; better given as BUDSWELL_SMTP_PASSWORD." placeholder:"SECRET"`
	From     string    `help:"Address that nudges come from." placeholder:"ADDRESS"`
	TLS      nudge.TLS `name:"tls" help:"starttls, implicit, or none on a trusted network." default:"starttls" placeholder:"HOW"`
}

// stopTime is how long jobs may take to end.
const stopTime = 10 * time.Second

// Run serves until ctx ends.
func (c *serveCommand) Run(ctx context.Context, p program) (err error) {
	log := slog.New(slog.NewTextHandler(p.stderr, nil))
	files, err := loreFiles(c.Lore)
	if err != nil {
		return err
	}
	known, err := lore.Read(files...)
	if err != nil {
		return err
	}
	dsn := c.DB
	if c.Demo {
		dsn = "sqlite::memory:"
	}
	db, err := store.Open(ctx, dsn)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()

	listener, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return fmt.Errorf("--addr %s: %w", c.Addr, err)
	}
	defer listener.Close() // Serve closes it as well; this is for what fails before
	base := strings.TrimRight(c.Base, "/")
	if base == "" {
		base = "http://" + listener.Addr().String()
	}
	config := feeds.Config{Store: db, Lore: known, Base: base, Now: p.now, Random: p.random, Log: log, Webhooks: c.Webhooks != noWebhooks && !c.Demo}
	server, err := feeds.New(config)
	if err != nil {
		return err
	}
	sender, err := c.sender(p, db, base, log)
	if err != nil {
		return err
	}
	links := feeds.Links{Page: base + "/"}
	if c.Demo {
		links, err = feeds.LoadDemo(ctx, config, feeds.Demo{
			Files: sample.Files, Plan: sample.Plan, Story: sample.Story, Read: readStation,
		})
		if err != nil {
			return err
		}
	}
	scheduler, err := nudge.NewScheduler(db, clockwork.NewRealClock(), server.Morning, sender, log)
	if err != nil {
		return err
	}
	scheduler.Start()
	writeLinks(p, links)
	err = server.Serve(ctx, listener)
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer cancel()
	return errors.Join(err, scheduler.Stop(stop))
}

// Values of --webhooks.
const (
	privateWebhooks = "private"
	noWebhooks      = "none"
)

// sender returns what delivers nudges; nil where there is no channel.
func (c *serveCommand) sender(p program, db *store.Store, base string, log *slog.Logger) (*nudge.Sender, error) {
	channels := nudge.Channels{Base: base, SMTP: nudge.SMTP{
		Host: c.SMTP.Host, Port: c.SMTP.Port, User: c.SMTP.User, Password: c.SMTP.Password,
		From: c.SMTP.From, TLS: c.SMTP.TLS,
	}}
	if c.Webhooks != noWebhooks {
		channels.Webhooks = outward.Client(outward.Options{Private: c.Webhooks == privateWebhooks})
	}
	if channels.SMTP.Configured() {
		if err := channels.SMTP.Validate(); err != nil {
			return nil, fmt.Errorf("%w: %w", errUsage, err)
		}
	} else if channels.Webhooks == nil {
		return nil, nil
	}
	return nudge.NewSender(db, channels, p.now, log)
}

// writeLinks prints where a person finds their page and feeds.
func writeLinks(p program, links feeds.Links) {
	if links.Page != "" {
		fmt.Fprintf(p.stdout, "page: %s\n", links.Page)
	}
	for _, link := range links.Feeds {
		fmt.Fprintf(p.stdout, "feed: %s\n", link)
	}
	if links.Region != "" {
		fmt.Fprintf(p.stdout, "feed: %s/calendar.ics\n", links.Region)
	}
}
