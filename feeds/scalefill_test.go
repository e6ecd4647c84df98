package feeds

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/climate/phenology"
)

// population is growers that nobody knows: what they keep follows from the seed
// and their number alone, so that a database can be filled piece by piece.
type population struct {
	seed    uint64
	growers int
	today   climate.Date
	lore    *calendar.Lore
	sites   map[int]*calendar.Place // as they were made
}

// growersASite is how many growers stand at one site: members of a club, who have
// its weather.
const growersASite = 20

func newPopulation(growers int, today climate.Date) (*population, error) {
	known, err := lore.Load()
	return &population{seed: 7, growers: growers, today: today, lore: known, sites: map[int]*calendar.Place{}}, err
}

func (p *population) siteCount() int { return max(1, p.growers/growersASite) }

func (p *population) random(kind, i int) *rand.Rand {
	return rand.New(rand.NewPCG(p.seed, uint64(kind)<<32|uint64(i)))
}

// lands are where sites lie, with the share of them: degrees, from and to.
var lands = []struct {
	share                      int
	south, north, west, easter float64
}{{55, 44, 58, -4, 25}, {20, 34, 47, -122, -72}, {15, 30, 42, 110, 141}, {10, -43, -31, 115, 178}}

// site makes the place of number i: a third of them know typical years only, a third
// have three years of readings and a third twelve, to yesterday.
func (p *population) site(i int) (*calendar.Place, error) {
	if s := p.sites[i]; s != nil {
		return s, nil
	}
	r := p.random(1, i)
	land := lands[0]
	for n, k := r.IntN(100), 0; n >= 0; k++ {
		land = lands[k]
		n -= land.share
	}
	var at *atlas.Climate
	for try := 0; at == nil; try++ {
		lat, lon := land.south+r.Float64()*(land.north-land.south), land.west+r.Float64()*(land.easter-land.west)
		found, err := atlas.At(math.Round(lat*100)/100, math.Round(lon*100)/100, nil)
		if err != nil && try > 1000 {
			return nil, err
		}
		if err == nil {
			at = found
		}
	}
	zone, err := atlas.Zone(at.Lat, at.Lon)
	if err != nil {
		return nil, err
	}
	s := &calendar.Place{ID: "yard", Site: climate.Site{Name: fmt.Sprintf("yard %d", i), Lat: at.Lat, Lon: at.Lon, Elevation: at.Elevation, Zone: zone}}
	s.Weather = climate.Weather{Normals: &at.Normals, Seed: uint64(i) + 1}
	s.Benches = []calendar.Bench{{ID: "frame", Name: "cold frame", Exposure: climate.ColdFrame}}
	if years := []int{0, 3, 12}[i%3]; years > 0 {
		if s.Weather.Record, err = p.record(s, years); err != nil {
			return nil, err
		}
	}
	p.sites[i] = s
	return s, nil
}

// record makes up years of readings out of generated weather.
func (p *population) record(s *calendar.Place, years int) (*climate.Record, error) {
	typical := climate.Weather{Normals: s.Weather.Normals, Seed: s.Weather.Seed}
	r := &climate.Record{Source: "made up", First: p.today - climate.Date(365*years)}
	for r.Last() < p.today-1 || len(r.Days) == 0 {
		from := r.First + climate.Date(len(r.Days))
		o, err := typical.Outlook(s.Site, from)
		if err != nil {
			return nil, err
		}
		m := &o.Members[len(r.Days)%len(o.Members)]
		for d := from; d < min(from+730, p.today); d++ {
			k := d - o.First
			r.Days = append(r.Days, climate.Day{Tmin: m.Tmin[k], Tmax: m.Tmax[k], Prcp: float64(k%7) * 1.5, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured, PrcpOrigin: climate.Measured})
		}
	}
	return r, nil
}

// The species that growers keep, the common ones oftener.
var speciesKept = []string{
	"Acer campestre", "Acer campestre", "Pinus sylvestris", "Pinus sylvestris", "Pinus sylvestris", "Pinus mugo", "Pinus mugo", "Larix decidua", "Larix decidua",
	"Juniperus sabina", "Juniperus chinensis", "Juniperus chinensis", "Carpinus betulus", "Carpinus betulus", "Fagus sylvatica", "Picea abies", "Crataegus monogyna",
	"Prunus spinosa", "Ulmus minor", "Taxus baccata", "Taxus baccata", "Acer palmatum", "Pinus nigra", "Pinus thunbergii", "Quercus robur", "Buxus sempervirens", "Olea europaea",
	"Juniperus communis", "Pinus parviflora", "Malus sylvestris",
}

