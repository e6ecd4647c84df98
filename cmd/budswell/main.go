// Command budswell computes when each work is right for each tree that a grower
// keeps, prints it, and serves it as calendar feeds.
package main

import (
	"context"
	"crypto/rand"
	"os"
	"os/signal"
	"syscall"
	"time"

	_ "time/tzdata" // a bare machine may have no time zones
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	p := program{
		stdout: os.Stdout,
		stderr: os.Stderr,
		now:    time.Now,
		random: rand.Reader,
	}
	code := p.run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}
