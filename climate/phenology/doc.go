// Package phenology forecasts when a tree's phases fall: buds swell, break, open
// into leaves, leaves harden, colour and fall. A forecast is a distribution: the
// weather known so far and every way an [climate.Outlook] lets it go on, through
// bud-burst models averaged by weight, moved by what people saw at the place.
//
// The package knows kinds of trees, by the way they grow, and sightings; nothing
// of trees kept by anyone, of work, or of rules.
package phenology
