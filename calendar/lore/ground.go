package lore

import (
	"slices"

	"budswell/calendar"
	"budswell/climate"
)

// Ground is lore without a fault, over which clubs and growers lay theirs. It may be
// used by several goroutines at once.
type Ground struct {
	set  *set // unchecked: to check it fills in what rows leave out
	lore *calendar.Lore
}

// NewGround returns the lore that is part of the program, with files laid over it. All
// faults of all files are returned at once, as [Faults].
func NewGround(files ...File) (*Ground, error) {
	own, err := readBuiltin()
	if err != nil {
		return nil, err
	}
	g := &Ground{set: own.clone()}
	for _, f := range files {
		g.set.read(f, 1)
	}
	l, faults := checked(g.set)
	if err := faults.err(g.set.files); err != nil {
		return nil, err
	}
	g.lore = l
	return g, nil
}

// checked checks a copy of a set and returns what it makes.
func checked(s *set) (*calendar.Lore, *faultList) {
	c := s.clone()
	c.check()
	return c.lore(), &c.faults
}

// Lore returns the lore of the ground. It must not be changed.
func (g *Ground) Lore() *calendar.Lore { return g.lore }

// Left is a file that was left out, since with it the lore would have a fault.
type Left struct {
	File   File
	Faults Faults
}

// With lays layers over the ground, the lowest first: what a file says holds over what
// lower layers say of the same id. A file with a fault, in itself or by what it does to
// what is below or beside it, is left out as a whole, and the others hold without it.
// The lore that is returned must not be changed: parts of it are shared.
func (g *Ground) With(layers ...[]File) (*calendar.Lore, []Left) {
	var all []laid
	for i, files := range layers {
		for _, f := range files {
			all = append(all, laid{file: f, layer: 2 + i, in: true})
		}
	}
	if len(all) == 0 {
		return g.lore, nil
	}
	l, faults := checked(g.lay(all))
	if len(faults.all) == 0 {
		return l, nil
	}
	return g.fault(all)
}

// laid is a file in its layer.
type laid struct {
	file   File
	layer  int
	in     bool
	faults Faults
}

// lay reads those that are in over the ground.
func (g *Ground) lay(all []laid) *set {
	s := g.set.clone()
	for i := range all {
		if all[i].in {
			s.read(all[i].file, all[i].layer)
		}
	}
	return s
}

// mostPasses is how often files that were left out are tried again, when one that they
// may need has been taken.
const mostPasses = 3

// fault takes files in their order and leaves out those with which a fault comes.
func (g *Ground) fault(all []laid) (*calendar.Lore, []Left) {
	for i := range all {
		all[i].in = false
	}
	l := g.lore
	for pass, more := 0, true; more && pass < mostPasses; pass++ {
		var out []*laid
		for i := range all {
			if !all[i].in {
				out = append(out, &all[i])
			}
		}
		more = g.take(all, out, &l)
	}
	var left []Left
	for i := range all {
		if !all[i].in {
			left = append(left, Left{all[i].file, all[i].faults})
		}
	}
	return l, left
}

// take takes those of some files with which no fault comes, and reports whether it took
// any. All at once are tried first, then each half: to check takes long, and few are wrong.
func (g *Ground) take(all []laid, some []*laid, l **calendar.Lore) bool {
	if len(some) == 0 {
		return false
	}
	for _, a := range some {
		a.in = true
	}
	s := g.lay(all)
	with, faults := checked(s)
	if len(faults.all) == 0 {
		*l = with
		return true
	}
	for _, a := range some {
		a.in = false
	}
	if len(some) == 1 {
		_ = faults.err(s.files) // sorts them
		some[0].faults = slices.Clone(faults.all)
		return false
	}
	half := len(some) / 2
	first := g.take(all, some[:half], l)
	return g.take(all, some[half:], l) || first
}

// Archived returns the lore with a grower's archived rules laid over it, and over layers
// that lie below them; those with a fault are left out.
func (g *Ground) Archived(own []calendar.ArchiveRule, below ...[]File) *calendar.Lore {
	var files []File
	for _, r := range own {
		files = append(files, File{Name: r.Subject, Text: []byte(r.Text), From: calendar.From{Layer: calendar.LayerGrower, Since: climate.DateOf(r.Since.UTC())}})
	}
	l, _ := g.With(append(slices.Clone(below), files)...)
	return l
}
