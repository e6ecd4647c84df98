// Package sample is the demonstration: a valley, its weather, a grower, trees and
// a club, all invented. No one lives there and nothing grows there.
//
// The files tell a story of years that ends with the year 2026. Whoever loads
// them moves all its days by whole years, so that its last year is the present
// one, and leaves out what would lie after today; so there is something to do
// on whatever day the demonstration is started.
package sample

import "embed"

// Names of the files.
const (
	Plan  = "quernthal.yaml"        // a plan file: site, trees, log, feeds, region
	Club  = "quernthal-circle.yaml" // the club that publishes the region, and who is in it
	Story = 2026                    // the last year of the story
)

// Files holds them, the plan files of the club's members, and the station file that all name.
//
//go:embed *.yaml quernthal-invented.csv
var Files embed.FS
