package nudge

import (
	"context"
	"errors"
	"net/url"
	"sync"
	"time"

	"budswell/calendar"
)

const (
	// postsAtOnce is how many webhooks are posted to at once, each on another host: a
	// receiver that takes its time does not keep others from their messages.
	postsAtOnce = 4

	// slowPost is how long a host may take before the rest of what is for it waits for
	// the next round.
	slowPost = 5 * time.Second
)

// errNotNow is that a delivery is not tried in this round.
var errNotNow = errors.New("its host is slow or does not answer")

// postAll posts what there is to webhooks, and returns how many were taken.
func (s *Sender) postAll(ctx context.Context) (sent int, err error) {
	line := &hostLine{hosts: map[string]*host{}}
	var mu sync.Mutex
	var wait sync.WaitGroup
	for range s.posts {
		wait.Go(func() {
			n, e := s.channel(ctx, calendar.ByWebhook, hookLease, &hours{store: s.store}, func(ctx context.Context, c *calendar.Claimed) (bool, error) {
				return true, s.postInLine(ctx, line, c)
			})
			mu.Lock()
			defer mu.Unlock()
			sent, err = sent+n, errors.Join(err, e)
		})
	}
	wait.Wait()
	return sent, err
}

// postInLine posts to one host at a time, and no more to one that proved slow. At most
// the other workers are in line before it, each for the time of a post: no longer than
// the claim holds.
func (s *Sender) postInLine(ctx context.Context, line *hostLine, c *calendar.Claimed) error {
	hook, err := s.hook(ctx, c)
	if err != nil {
		return err
	}
	h := line.host(hook.URL)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.slow {
		return errNotNow
	}
	began := s.now()
	err = s.post(ctx, c, hook)
	// One that answers, be it with an error, is there; one that does not is not asked
	// again in this round.
	h.slow = s.now().Sub(began) > slowPost || err != nil && !errors.As(err, new(refused)) && !errors.As(err, new(answered))
	return err
}

// hostLine knows the hosts of a round.
type hostLine struct {
	mu    sync.Mutex
	hosts map[string]*host
}

type host struct {
	mu   sync.Mutex
	slow bool
}

// host finds the host of an address; addresses that are none share one.
func (l *hostLine) host(address string) *host {
	name := ""
	if u, err := url.Parse(address); err == nil {
		name = u.Host
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.hosts[name] == nil {
		l.hosts[name] = &host{}
	}
	return l.hosts[name]
}
