package calendar

import "budswell/climate"

// WorkGone says in a log that the tree has died, or was sold or given away. From that day on it
// is in no plan; its log stays, and taking the entry back brings it back.
const WorkGone = "gone"

// GoneBy reports whether the log says, up to a day, that the tree is gone.
func (t *Tree) GoneBy(on climate.Date) bool {
	for _, e := range t.Log {
		if e.Did == WorkGone && e.On.Valid() && e.On <= on {
			return true
		}
	}
	return false
}

// stillThere returns the trees that are not gone by a day.
func stillThere(trees []Tree, on climate.Date) []Tree {
	var out []Tree
	for i := range trees {
		if !trees[i].GoneBy(on) {
			out = append(out, trees[i])
		}
	}
	return out
}
