package feeds

import (
	"cmp"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"budswell/calendar"
	"budswell/feeds/ics"
)

// entriesBody is the name under which an edition keeps the events and tasks that it
// shows: all of them packed together, which say much the same, take a twentieth of what
// each would by itself.
const entriesBody = "entries"

// keptEntries packs what an edition shows, to be kept with it; where it shows what was
// shown before, that is taken as it is.
func (e *edition) keptEntries(was *edition) (calendar.Body, error) {
	if e.Number == was.Number {
		for _, b := range was.Bodies {
			if b.Name == entriesBody {
				return b, nil
			}
		}
	}
	// What says much the same stands together: half the size of any other order.
	list := slices.SortedFunc(maps.Values(e.entries()), func(a, b ics.Entry) int {
		return cmp.Or(cmp.Compare(a.Work, b.Work), cmp.Compare(a.Group, b.Group), cmp.Compare(a.First, b.First), cmp.Compare(a.UID, b.UID))
	})
	text, err := json.Marshal(list)
	if err != nil {
		return calendar.Body{}, err
	}
	packed, err := pack(text, gzip.BestSpeed) // it is written each morning, and read by us alone
	return calendar.Body{Name: entriesBody, Tag: tagOf(text), Packed: packed}, err
}

// entriesOf reads what an edition shows, by UID. An error tells of what could not be
// read of it.
func entriesOf(e *calendar.Edition) (map[string]ics.Entry, error) {
	out := make(map[string]ics.Entry, len(e.Shown))
	for _, b := range e.Bodies {
		if b.Name != entriesBody {
			continue
		}
		text, err := unpack(b.Packed)
		if err != nil {
			return out, err
		}
		var list []ics.Entry
		if err := json.Unmarshal(text, &list); err != nil {
			return out, err
		}
		for _, entry := range list {
			out[entry.UID] = entry
		}
		return out, nil
	}
	var failed error // an edition of a version that kept each by itself
	for _, v := range e.Shown {
		var entry ics.Entry
		if err := json.Unmarshal([]byte(v.State), &entry); err != nil {
			failed = fmt.Errorf("%s: %w", v.UID, err)
			continue
		}
		out[v.UID] = entry
	}
	return out, failed
}

// polled returns one feed of a grower as it is kept, nil where there is none of now: a
// poll reads no more of the store than what it sends.
func (s *Server) polled(ctx context.Context, grower, name string, now time.Time) (*body, error) {
	changes, err := s.cfg.Store.Changes(ctx, grower)
	if err != nil {
		return nil, err
	}
	kept, err := s.cfg.Store.EditionBody(ctx, "grower "+grower, name)
	if errors.Is(err, calendar.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if e := (&edition{Edition: kept}); !e.fresh(now, changes, s.by) || len(kept.Bodies) != 1 {
		return nil, nil
	}
	return keptBody(calendarKind, personCache, kept.Bodies[0]), nil
}
