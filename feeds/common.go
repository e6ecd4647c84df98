package feeds

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash"
	"math"
	"slices"
	"sync"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// mostCommon is how many outlooks are kept for growers whose site and weather are the
// same. One takes about twenty megabytes with what was forecast from it. Mornings go
// site by site, so that few are enough.
const mostCommon = 6

// commons are the outlooks of days and places, by all that they are made from: growers of
// one club stand at one site with the same weather. What a grower's own trees
// taught is never in them.
type commons struct {
	lore  *calendar.Lore
	shelf shelf[*commonOutlook]
}

// commonOutlook is an outlook with the planner of trees in the open of which nothing was seen.
type commonOutlook struct {
	outlook *climate.Outlook // of a site without a name
	unseen  func() (*unseen, error)
}

// unseen is a planner and its forecaster that learned nothing.
type unseen struct {
	planner    *calendar.Planner
	forecaster *phenology.Forecaster
}

func newCommons(lore *calendar.Lore) *commons {
	return &commons{lore: lore, shelf: shelf[*commonOutlook]{most: mostCommon}}
}

// of returns what is common to all who have such a site and weather on a day, and
// its outlook with the name that this grower gave the site.
func (c *commons) of(site climate.Site, w *climate.Weather, on climate.Date) (*commonOutlook, *climate.Outlook, error) {
	nameless := site
	nameless.Name = ""
	key, err := weatherKey(nameless, w, on)
	if err != nil {
		return nil, nil, err
	}
	at, err := c.shelf.get(key, func(*commonOutlook) bool { return true }, func(*commonOutlook, bool) (*commonOutlook, error) {
		o, err := w.Outlook(nameless, on)
		if err != nil {
			return nil, err
		}
		return &commonOutlook{o, sync.OnceValues(func() (*unseen, error) {
			f, err := phenology.NewForecaster(o, nil)
			if err != nil {
				return nil, err
			}
			return &unseen{calendar.NewPlanner(c.lore, o, f), f}, nil
		})}, nil
	})
	if err != nil {
		return nil, nil, err
	}
	own := *at.outlook
	own.Site = site
	return at, &own, nil
}

// unwatched reports whether nothing was seen of trees.
func unwatched(trees []calendar.Tree) bool {
	return !slices.ContainsFunc(trees, func(t calendar.Tree) bool {
		return slices.ContainsFunc(t.Log, func(e calendar.Entry) bool { return e.Saw != "" || e.NotYet != "" })
	})
}

// weatherKey tells the weather of a site on a day from all others, to the last bit.
func weatherKey(site climate.Site, w *climate.Weather, on climate.Date) (string, error) {
	h := sha256.New()
	e := json.NewEncoder(h)
	if err := e.Encode([]any{site, on, w.Normals, w.Frost, w.Seed, w.Lapse}); err != nil {
		return "", fmt.Errorf("weather of %q: %w", site.Name, err)
	}
	for _, r := range []*climate.Record{w.Record, w.Forecast} {
		if err := e.Encode(r != nil); err != nil {
			return "", err
		}
		if r == nil {
			continue
		}
		if err := e.Encode([]any{r.Source, r.First, r.Notes, r.Spans, len(r.Days)}); err != nil {
			return "", err
		}
		writeDays(h, r.Days)
	}
	return string(h.Sum(nil)), nil
}

// writeDays writes days bit by bit: JSON has no word for what is missing.
func writeDays(h hash.Hash, days []climate.Day) {
	var b []byte
	for i := range days {
		d := &days[i]
		for _, v := range [...]float64{d.Tmin, d.Tmax, d.Prcp} {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
		b = append(b, byte(d.TminOrigin), byte(d.TmaxOrigin), byte(d.PrcpOrigin))
	}
	h.Write(b)
}
