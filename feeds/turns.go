package feeds

import (
	"context"
	"errors"
	"sync"

	"github.com/labstack/echo/v4"
)

// mostAhead is for how many looks one person may wait at a time.
const mostAhead = 4

// turns lets one at a time look at what something would change. Each look lays rules over
// the lore and plans trees or a region by it, which takes seconds and tens of megabytes, and
// keeps nothing: without turns one person who asks often enough leaves no room for anybody.
type turns struct {
	mu      sync.Mutex
	waiting map[string]int // by who asks, with whom it is the turn of
	turn    chan struct{}  // of one
}

func newTurns() *turns {
	return &turns{waiting: map[string]int{}, turn: make(chan struct{}, 1)}
}

// take waits for a turn, until done is called.
func (t *turns) take(ctx context.Context, who string) (done func(), err error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.waiting[who] >= mostAhead {
		return nil, refuse(errWait, "What you asked to look at before is still being worked out. Go back, where what you typed still stands, wait a little, and send it again.")
	}
	t.waiting[who]++
	t.mu.Unlock()
	select {
	case t.turn <- struct{}{}:
	case <-ctx.Done():
		err = ctx.Err()
	}
	t.mu.Lock()
	if err != nil {
		t.gone(who)
		return nil, err
	}
	return func() {
		<-t.turn
		t.mu.Lock()
		defer t.mu.Unlock()
		t.gone(who)
	}, nil
}

// gone is that one look of somebody is over. The lock is held.
func (t *turns) gone(who string) {
	if t.waiting[who]--; t.waiting[who] == 0 {
		delete(t.waiting, who)
	}
}

// inTurn does what a person asked for when it is their turn.
func (s *Server) inTurn(c echo.Context, who string, do func() error) error {
	done, err := s.looks.take(c.Request().Context(), who)
	if errors.Is(err, errWait) {
		c.Response().Header().Set("Retry-After", "10")
	}
	if err != nil {
		return err
	}
	defer done()
	return do()
}
