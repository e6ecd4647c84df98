package calendar

// RootsStand returns the root-zone temperature, C, that potted roots of the
// species stand; where it is not known, a cautious value.
func (s *Species) RootsStand() float64 {
	switch {
	case s.RootsKilledBelow != nil:
		return *s.RootsKilledBelow
	case s.Has(FrostHardyRoots):
		return hardyRootsStand
	}
	return rootsStand
}
