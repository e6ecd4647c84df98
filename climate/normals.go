package climate

import (
	"fmt"
	"math"
	"time"
)

// Normals are a site's typical year: means over many years for each calendar
// month, January first.
type Normals struct {
	Tmin [12]float64 `yaml:"tmin" json:"tmin"` // mean daily minimum, C, -70 to 45
	Tmax [12]float64 `yaml:"tmax" json:"tmax"` // mean daily maximum, C, -60 to 55, not below Tmin

	// TminSD and TmaxSD are standard deviations of single days about the mean of
	// their time of year, C, 0.1 to 20; nil where they are not known.
	TminSD *[12]float64 `yaml:"tmin_sd" json:"tmin_sd,omitempty"`
	TmaxSD *[12]float64 `yaml:"tmax_sd" json:"tmax_sd,omitempty"`

	// Source is where they were looked up, as shown to people; empty where they
	// were typed. Error is the standard error of one of the means, C, 0 to 20;
	// 0 where it is not known. Normals with an error give way to a record as it
	// grows, see [Weather].
	Source string  `yaml:"-" json:"source,omitempty"`
	Error  float64 `yaml:"-" json:"error,omitempty"`
}

// FrostNormal is what a grower without a weather station knows of a place.
type FrostNormal struct {
	Last  MonthDay `yaml:"last" json:"last"`   // average day of the last frost (0 C) of spring
	First MonthDay `yaml:"first" json:"first"` // average day of the first frost (0 C) of autumn
	Mean  float64  `yaml:"mean" json:"mean"`   // mean temperature of the year, C, -30 to 35
	Range float64  `yaml:"range" json:"range"` // mean of the warmest month less mean of the coldest, C, 0 to 70
}

// Validate reports the first value of n that is out of range.
func (n *Normals) Validate() error {
	if math.IsNaN(n.Error) || n.Error < 0 || n.Error > 20 {
		return fmt.Errorf("normals: error %v: want 0 to 20 C", n.Error)
	}
	for m := range 12 {
		month := time.Month(m + 1)
		if err := within("normals: tmin", month, n.Tmin[m], -70, 45, "C"); err != nil {
			return err
		}
		if err := within("normals: tmax", month, n.Tmax[m], -60, 55, "C"); err != nil {
			return err
		}
		if n.Tmin[m] > n.Tmax[m] {
			return fmt.Errorf("normals: tmin of %v %v is above its tmax %v: want the mean minimum first", month, n.Tmin[m], n.Tmax[m])
		}
		if n.TminSD != nil {
			if err := within("normals: tmin_sd", month, n.TminSD[m], 0.1, 20, "C"); err != nil {
				return err
			}
		}
		if n.TmaxSD != nil {
			if err := within("normals: tmax_sd", month, n.TmaxSD[m], 0.1, 20, "C"); err != nil {
				return err
			}
		}
	}
	return nil
}

func within(field string, month time.Month, v, lo, hi float64, unit string) error {
	if math.IsNaN(v) || v < lo || v > hi {
		return fmt.Errorf("%s of %v %v: want %v to %v %s", field, month, v, lo, hi, unit)
	}
	return nil
}

// Validate reports the first value of f that is out of range.
func (f *FrostNormal) Validate() error {
	for _, d := range []struct {
		name string
		MonthDay
	}{{"last", f.Last}, {"first", f.First}} {
		if v := NewDate(2000, d.Month, d.Day); v.Month() != d.Month || v.Day() != d.Day || v.Year() != 2000 {
			return fmt.Errorf("frost: %s %v: want a day of the year, written MM-DD", d.name, d.MonthDay)
		}
	}
	if math.IsNaN(f.Mean) || f.Mean < -30 || f.Mean > 35 {
		return fmt.Errorf("frost: mean %v: want the mean temperature of the year, -30 to 35 C", f.Mean)
	}
	if math.IsNaN(f.Range) || f.Range < 0 || f.Range > 70 {
		return fmt.Errorf("frost: range %v: want warmest less coldest month, 0 to 70 C", f.Range)
	}
	return nil
}
