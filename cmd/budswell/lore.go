package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate/phenology"
)

type loreCommand struct {
	Check loreCheckCommand `cmd:"" help:"Check species and rules, the embedded ones and those in files."`
	Show  loreShowCommand  `cmd:"" help:"List the species, or show one with its rules."`

	Preview lorePreviewCommand `cmd:"" help:"Print what files of lore change for the trees of a plan file."`
}

type loreCheckCommand struct {
	Files []string `arg:"" optional:"" type:"existingfile" help:"YAML files that add, amend or override species, works, rules, cautions, stages or setbacks."`
}

// Run checks the lore; every fault is named with its file, line and column.
func (c *loreCheckCommand) Run(p program) error {
	files, err := loreFiles(c.Files)
	if err != nil {
		return err
	}
	known, err := lore.Read(files...)
	if err != nil {
		return err
	}
	fmt.Fprintf(p.stdout, "%d species of %d genera, %d kinds of work, %d rules, %d cautions, %d pests: no fault found\n",
		len(known.Species), len(known.Genera), len(known.Works), len(known.Rules), len(known.Cautions), len(known.Pests))
	return nil
}

// loreFiles reads a grower's or club's own lore.
func loreFiles(paths []string) ([]lore.File, error) {
	files := make([]lore.File, len(paths))
	for i, path := range paths {
		text, err := readFile(path)
		if err != nil {
			return nil, err
		}
		files[i] = lore.File{Name: path, Text: text}
	}
	return files, nil
}

type loreShowCommand struct {
	Species string `arg:"" optional:"" help:"Species, by any of its names."`
}

// Run shows the lore.
func (c *loreShowCommand) Run(p program) error {
	if c.Species == "" {
		known, err := lore.Load()
		if err != nil {
			return err
		}
		return listSpecies(p.stdout, known)
	}
	known, species, err := findSpecies(c.Species)
	if err != nil {
		return err
	}
	return showSpecies(p.stdout, known, species)
}

func listSpecies(w io.Writer, known *calendar.Lore) error {
	for _, group := range phenology.Groups() {
		fmt.Fprintf(w, "%s\n", group)
		t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
		for _, s := range known.Species {
			if s.Group == group {
				fmt.Fprintf(t, "  %s\t%s\t%s\n", s.Name, s.Flush, strings.Join(s.Common, ", "))
			}
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	return nil
}

func showSpecies(w io.Writer, known *calendar.Lore, s *calendar.Species) error {
	fmt.Fprintf(w, "%s", s.Name)
	if len(s.Common) > 0 {
		fmt.Fprintf(w, " (%s)", strings.Join(s.Common, ", "))
	}
	fmt.Fprintln(w)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, r := range speciesRows(s) {
		source := s.Source
		if own, ok := s.Sources[r.field]; ok {
			source = own
		}
		if r.value == "" {
			r.value, source = "not known", "the plan takes the cautious side"
		}
		fmt.Fprintf(t, "  %s\t%s\t%s\n", r.name, r.value, source)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, id := range s.Pests {
		if p, ok := known.PestByID(id); ok {
			fmt.Fprintf(w, "  look for %s: %s (%s)\n", p.Name, p.Look, p.Source)
		}
	}
	for i := range known.Rules {
		r := &known.Rules[i]
		if !r.For.MatchesSpecies(s) {
			continue
		}
		showRule(w, known, r, s)
	}
	return nil
}

// speciesRow is a field of a species with its value in words; empty where not known.
type speciesRow struct{ field, name, value string }

func speciesRows(s *calendar.Species) []speciesRow {
	rows := []speciesRow{
		{"group", "grows as", string(s.Group)},
		{"flush", "opens", string(s.Flush)},
	}
	if s.FlowerWeeks != nil {
		rows = append(rows, speciesRow{"flower_weeks", "flowers", fmt.Sprintf("%g weeks after leaf-out", *s.FlowerWeeks)})
	}
	repot, poison, pests := "", "", ""
	if r := s.Repot; r != nil {
		repot = fmt.Sprintf("every %g growing seasons young, %g building, %g refined", r.Young, r.Building, r.Refined)
	}
	if p := s.Poison; p != nil {
		poison = "none that is known of"
		if len(p.Parts) > 0 {
			poison = strings.Join(p.Parts, ", ")
		}
	}
	if s.Pests != nil {
		pests = "none listed"
		if len(s.Pests) > 0 {
			pests = strings.Join(s.Pests, ", ")
		}
	}
	traits := "none"
	if len(s.Traits) > 0 {
		names := make([]string, len(s.Traits))
		for i, v := range s.Traits {
			names[i] = string(v)
		}
		traits = strings.Join(names, ", ")
	}
	return append(
		rows,
		speciesRow{"crown_hardy", "crown stands", degrees(s.CrownHardy)},
		speciesRow{"roots_killed_below", "potted roots stand", degrees(s.RootsKilledBelow)},
		speciesRow{"new_growth", "new growth in frost", string(s.NewGrowth)},
		speciesRow{"repot", "repot", repot},
		speciesRow{"root_work", "answers root work", string(s.RootWork)},
		speciesRow{"back_buds", "buds on old wood", string(s.BackBuds)},
		speciesRow{"bleeding", "bleeds", string(s.Bleeding)},
		speciesRow{"poison", "poisonous", poison},
		speciesRow{"pests", "pests", pests},
		speciesRow{"traits", "traits", traits},
	)
}

func degrees(v *float64) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf("%g °C", *v)
}

func showRule(w io.Writer, known *calendar.Lore, r *calendar.Rule, s *calendar.Species) {
	title := r.Title
	if work, ok := known.WorkByID(r.Work); ok && title == "" {
		title = work.Title
	}
	fmt.Fprintf(w, "\n%s (%s", title, r.ID)
	if r.Variant != "" {
		fmt.Fprintf(w, "; a variant: %s", r.Variant)
	}
	if r.Instead != "" {
		fmt.Fprintf(w, ", instead of %s", r.Instead)
	}
	fmt.Fprintln(w, ")")
	if len(r.For.Stages) > 0 {
		stages := make([]string, len(r.For.Stages))
		for i, v := range r.For.Stages {
			stages[i] = string(v)
		}
		fmt.Fprintf(w, "  stages: %s\n", strings.Join(stages, ", "))
	}
	fmt.Fprintf(w, "  from %s\n  to %s\n", r.Opens.Words(), r.Closes.Words())
	if r.Every > 0 {
		fmt.Fprintf(w, "  every %d days\n", r.Every)
	}
	for _, line := range []struct{ head, text string }{
		{"shown", looks(r)},
		{"why", r.Why},
		{"not when", r.Not},
		{"when missed", r.TooLate},
		{"needs", strings.Join(r.Materials, ", ")},
		{"takes", fmt.Sprintf("%d minutes", r.Minutes)},
		{"source", r.Source},
	} {
		if line.text != "" {
			fmt.Fprintf(w, "  %s: %s\n", line.head, line.text)
		}
	}
	for _, caution := range known.CautionTexts(r, s) {
		fmt.Fprintf(w, "  caution: %s\n", caution)
	}
}

// looks says for which looks of a show a rule is, nothing for rules that hang on none.
func looks(r *calendar.Rule) string {
	var out []string
	for _, l := range r.For.Looks {
		out = append(out, l.Words())
	}
	if r.ForShow() && len(out) == 0 {
		return "with any look"
	}
	return strings.Join(out, ", ")
}
