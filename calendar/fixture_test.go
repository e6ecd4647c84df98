package calendar

import (
	"math"
	"testing"
	"time"

	"budswell/climate"
	"budswell/climate/phenology"
)

func day(t testing.TB, s string) climate.Date {
	t.Helper()
	d, err := climate.ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// place is a site whose weather is a sine of the year: mean and half range of
// the daily mean, C; every member is a little warmer than the one before it, so
// that all dates are spread.
type place struct {
	lat, mean, half float64
	members         int
	step            float64 // C from member to member
}

func (p place) outlook(t testing.TB, on string) *climate.Outlook {
	t.Helper()
	site := climate.Site{Name: "bench", Lat: p.lat, Lon: 9, Elevation: 300, Zone: "UTC"}
	issue := day(t, on)
	o := &climate.Outlook{Site: site, Issue: issue, First: site.SeasonStart(site.Season(issue)-1) - 122}
	n := int(issue+750-o.First) + 1
	for i := range p.members {
		m := climate.Member{Tmin: make([]float64, n), Tmax: make([]float64, n)}
		for k := range n {
			d := o.First + climate.Date(k)
			warmest := 197.0 // mid July
			if site.Southern() {
				warmest = 15
			}
			mean := p.mean + p.half*math.Cos(2*math.Pi*(float64(d.YearDay())-warmest)/365.25) + p.step*float64(i)
			m.Tmin[k], m.Tmax[k] = mean-5, mean+5
		}
		o.Members = append(o.Members, m)
	}
	return o
}

// fixed forecasts every phase on the same day of the season, a day later from
// draw to draw.
func fixed(site climate.Site, draws int, days map[phenology.Phase]int) func(phenology.Habit, string, int) (*phenology.Season, error) {
	return func(_ phenology.Habit, _ string, year int) (*phenology.Season, error) {
		s := &phenology.Season{Year: year, Phases: map[phenology.Phase]phenology.Forecast{}}
		for ph, d := range days {
			dates := make(climate.Sample, draws)
			for i := range dates {
				dates[i] = site.SeasonStart(year) + climate.Date(d+i)
			}
			s.Phases[ph] = phenology.Forecast{Dates: dates, Why: "fixed."}
		}
		return s, nil
	}
}

var usualDays = map[phenology.Phase]int{
	phenology.BudSwell: 80, phenology.BudBreak: 95, phenology.LeafOut: 103, phenology.LeavesHardened: 150,
	phenology.AutumnColour: 290, phenology.LeafFall: 310, phenology.Dormant: 325,
	phenology.CandlesExtending: 120, phenology.NeedlesSeparating: 150, phenology.NeedlesHardened: 200,
}

var (
	maple = &Species{Name: "Acer campestre", Common: []string{"field maple"}, Group: phenology.Deciduous, Flush: phenology.Middle, Answers: middling}
	pine  = &Species{Name: "Pinus sylvestris", Common: []string{"Scots pine"}, Group: phenology.SingleFlushPine}
)

// smallLore is a lore of a few works and rules, enough for every kind of need.
func smallLore() *Lore {
	at := func(ph phenology.Phase, days int) Anchor { return Anchor{At: AtPhase, Phase: ph, Days: days} }
	yes := true
	return &Lore{
		Species: []Species{*maple, *pine},
		Works: []Work{
			{ID: WorkCollect, Title: "Collect", Class: Collecting, Hard: HardOnRoots, Also: []string{"collected"}},
			{ID: WorkRepot, Title: "Repot", Class: Roots, Hard: HardOnRoots},
			{ID: WorkRootFlare, Title: "Inspect the root flare", Class: Roots},
			{ID: WorkPotChange, Title: "Change the pot", Class: Roots, Hard: HardOnRoots},
			{ID: WorkFirstStyle, Title: "First styling", Class: Branches, Hard: HardOnBranches},
			{ID: WorkSecondStyle, Title: "Second styling", Class: Branches, Hard: HardOnBranches},
			{ID: "heavy-prune", Title: "Prune heavily", Class: Branches, Hard: HardOnBranches},
			{ID: WorkWire, Title: "Wire", Class: Wire},
			{ID: "wire-check", Title: "Check the wire", Class: Wire},
			{ID: WorkUnwire, Title: "Take the wire off", Class: Wire},
			{ID: "feed", Title: "Feed", Class: Feeding},
			{ID: "shelter", Title: "Into winter shelter", Class: Protection},
			{ID: WorkShow, Title: "Show", Class: Showing},
		},
		Stages: []StageTime{
			{ID: "resumes", Stage: StageCollected, Low: 0.25, Usual: 0.25, High: 0.25},
			{ID: "recovers", Stage: StageRecovering, Low: 1, Usual: 1, High: 2},
			{ID: "ramifies", Stage: StageBuilding, Low: 2, Usual: 3, High: 4},
			{ID: "ramifies-pine", Stage: StageBuilding, For: Scope{Groups: []phenology.Group{phenology.SingleFlushPine}}, Low: 1, Usual: 2, High: 3},
			{ID: "holds", Stage: StageSecondStyling, Low: 1, Usual: 1, High: 1},
			{ID: "refines", Stage: StageRefining, Low: 2, Usual: 2, High: 3},
		},
		Cautions: []Caution{{ID: "look-first", Text: "Look at the tree first."}},
		Rules: []Rule{
			{
				ID: "repot", Work: WorkRepot, Opens: at(phenology.BudSwell, 0), Closes: at(phenology.LeafOut, -1), Rest: 1,
				Needs: []Need{{Strength: Strong}, {Since: AnyRootWork, Seasons: 2}}, Why: "Roots heal now.",
			},
			{
				ID: "style", Work: WorkFirstStyle, For: Scope{Stages: []Stage{StageBaseWork, StageFirstStyling}}, Opens: at(phenology.LeavesHardened, 0), Closes: at(phenology.LeavesHardened, 28),
				Rest: 1, Once: true, Needs: []Need{{Stage: StageFirstStyling}, {Done: WorkRepot}, {Strength: Strong}},
			},
			{
				ID: "prune", Work: "heavy-prune", Opens: at(phenology.LeavesHardened, 0), Closes: at(phenology.LeavesHardened, 28),
				For: Scope{Stages: []Stage{StageBuilding}}, Rest: 1, Needs: []Need{{Strength: Strong}}, Excludes: []string{AnyRootWork},
			},
			{
				ID: "feed", Work: "feed", Opens: at(phenology.LeafOut, 0), Closes: Anchor{At: AtMidsummer, Days: 55}, Every: 14,
				Needs: []Need{{Since: AnyRootWork, Weeks: 6}}, Cautions: []string{"look-first"},
			},
			{
				ID: "check", Work: "wire-check", Opens: at(phenology.BudBreak, 0), Closes: at(phenology.LeafFall, 0), Every: 14,
				Needs: []Need{{Wired: &yes}},
			},
			{
				ID: "shelter", Work: "shelter", Opens: Anchor{At: AtFirstFrost, Days: -14}, Closes: Anchor{At: AtFirstFrost},
			},
		},
	}
}

const draws = 20

func smallPlanner(t testing.TB, p place, on string) *Planner {
	o := p.outlook(t, on)
	return newPlanner(smallLore(), o, draws, fixed(o.Site, draws, usualDays))
}

// smallPlannerOf plans at the temperate place by a lore.
func smallPlannerOf(t testing.TB, l *Lore, on string) *Planner {
	o := temperate.outlook(t, on)
	return newPlanner(l, o, draws, fixed(o.Site, draws, usualDays))
}

var (
	temperate = place{lat: 50, mean: 9, half: 9.5, members: 10, step: 0.1}
	southern  = place{lat: -35, mean: 13, half: 8, members: 10, step: 0.1}
	tropical  = place{lat: 3, mean: 27, half: 1, members: 10, step: 0.1}
	icy       = place{lat: 82, mean: -20, half: 15, members: 10, step: 0.1}
)

// did makes an entry of work, saw of a phase, judged of a judgement.
func did(t testing.TB, on, work string) Entry { return Entry{On: day(t, on), Did: work} }

func saw(t testing.TB, on string, p phenology.Phase) Entry { return Entry{On: day(t, on), Saw: p} }

func judged(t testing.TB, on string, s Stage, w Strength) Entry {
	return Entry{On: day(t, on), Judged: &Judgement{Stage: s, Strength: w}}
}

func date(y int, m time.Month, d int) climate.Date { return climate.NewDate(y, m, d) }
