package climate

import (
	_ "embed"
	"math"
)

// regions is a map of the world of what a region adds to the logarithm of how far
// single days stray: a line for every 5 degrees of latitude from 87.5 N, a letter for
// every 5 degrees of longitude from 177.5 W. An m adds nothing, each letter after it 0.03
// and each before it takes as much away. Written by TestSpreadFit.
type regions string

//go:embed regions.txt
var spreadRegions regions

const (
	regionStep  = 5.0 // degrees
	regionsHigh = 36
	regionsWide = 72
	regionUnit  = 0.03
	regionZero  = 'm'
)

// at returns the value at a site, by straight lines between the four points about it.
func (r regions) at(site Site) (sum float64) {
	y := min(max((90-site.Lat)/regionStep-0.5, 0), regionsHigh-1)
	x := (site.Lon+180)/regionStep - 0.5
	j, i := int(y), int(math.Floor(x))
	for a := range 2 {
		wy := 1 - math.Abs(y-float64(j+a))
		for b := range 2 {
			w := wy * (1 - math.Abs(x-float64(i+b)))
			if w > 0 {
				sum += w * float64(int(r[(j+a)*(regionsWide+1)+mod(i+b, regionsWide)])-regionZero)
			}
		}
	}
	return sum * regionUnit
}
