package main

import (
	"context"
	"fmt"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/wording"
)

type planCommand struct {
	File  string        `arg:"" type:"existingfile" help:"YAML file of site, weather, trees and log."`
	On    *climate.Date `help:"The day to plan from; today when not given." placeholder:"DATE"`
	Years int           `help:"Print each tree's years to the bench instead, so many ahead, 1 to 15." placeholder:"N"`
	JSON  bool          `name:"json" help:"Print JSON." xor:"form"`
	ICS   bool          `name:"ics" help:"Print an iCalendar feed." xor:"form"`
}

// Run prints the plan.
func (c *planCommand) Run(ctx context.Context, p program) error {
	file, known, weather, on, err := readToPlan(ctx, p, c.File, c.On)
	if err != nil {
		return err
	}
	if c.Years != 0 {
		return c.years(p, file, known, weather, on)
	}
	plan, err := planFile(file, known, weather, on)
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if file.Hours != nil {
		plan.Agenda = plan.Fit(file.Hours, nil)
	}
	switch {
	case c.JSON:
		return writeJSON(p.stdout, plan)
	case c.ICS:
		return writeFeed(p, file.Site.Name, plan)
	}
	return plan.WriteText(p.stdout)
}

// years prints the roadmaps of the trees.
func (c *planCommand) years(p program, file *calendar.File, known *calendar.Lore, weather *climate.Weather, on climate.Date) error {
	if c.ICS {
		return fmt.Errorf("--years prints text or JSON, no feed: leave --ics out: %w", errUsage)
	}
	years, err := yearsOfFile(file, known, weather, on, calendar.RoadmapOptions{Years: c.Years})
	if err != nil {
		return fmt.Errorf("%s: %w", c.File, err)
	}
	if c.JSON {
		return writeJSON(p.stdout, years)
	}
	return years.WriteText(p.stdout)
}

// writeFeed writes a plan as iCalendar. Nothing is kept between two runs, so
// every event is as of the day of the plan; the service counts its changes.
func writeFeed(p program, name string, plan *calendar.Plan) error {
	owner := "file " + name
	c := ics.Calendar{
		UID: ics.UID(owner, "feed", ""), Name: name,
		Description: "Work on trees in its season. Dates are forecasts and move with the weather: look at the tree first.",
		Entries:     ics.Entries(wording.English, owner, plan, ""),
	}
	if c.Name == "" {
		c.Name = "budswell"
	}
	revisions := map[string]calendar.Revision{}
	for _, r := range c.Digests() {
		r.Modified = plan.On.Time()
		revisions[r.UID] = r
	}
	text, err := c.Bytes(revisions)
	if err != nil {
		return err
	}
	_, err = p.stdout.Write(text)
	return err
}