// grower is all of one grower.
type grower struct {
	calendar.Grower
	place  calendar.Place
	trees  []calendar.Kept
	feeds  []calendar.Feed
	tokens []string // of the feeds
	secret string   // of the program's password; empty: none
	hours  *calendar.Hours
	shows  []calendar.Show
}

func (p *population) id(i int) string { return fmt.Sprintf("grower-%05d", i) }

// of makes grower i: forty trees on average, at least four, few of them many; logs
// of one to twelve years. A third of the growers write down what they see, a tenth
// tell their hours, one in twenty enters trees for a show.
func (p *population) of(i int) (*grower, error) {
	site, err := p.site(i % p.siteCount())
	if err != nil {
		return nil, err
	}
	r := p.random(2, i)
	g := &grower{Grower: calendar.Grower{ID: p.id(i), Name: p.id(i), KeyHash: HashSecret(fmt.Sprint("key ", i))}, place: *site}
	g.place.Grower = g.ID
	watches := r.IntN(3) == 0
	for n := range min(200, max(4, int(29.7*math.Exp(0.85*r.NormFloat64())))) {
		g.trees = append(g.trees, calendar.Kept{Grower: g.ID, Place: g.place.ID, Tree: p.tree(r, &g.place.Site, n, watches)})
	}
	for k := range 1 + r.IntN(4) {
		f := calendar.Feed{ID: fmt.Sprint("f", k), Grower: g.ID, Name: "work", Created: p.today.Time()}
		switch {
		case k == 1:
			f.Filter.Classes = []string{string(calendar.Roots), string(calendar.Branches)}
		case k == 2:
			f.Filter.Trees = []string{g.trees[0].ID, g.trees[1].ID}
		case k == 3:
			f.Filter.Works = []string{"repot"}
		}
		secret := madeSecret(r)
		f.TokenHash = HashSecret(secret)
		g.feeds, g.tokens = append(g.feeds, f), append(g.tokens, secret)
	}
	if r.IntN(20) == 0 {
		secret := madeSecret(r)
		g.feeds = append(g.feeds, calendar.Feed{ID: "years", Grower: g.ID, Name: "years", Created: p.today.Time(), Filter: calendar.Filter{Years: true}, TokenHash: HashSecret(secret)})
		g.tokens = append(g.tokens, secret)
	}
	if r.IntN(4) == 0 {
		g.secret = madeSecret(r)
	}
	if r.IntN(10) == 0 {
		g.hours = &calendar.Hours{Weekdays: [7]int{120, 0, 0, 60, 0, 0, 240}}
	}
	if r.IntN(20) == 0 {
		g.shows = []calendar.Show{{Name: "show", On: p.today + 300, Look: calendar.Evergreen, Trees: p.evergreens(g)}}
	}
	if len(g.shows) > 0 && len(g.shows[0].Trees) == 0 {
		g.shows = nil
	}
	return g, nil
}

func (p *population) evergreens(g *grower) (out []string) {
	for i := range g.trees {
		s, err := p.lore.SpeciesNamed(g.trees[i].Species)
		if err == nil && s.Group != phenology.Deciduous && s.Group != phenology.DeciduousConifer && len(out) < 2 {
			out = append(out, g.trees[i].ID)
		}
	}
	return out
}

func madeSecret(r *rand.Rand) string {
	var bytes [20]byte
	for i := range bytes {
		bytes[i] = byte(r.Uint32())
	}
	secret, _, err := NewSecret(&fixed{bytes[:]})
	if err != nil {
		panic(err)
	}
	return secret
}

// fixed gives the same bytes again and again.
type fixed struct{ bytes []byte }

func (f *fixed) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = f.bytes[i%len(f.bytes)]
	}
	return len(p), nil
}

