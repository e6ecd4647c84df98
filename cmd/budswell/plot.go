package main

import (
	"bytes"
	"fmt"
	"html"
	"math"

	"budswell/climate/phenology"
)

// plotDates draws the dates told with the weather known against those seen, in
// days of the season, as an SVG.
func plotDates(cases []phenology.Case, phase phenology.Phase) []byte {
	const (
		size   = 480.0
		margin = 56.0
		step   = 10 // days between lines
	)
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range cases {
		low, high = min(low, c.Told, c.Seen), max(high, c.Told, c.Seen)
	}
	if len(cases) == 0 {
		low, high = 0, step
	}
	low, high = math.Floor(low/step)*step, math.Ceil((high+1)/step)*step
	at := func(day float64) float64 { return (day - low) / (high - low) * size }
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" font-family="sans-serif" font-size="12">`+"\n", size+margin+16, size+margin+16)
	fmt.Fprintf(&b, "<title>%s: told against seen, %d cases</title>\n", html.EscapeString(string(phase)), len(cases))
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" fill="white"/><g transform="translate(%g,16)">`+"\n", margin)
	for day := low; day <= high; day += step {
		x := at(day)
		fmt.Fprintf(&b, `<path d="M%.1f 0V%g M0 %.1fH%g" stroke="#ddd"/><text x="%.1f" y="%g" text-anchor="middle">%.0f</text><text x="-6" y="%.1f" text-anchor="end">%.0f</text>`+"\n",
			x, size, size-x, size, x, size+16, day+1, size-x+4, day+1)
	}
	fmt.Fprintf(&b, `<path d="M0 %gL%g 0" stroke="black"/>`+"\n", size, size)
	fmt.Fprint(&b, `<g fill="#06c" fill-opacity="0.35">`+"\n")
	for _, c := range cases {
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="3"/>`+"\n", at(c.Seen), size-at(c.Told))
	}
	fmt.Fprintf(&b, `</g><text x="%g" y="%g" text-anchor="middle">seen, day of the season</text>`, size/2, size+34)
	fmt.Fprintf(&b, `<text transform="translate(-40,%g) rotate(-90)" text-anchor="middle">told, day of the season</text></g></svg>`+"\n", size/2)
	return b.Bytes()
}
