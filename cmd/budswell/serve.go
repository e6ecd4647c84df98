package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"

	"budswell/calendar"
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
	DB   string   `name:"db" help:"Database." default:"sqlite:budswell.db" placeholder:"sqlite:PATH|postgres:URL"`
	Base string   `help:"Address that people reach the service by, where it is not --addr." placeholder:"URL"`
	Lore []string `help:"YAML files of species and rules that add to the lore or override it." type:"existingfile" placeholder:"FILE"`

	Open        bool           `help:"Let anybody join who can read mail at the address that they name; without it, the keeper invites."`
	ClubsInvite bool           `help:"Let invitations into a club bring people who are not with the service yet." default:"true" negatable:""`
	TrustProxy  []netip.Prefix `help:"Networks of reverse proxies whose X-Forwarded-For is believed." placeholder:"CIDR"`
	Metrics     string         `name:"metrics-addr" help:"Address on which Prometheus finds metrics; off when not given. Keep it to the machine." placeholder:"HOST:PORT"`

	JobLease time.Duration `help:"How long an instance that gives no sign keeps the jobs that it was doing, before another over the same database takes them over." default:"2m" placeholder:"TIME"`

	Weather weatherFlags `embed:"" group:"Weather that places have from services"`

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

func (f smtpFlags) server() nudge.SMTP {
	return nudge.SMTP{Host: f.Host, Port: f.Port, User: f.User, Password: f.Password, From: f.From, TLS: f.TLS}
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
	ground, err := lore.NewGround(files...)
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
	config := feeds.Config{
		Store: db, Lore: ground.Lore(), Ground: ground, Base: base, Now: p.now, Random: p.random, Log: log,
		Mail: c.mail(p), Open: c.Open, ClubsInvite: c.ClubsInvite, Proxies: c.TrustProxy, Credit: c.Weather.credit,
		ReadStation: readStation, Services: c.Weather.services(),
		Webhooks: c.Webhooks != noWebhooks && !c.Demo,
	}
	if c.Open && config.Mail == nil {
		return fmt.Errorf("%w: --open wants a mail server, --smtp-host, to mail people the link by which they join", errUsage)
	}
	server, err := feeds.New(config)
	if err != nil {
		return err
	}
	sender, err := c.sender(p, db, base, log)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	metrics, err := c.metrics(ctx, p, server)
	if err != nil {
		return err
	}
	links := feeds.Links{Page: base + "/"}
	if c.Demo {
		links, err = feeds.LoadDemo(ctx, config, feeds.Demo{
			Files: sample.Files, Plan: sample.Plan, Club: sample.Club, Story: sample.Story, Read: readStation,
		})
		if err != nil {
			return err
		}
	}
	// Planned by the clock that the pages are planned by, whenever the hour comes by the scheduler's.
	morning := func(ctx context.Context, grower string, come []calendar.Place, _ time.Time) error {
		return server.Morning(ctx, grower, come, p.now())
	}
	scheduler, err := nudge.NewScheduler(db, clockwork.NewRealClock(), server.Timed("morning", morning), sender, log)
	if err != nil {
		return err
	}
	if c.JobLease <= 0 {
		return fmt.Errorf("%w: --job-lease %v: want a time", errUsage, c.JobLease)
	}
	scheduler.Lease(c.JobLease)
	weather, err := c.Weather.intake(p, db, log)
	if err != nil {
		return err
	}
	weather.Changed = server.Weathered
	fetching, stopFetching := context.WithCancel(ctx)
	fetched := make(chan struct{})
	go func() { defer close(fetched); weather.Run(fetching) }()
	defer func() { stopFetching(); <-fetched }()
	scheduler.Start()
	writeLinks(p, links)
	// Jobs end while requests do, so that both are within the ten seconds.
	stopped := make(chan error, 1)
	go func() {
		<-ctx.Done()
		stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
		defer cancel()
		stopped <- scheduler.Stop(stop)
	}()
	err = server.Serve(ctx, listener)
	cancel()
	return errors.Join(err, <-stopped, <-metrics)
}

// metrics serves metrics until ctx ends, where an address for them is given.
func (c *serveCommand) metrics(ctx context.Context, p program, server *feeds.Server) (<-chan error, error) {
	ended := make(chan error, 1)
	if c.Metrics == "" {
		ended <- nil
		return ended, nil
	}
	l, err := net.Listen("tcp", c.Metrics)
	if err != nil {
		return nil, fmt.Errorf("--metrics-addr %s: %w", c.Metrics, err)
	}
	fmt.Fprintf(p.stdout, "metrics: http://%s/\n", l.Addr())
	go func() { ended <- server.ServeMetrics(ctx, l) }()
	return ended, nil
}

// mail returns what mails links at once; nil where there is no mail server.
func (c *serveCommand) mail(p program) func(ctx context.Context, to, title, text string) error {
	smtp := c.SMTP.server()
	if !smtp.Configured() {
		return nil
	}
	return func(ctx context.Context, to, title, text string) error {
		id, _, err := feeds.NewSecret(p.random)
		if err != nil {
			return err
		}
		return smtp.Mail(ctx, id, to, title, text, p.now())
	}
}

// Values of --webhooks.
const (
	privateWebhooks = "private"
	noWebhooks      = "none"
)

// sender returns what delivers nudges; nil where there is no channel.
func (c *serveCommand) sender(p program, db *store.Store, base string, log *slog.Logger) (*nudge.Sender, error) {
	channels := nudge.Channels{Base: base, SMTP: c.SMTP.server()}
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
