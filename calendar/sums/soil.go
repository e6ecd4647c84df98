package sums

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// Component is one part of a mix.
type Component struct {
	Name string

	// Dry and Wet are what a litre weighs, loosely filled, as it comes from a dry
	// bag and after watering, kg. Held is the share of the volume that it holds in
	// water, drained, and Kept that which roots cannot draw any more, 0 to 1.
	Dry, Wet   float64
	Held, Kept float64

	// Sieved is the share lost to dust when it is sieved, 0 to 1.
	Sieved float64
}

// Components lists the parts of mixes that are known. Pine bark and peat weigh dry, and
// hold drained, what was measured of 0.18 and 0.11 kg/l, 48 and 87 % of the volume
// (International Journal of Agronomy 2012, 978528, Nitrogen Immobilization in Plant Growth
// Substrates, table 1), for fine nursery grades; the coarse bark of mixes holds less and the peat
// settles, so that lower shares stand here (judged). Of the mineral parts, weights and water are rounded
// means of grain sizes of 3 to 6 mm, from memory: bags differ by a quarter and
// more, weigh one. A shallow pot holds more for its volume than a deep one of the same mix
// (Owen and Altland 2008, HortScience 43(2), 505-508, for bark of cores of 4 to 15 cm); that is
// left out. What is lost to the sieve is common practice, no published
// source.
func Components() []Component {
	return []Component{
		{Name: "pumice", Dry: 0.50, Wet: 0.80, Held: 0.30, Kept: 0.10, Sieved: 0.15},
		{Name: "lava", Dry: 0.85, Wet: 1.05, Held: 0.20, Kept: 0.07, Sieved: 0.15},
		{Name: "baked clay", Dry: 0.65, Wet: 1.00, Held: 0.36, Kept: 0.14, Sieved: 0.20},
		{Name: "zeolite", Dry: 0.90, Wet: 1.15, Held: 0.26, Kept: 0.12, Sieved: 0.10},
		{Name: "perlite", Dry: 0.10, Wet: 0.35, Held: 0.25, Kept: 0.08, Sieved: 0.10},
		{Name: "grit", Dry: 1.50, Wet: 1.60, Held: 0.08, Kept: 0.02, Sieved: 0.05},
		{Name: "bark", Dry: 0.18, Wet: 0.50, Held: 0.32, Kept: 0.12, Sieved: 0.15},
		{Name: "peat", Dry: 0.11, Wet: 0.80, Held: 0.70, Kept: 0.25, Sieved: 0.05},
		{Name: "compost", Dry: 0.50, Wet: 0.90, Held: 0.45, Kept: 0.20, Sieved: 0.10},
	}
}

// ComponentNamed finds a component.
func ComponentNamed(name string) (Component, bool) {
	all := Components()
	if i := slices.IndexFunc(all, func(c Component) bool { return c.Name == name }); i >= 0 {
		return all[i], true
	}
	return Component{}, false
}

// Part is a component with how many parts of the mix it is, by volume.
type Part struct {
	Component
	Parts float64 // 0 to 100, not 0 for all
}

// Mix is what a tree is potted in.
type Mix []Part

// Check returns an [ErrRange] that says what of m is out of range.
func (m Mix) Check() error {
	total := 0.0
	var errs []error
	for _, p := range m {
		errs = append(errs, check(
			quantity{p.Name + " parts", p.Parts, 0, 100, ""},
			quantity{p.Name + " dry", p.Dry, 0.02, 3, "kg/l"},
			quantity{p.Name + " wet", p.Wet, p.Dry, 3, "kg/l"},
			quantity{p.Name + " held water", p.Held, 0, 0.95, ""},
			quantity{p.Name + " kept water", p.Kept, 0, p.Held, ""},
			quantity{p.Name + " sieved off", p.Sieved, 0, 0.9, ""},
		))
		total += p.Parts
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if total == 0 {
		return fmt.Errorf("mix: %w: want at least one part of something", ErrRange)
	}
	return nil
}

// mean returns the mean of a property by volume.
func (m Mix) mean(of func(Component) float64) float64 {
	sum, total := 0.0, 0.0
	for _, p := range m {
		sum += p.Parts * of(p.Component)
		total += p.Parts
	}
	return sum / total
}

// Available returns the share of the mix's volume that is water which roots can
// draw after it was watered and has drained.
func (m Mix) Available() float64 { return m.mean(func(c Component) float64 { return c.Held - c.Kept }) }

// Soil is what it takes to fill a vessel.
type Soil struct {
	Vessel float64 // litres that the vessel holds
	Fill   float64 // litres of sieved mix to fill it, settling included
	Buy    []Bag   // what that takes from the bag, heaviest first
	DryKg  float64 // of all of it, as bought
	WetKg  float64 // of vessel's filling and root ball when watered, without tree and pot
}

// Bag is how much of a component to have.
type Bag struct {
	Name   string
	Litres float64
	Kg     float64 // dry
}

// SoilFor returns what it takes to fill a vessel around a root ball of so many
// litres, 0 to the vessel's. Settling is the share by which loose mix goes down
// when it is worked in, 0.05 to 0.25; 0.10 to 0.15 is usual (common practice, no
// published source). The loose volume is the empty space / (1 - settling); what
// is sieved off is bought on top: litres / (1 - sieved). The root ball is reckoned as
// heavy as wet mix.
func SoilFor(v Vessel, ball float64, m Mix, settling float64) (Soil, error) {
	if err := errors.Join(v.Check(), m.Check()); err != nil {
		return Soil{}, err
	}
	holds := v.Litres()
	if err := check(quantity{"root ball", ball, 0, holds, "l"}, quantity{"settling", settling, 0.05, 0.25, ""}); err != nil {
		return Soil{}, err
	}
	s := Soil{Vessel: holds, Fill: (holds - ball) / (1 - settling)}
	total := 0.0
	for _, p := range m {
		total += p.Parts
	}
	for _, p := range m {
		if p.Parts == 0 {
			continue
		}
		litres := s.Fill * p.Parts / total / (1 - p.Sieved)
		s.Buy = append(s.Buy, Bag{Name: p.Name, Litres: litres, Kg: litres * p.Dry})
		s.DryKg += litres * p.Dry
	}
	slices.SortStableFunc(s.Buy, func(a, b Bag) int { return cmp.Compare(b.Kg, a.Kg) })
	wet := m.mean(func(c Component) float64 { return c.Wet })
	s.WetKg = s.Fill*wet + ball*wet
	return s, nil
}
