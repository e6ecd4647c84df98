package climate

import (
	"context"
	"fmt"
	"time"
)

// Provider has weather that changes: a service, a station's file on the web, a
// folder into which a weather station writes.
type Provider interface {
	// Credit is what people are to be told of whose weather it is and on what terms,
	// and the web address at which those stand; empty where there is none.
	Credit() (words, address string)

	// Pause is how long to wait, at least, before asking again.
	Pause() time.Duration

	// Back is how many years of past days it can be asked for; 0 where it answers
	// with all it has whatever is asked.
	Back() int

	// Fetch asks. Whatever goes wrong, nothing of an answer is taken. A [*Later] or
	// [*Refused] says when, or that, asking again is of no use.
	Fetch(ctx context.Context, a Ask) (*Answer, error)
}

// Ask is what a provider is asked.
type Ask struct {
	Site        Site
	First, Last Date // past days wanted; of no account where Back is 0
	Ahead       bool // the days ahead are wanted too
	Now         time.Time
	Was         Memory // of the last answer
}

// Memory is what a provider wants to be reminded of.
type Memory struct {
	Modified string `json:"modified,omitempty"` // Last-Modified, as it was sent
	Digest   string `json:"digest,omitempty"`   // of files
}

// Answer is what a provider says.
type Answer struct {
	Unchanged bool // since the memory that it was reminded of; then there are no series
	Series    []Series

	// Whole says that each series is all that its source has: what it had before
	// and has no more was withdrawn.
	Whole bool

	Memory  Memory
	Expires time.Time // not to be asked again before; zero: not said
	Notes   []string  // for the service's keeper
}

// Later is an error of a provider that is not to be asked before a time.
type Later struct {
	Until time.Time
	Why   string
}

func (e *Later) Error() string {
	return fmt.Sprintf("%s; not to be asked before %s", e.Why, e.Until.UTC().Format(time.RFC3339))
}

// Refused is an error that asking the same again does not mend.
type Refused struct{ Why string }

func (e *Refused) Error() string { return e.Why }
