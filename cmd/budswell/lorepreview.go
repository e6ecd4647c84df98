package main

import (
	"context"
	"fmt"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

type lorePreviewCommand struct {
	Plan  string        `arg:"" type:"existingfile" help:"YAML file of site, weather, trees and log, and of the lore that it goes by now."`
	Files []string      `arg:"" type:"existingfile" help:"YAML files of lore, laid over that."`
	On    *climate.Date `help:"The day to plan from; today when not given." placeholder:"DATE"`
}

// Run plans the trees without the files and with them, and prints what changes.
func (c *lorePreviewCommand) Run(ctx context.Context, p program) error {
	text, err := readFile(c.Plan)
	if err != nil {
		return err
	}
	ground, err := planGround(c.Plan, text)
	if err != nil {
		return err
	}
	files, err := loreFiles(c.Files)
	if err != nil {
		return err
	}
	changed, left := ground.With(files)
	var faults lore.Faults
	for _, l := range left {
		faults = append(faults, l.Faults...)
	}
	if len(faults) > 0 {
		return faults
	}
	file, known, weather, on, err := readToPlan(ctx, p, c.Plan, c.On)
	if err != nil {
		return err
	}
	plans := make([]*calendar.Plan, 2)
	for i, l := range []*calendar.Lore{known, changed} {
		if plans[i], err = planFile(file, l, weather, on); err != nil {
			return fmt.Errorf("%s: %w", c.Plan, err)
		}
	}
	return calendar.Differ(plans[0], plans[1]).WriteText(p.stdout)
}