// tree makes one with what was done to it and seen of it.
func (p *population) tree(r *rand.Rand, site *climate.Site, n int, watches bool) calendar.Tree {
	t := calendar.Tree{ID: fmt.Sprint("tree-", n), Name: fmt.Sprint("tree ", n), Species: speciesKept[r.IntN(len(speciesKept))], Origin: calendar.Collected, Container: calendar.Container{Kind: calendar.TrainingPot, Litres: float64(4 + r.IntN(30))}}
	years := 1 + r.IntN(12)
	season := site.Season(p.today)
	add := func(year, day int, e calendar.Entry) bool {
		if e.On = site.SeasonStart(year) + climate.Date(day); e.On >= p.today {
			return false
		}
		t.Log = append(t.Log, e)
		return true
	}
	share := func(v float64) *float64 { return &v }
	soil := 1.0
	add(season-years, 75+r.IntN(30), calendar.Entry{Did: "collect"})
	for year := season - years + 1; year <= season; year++ {
		if watches && r.IntN(3) > 0 {
			add(year, 85+r.IntN(25), calendar.Entry{Saw: phenology.BudSwell})
		}
		if age := year - (season - years); age >= 2 && age%3 == 2 {
			soil = max(0, soil-0.4)
			add(year, 96+r.IntN(12), calendar.Entry{Did: "repot", FieldSoilLeft: share(soil)})
		}
		add(year, 150+r.IntN(20), calendar.Entry{Did: "feed"})
		if year-(season-years) >= 4 && r.IntN(2) == 0 {
			add(year, 180+r.IntN(20), calendar.Entry{Did: "wire"})
			add(year, 290+r.IntN(20), calendar.Entry{Did: "unwire"})
		}
		if r.IntN(4) == 0 {
			add(year, 200, calendar.Entry{Did: "pest-check", Note: "A few aphids on the youngest shoots; washed off with water, looked again after a week."})
		}
	}
	return t
}

// fill puts grower i into the store, where it is not there yet.
func (p *population) fill(ctx context.Context, s calendar.Store, i int) error {
	g, err := p.of(i)
	if err != nil {
		return err
	}
	var errs []error
	put := func(err error) { errs = append(errs, err) }
	put(s.PutGrower(ctx, g.Grower))
	put(s.PutPlace(ctx, g.place))
	for _, t := range g.trees {
		put(s.PutTree(ctx, t))
	}
	for _, f := range g.feeds {
		put(s.PutFeed(ctx, f))
	}
	if g.secret != "" {
		err := s.PutPassword(ctx, calendar.Password{ID: "p", Grower: g.ID, Name: "phone", Hash: HashSecret(g.secret), Created: p.today.Time()})
		if !errors.Is(err, calendar.ErrConflict) { // it is there, from a piece that was killed
			put(err)
		}
	}
	put(s.PutHours(ctx, g.ID, g.hours))
	put(s.PutShows(ctx, g.ID, g.shows))
	for _, err := range errs {
		if err != nil {
			return fmt.Errorf("grower %s: %w", g.ID, err)
		}
	}
	return nil
}

// clubs puts a public region at each fifth site.
func (p *population) clubs(ctx context.Context, s calendar.Store) error {
	for i := 0; i < p.siteCount(); i += 5 {
		site, err := p.site(i)
		if err != nil {
			return err
		}
		err = s.PutRegion(ctx, calendar.Region{ID: fmt.Sprint("club-", i), Name: fmt.Sprint("club ", i), Bands: []calendar.Band{{ID: "all", Name: "All", Site: site.Site, Weather: site.Weather}}, Groups: []string{string(phenology.Deciduous), string(phenology.SingleFlushPine)}})
		if err != nil {
			return err
		}
	}
	return nil
}

// weather adds the day before on to what was read at the place of grower i, as the
// hourly question for weather does.
func (p *population) weather(ctx context.Context, s calendar.Store, i int, on climate.Date, got time.Time) error {
	site, err := p.site(i % p.siteCount())
	if err != nil || site.Weather.Record == nil {
		return err
	}
	days := site.Weather.Record.Days
	like := days[len(days)-300+int(on)%200]
	_, err = s.PutReadings(ctx, p.id(i), site.ID, climate.Series{Source: "made up", Kind: climate.FromStation, Readings: []climate.Reading{{On: on - 1, Tmin: like.Tmin, Tmax: like.Tmax, Prcp: like.Prcp, Got: got}}}, false)
	return err
}
