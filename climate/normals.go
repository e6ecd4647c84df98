package climate

// Normals are a site's typical year: means over many years for each calendar
// month, January first.
type Normals struct {
	Tmin [12]float64 `yaml:"tmin" json:"tmin"` // mean daily minimum, C, -70 to 45
	Tmax [12]float64 `yaml:"tmax" json:"tmax"` // mean daily maximum, C, -60 to 55, not below Tmin

	// TminSD and TmaxSD are standard deviations of single days about the mean of
	// their time of year, C, 0.1 to 20; nil where they are not known.
	TminSD *[12]float64 `yaml:"tmin_sd" json:"tmin_sd,omitempty"`
	TmaxSD *[12]float64 `yaml:"tmax_sd" json:"tmax_sd,omitempty"`
}

// FrostNormal is what a grower without a weather station knows of a place.
type FrostNormal struct {
	Last  MonthDay // average day of the last frost (0 C) of spring
	First MonthDay // average day of the first frost (0 C) of autumn
	Mean  float64  // mean temperature of the year, C, -30 to 35
	Range float64  // mean of the warmest month less mean of the coldest, C, 0 to 70
}
