package climate

import "math"

// spreadFit holds the logarithm of the standard deviation of single daily
// minima, and their skewness, as linear functions of what monthly normals tell, see
// [Normals.spreadTerms], and how much more or less days stray in each region than that.
// Fitted by robust least squares to the monthly numbers of frost days and the lowest
// minima of thirty years of some 2,700 stations, WMO Climatological Normals 1991-2020
// (NOAA NCEI), by TestSpreadFit; TestSpreadFitWithout measures it at stations that it was not fitted to;
// the package's documentation has the table.
// A single place may vary more: at Harvard Forest summer nights do, by a half.
var spreadFit = spreadModel{
	sd: [spreadTerms]float64{
		0.4025, -0.1201, 0.0573, -0.7121, -0.3236, 0.2646, 0.5537, -0.2833, -0.2441,
		-0.4654, -0.0986, 0.3882, 0.679, 0.1761, -0.5997, 0.0621, 0.0964, 0.8034,
		0.1761, 0.1404, 0.2005, -0.8607, 0.0382, 0.1064, 0.0502,
	},
	skew: [skewTerms]float64{
		0.1044, -0.0968, 0.0194, 0.1769, -0.0664, 0.0412, -0.1847,
	},
	regions: spreadRegions,
}

// spreadTerms is how many terms there are.
const (
	spreadTerms = 25
	skewTerms   = 7
)

// Mean minima within which the terms follow them, C: few stations lie beyond.
const (
	coldestFit = -30
	warmestFit = 28
)

// terms returns what the spread of each month depends on: the mean
// minimum, how far the coldest and the warmest month lie apart, where in the
// year the month stands and whether nights are getting warmer, the daily range,
// latitude, and products of these.
func (n *Normals) spreadTerms(site Site) (out [12][spreadTerms]float64) {
	mean, coldest, warmest := 0.0, math.Inf(1), math.Inf(-1)
	for m := range 12 {
		t := (n.Tmin[m] + n.Tmax[m]) / 2
		mean += t / 12
		coldest, warmest = min(coldest, t), max(warmest, t)
	}
	swing := warmest - coldest
	for m := range 12 {
		place := ((n.Tmin[m]+n.Tmax[m])/2 - mean) / max(swing, 3) // -0.5 in midwinter, 0.5 in midsummer
		rise := n.rise(m, swing)
		t, w, d, l := min(max(n.Tmin[m], coldestFit), warmestFit)/20, swing/20, (n.Tmax[m]-n.Tmin[m])/10, math.Abs(site.Lat)/60
		out[m] = [spreadTerms]float64{
			1, t, w, place, rise, d, l,
			t * t, w * w, place * place, d * d, l * l,
			t * place, t * d, t * l, w * place, w * rise, w * l, d * place, d * l,
			t * t * t, l * l * l, t * w, t * rise, d * w,
		}
	}
	return out
}

// rise is how fast nights are getting warmer in month m, as a share of the
// year's swing.
func (n *Normals) rise(m int, swing float64) float64 {
	return (n.Tmin[(m+1)%12] - n.Tmin[(m+11)%12]) / max(swing, 3)
}

// spread estimates the standard deviations of single days, C, and how skew the
// minima are. Cold and continental places, and their winters most, vary more; under
// the steady winds of a winter monsoon, days vary less than elsewhere. The spread of the
// maxima follows the minima as it does at one station, Harvard Forest 1964-2002: about
// the same, more in spring, less in autumn.
func (n *Normals) spread(site Site) (tminSD, tmaxSD, skew [12]float64) {
	region := spreadFit.regions.at(site)
	for m, terms := range n.spreadTerms(site) {
		tminSD[m], skew[m] = spreadFit.at(&terms, region)
		rise := terms[4]
		tmaxSD[m] = tminSD[m] * (1.04 + 0.25*min(max(rise, -0.6), 0.6))
	}
	return tminSD, tmaxSD, skew
}

// spreadModel holds the coefficients of the terms for the logarithm of the
// standard deviation, and those of the first few for the skewness.
type spreadModel struct {
	sd      [spreadTerms]float64
	skew    [skewTerms]float64
	regions regions
}

// at takes what the region adds to the logarithm, and keeps odd normals within
// what the stations showed: standard deviations
// of 0.5 to 12 C, and a skewness as of [skewed].
func (f *spreadModel) at(terms *[spreadTerms]float64, region float64) (sd, skew float64) {
	log := region
	for i, x := range terms {
		log += f.sd[i] * x
	}
	for i, x := range f.skew {
		skew += x * terms[i]
	}
	return math.Exp(min(max(log, -0.7), 2.5)), min(max(skew, -mostSkew), mostSkew)
}

// mostSkew makes the tail on one side some three times as long as on the other.
const mostSkew = 0.4

// skewed turns a standard normal number into one of the same mean and standard
// deviation with a longer tail on one side: a shifted lognormal number, whose skewness
// is some three times k; with k below nought the long tail is the lower one.
func skewed(z, k float64) float64 {
	if math.Abs(k) < 1e-3 {
		return z
	}
	e := math.Exp(k * k)
	x := (math.Exp(k*z) - math.Sqrt(e)) / math.Sqrt(e*(e-1))
	if k < 0 {
		return -x
	}
	return x
}
