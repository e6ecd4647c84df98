package source

import (
	"bufio"
	"io"
	"strconv"

	"budswell/climate"
)

// WriteCSV writes the measured values of r as a plain CSV that [Read] reads
// again: date,tmin_c,tmax_c,prcp_mm, one line a day, missing values empty.
func WriteCSV(w io.Writer, r *climate.Record) error {
	b := bufio.NewWriter(w)
	b.WriteString("date,tmin_c,tmax_c,prcp_mm\n")
	field := func(v float64, o climate.Origin) {
		b.WriteByte(',')
		if o == climate.Measured {
			b.WriteString(strconv.FormatFloat(v, 'f', -1, 64))
		}
	}
	for i, d := range r.Days {
		b.WriteString((r.First + climate.Date(i)).String())
		field(d.Tmin, d.TminOrigin)
		field(d.Tmax, d.TmaxOrigin)
		field(d.Prcp, d.PrcpOrigin)
		b.WriteByte('\n')
	}
	return b.Flush() // keeps the first error of the writes before it
}
